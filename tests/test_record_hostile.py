"""Records of hostile names and words: shown as text, never as markup, script, link or formula."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes import book
from notes import job as jobs
from notes.model import Job, Room
from notes.plain import harmless
from notes.record import plain_text
from notes.record.letters import Letters
from tests.conftest import Ran, jsonl, said

EVIL = "<script>document.title='owned'</script><img src=http://x.invalid/a onerror=alert(1)>"
MARK = "](http://x.invalid) <b>x</b> |a|b| `c`"
FORMULA = '=HYPERLINK("http://x.invalid","x")'
PICTURE = Path(__file__).parents[1] / "sample_media" / "01_basin_tails.jpg"


@pytest.fixture
def hostile(tmp_path: Path, voidbook: Callable[..., Ran]) -> Path:
    """A job whose name, room, speaker, words, photo's name and caption try to be something else."""
    root = tmp_path / "hostile"
    job = Job(f"Job {EVIL}", (Room("Scullery", f"Floor {EVIL}", (FORMULA,)), Room(f"Attic {EVIL}")))
    jobs.create(root, job)
    photo = tmp_path / "<svg onload=alert(1)>&.jpg"
    _with_caption(photo, f"scullery {EVIL}")
    memo = said("m01", f"In the scullery I've capped the hot behind {EVIL}, fifteen copper. {MARK}", speaker=FORMULA)
    assert voidbook("take", jsonl(tmp_path / "m.jsonl", memo), photo, "--job", root).code == 0
    return root


def _with_caption(target: Path, caption: str) -> None:
    from PIL import Image

    with Image.open(PICTURE) as picture:
        exif = picture.getexif()
        exif[0x010E] = caption
        gps = exif.get_ifd(0x8825)
        gps.update({1: "N", 2: (54.0, 7.0, 24.5), 3: "W", 4: (1.0, 30.0, 36.0)})
        picture.save(target, exif=exif)


class Page(HTMLParser):
    """The tags and attributes of a page, and its text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def record(voidbook: Callable[..., Ran], target: Path, *more: str) -> bytes:
    ran = voidbook("record", "--whole", "--out", target, "--job", target.parent / "hostile", *more)
    assert (ran.code, ran.out) == (0, "")
    return target.read_bytes()


def test_html_holds_no_script_no_handler_and_no_address(
    hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path
) -> None:
    page = Page(record(voidbook, tmp_path / "r.html").decode())
    assert "script" not in {tag for tag, _ in page.tags}
    names = {name for _, attrs in page.tags for name in attrs}
    assert not [name for name in names if name.startswith("on")]
    links = [
        v or "" for _, attrs in page.tags for k, v in attrs.items() if k in ("src", "href", "xlink:href", "action")
    ]
    assert links and all(link.startswith(("#", "data:image/jpeg;base64,")) for link in links)
    assert page.text.count("<script>document.title='owned'</script>") >= 3  # the words stand there, as words


def test_markdown_holds_no_html_and_no_link(hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    from markdown_it import MarkdownIt

    text = record(voidbook, tmp_path / "r.md").decode()
    tokens = MarkdownIt("gfm-like").parse(text)
    inner = [child for token in tokens for child in token.children or ()]
    assert not [
        t for t in [*tokens, *inner] if t.type in ("html_block", "html_inline", "link_open", "image", "code_inline")
    ]
    assert "alert(1)" in "".join(t.content for t in inner)


def test_csv_holds_no_formula(hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    rows = list(csv.reader(StringIO(record(voidbook, tmp_path / "r.csv").decode())))
    cells = [cell for row in rows for cell in row]
    assert not [cell for cell in cells if cell[:1] in tuple("=+-@|%\t\r")]
    assert [cell for cell in cells if FORMULA in cell]


def test_json_and_pdf_are_whole(hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    told = json.loads(record(voidbook, tmp_path / "r.json"))
    assert told["job"] == f"Job {EVIL}"
    pages = _pdf_text(record(voidbook, tmp_path / "r.pdf"))
    assert "document.title" in "".join(pages)
    assert [f"page {n} of {len(pages)}" in page for n, page in enumerate(pages, start=1)] == [True] * len(pages)


def _pdf_text(data: bytes) -> list[str]:
    from pypdf import PdfReader

    return [page.extract_text() for page in PdfReader(BytesIO(data)).pages]


def test_a_pdf_does_nothing_when_opened(hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    from pypdf import PdfReader

    reader = PdfReader(BytesIO(record(voidbook, tmp_path / "r.pdf")))
    root = reader.trailer["/Root"]
    assert not {"/AA", "/AcroForm", "/JavaScript"} & set(root)
    assert isinstance(root.get("/OpenAction", []), list)  # a page to open at; an action would be a dictionary
    assert not [a for page in reader.pages for a in page.get("/Annots", ()) if "/URI" in str(a.get_object())]


@pytest.mark.parametrize("ending", ["html", "pdf", "json", "md"])
def test_where_a_photo_was_taken_leaves_only_when_asked(
    hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path, ending: str
) -> None:
    def shown(*more: str) -> str:
        data = record(voidbook, tmp_path / f"r.{ending}", *more)
        assert b"Exif" not in data
        return "".join(_pdf_text(data)) if ending == "pdf" else data.decode()

    assert "54.12347" not in shown()
    assert "54.12347" in shown("--places").replace("\\", "").replace("\n", "")


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        ("Łódź Ελένη Їжак Nguyễn ½ ⅜ – Ø", "Łódź Ελένη Їжак Nguyễn ½ ⅜ – Ø"),
        ("Rene\u0301", "René"),  # as some machines write file names
        ("15 → 22 ⌀ ✓ ☐", "15 → 22 ⌀ ✓ ☐"),
        ("🔥👍\ufe0f", "[fire thumbs up sign]"),
        ("漢字 A", "[U+6F22 U+5B57] A"),
        ("שלום", "[U+05E9 U+05DC U+05D5 U+05DD]"),  # not drawn the wrong way round
        ("A\u0600\ufeff\ue000B", "AB"),  # what nothing can print
    ],
)
def test_a_pdf_loses_no_letter(
    voidbook: Callable[..., Ran], root: Path, tmp_path: Path, written: str, printed: str
) -> None:
    job = Job(f"Job {written}", (Room(f"Scullery {written}"),))
    (root / "job.toml").write_text(jobs.as_toml(job), encoding="utf-8")
    memo = said("m1", f"Scullery {written}, hot capped.")
    assert voidbook("take", jsonl(tmp_path / "m.jsonl", memo)).code == 0
    assert voidbook("record", "--whole", "--out", tmp_path / "r.pdf").code == 0
    pages = " ".join(" ".join(_pdf_text((tmp_path / "r.pdf").read_bytes())).split())
    assert f"Job {printed}" in pages and pages.count(printed) >= 4  # heading, schematic, room, foot of each page
    assert ("letters that this PDF has no face for" in pages) is ("[U+" in printed)


@given(st.text(max_size=40))
def test_what_is_drawn_is_in_a_face_and_says_all(text: str) -> None:
    letters = Letters(frozenset(range(32, 127)), frozenset({0x2192, 0x5D0}))
    drawn = letters.drawn(text)
    assert all(ord(c) in letters.face | letters.spare for c in drawn)
    assert "".join(part for _, part in letters.parts(drawn)) == drawn
    if all(ord(c) in letters.face for c in text):
        assert drawn == text


def test_a_very_long_memo_does_not_stop_the_pdf(hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    from tests.conftest import a_fact, put

    text = "hot capped " + "on and on " * 4000
    with book.opened(hostile) as db:
        put(db, jobs.load(hostile), "m02", text, [a_fact("m02", 0, text, text.strip(), room="Scullery")])
    assert "cut here; the memo has the rest" in "".join(_pdf_text(record(voidbook, tmp_path / "r.pdf"))).replace(
        "\n", " "
    )


@given(st.text(max_size=60))
def test_no_cell_is_a_formula(text: str) -> None:
    cell = harmless(text)
    assert cell[:1] not in tuple("=+-@|%\t\r\n")
    assert harmless(cell) in (cell, f"'{cell}")


@given(st.text(alphabet=st.sampled_from("a1 .-+#>*_`[]()<>!&|~\\$:/wthpf\n=@"), max_size=30))
def test_no_text_is_markup(text: str) -> None:
    from markdown_it import MarkdownIt

    tokens = MarkdownIt("commonmark").enable("strikethrough").parse(f"{plain_text._md(text)}\n")
    inner = [child for token in tokens for child in token.children or ()]
    assert {t.type for t in inner} <= {"text", "text_special", "softbreak"}
    assert {t.type for t in tokens} <= {"paragraph_open", "inline", "paragraph_close", "ordered_list_open",
        "list_item_open", "list_item_close", "ordered_list_close"}  # fmt: skip


# --- in a real browser

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
needs_browser = pytest.mark.skipif(not CHROMIUM, reason="no Chromium is installed here")


def opened_in_browser(page: Path, work: Path) -> tuple[str, list[str], list[str]]:
    """The page's title and DOM after it ran, what it wrote to the console, and the addresses it asked for."""
    log = work / "net.json"
    flags = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
        "--virtual-time-budget=2000", "--enable-logging=stderr", f"--user-data-dir={work / 'profile'}",
        "--host-resolver-rules=MAP * ~NOTFOUND", f"--log-net-log={log}", "--dump-dom")  # fmt: skip
    ran = subprocess.run([CHROMIUM, *flags, page.as_uri()], capture_output=True, text=True, timeout=90, check=True)
    console = [line for line in ran.stderr.splitlines() if "CONSOLE" in line]
    return ran.stdout, console, sorted({url for url in _asked(log) if "x.invalid" in url or not _own(url)})


def _asked(log: Path) -> Iterator[str]:
    text = log.read_text().rstrip()
    events = json.loads(text if text.endswith("}") else f"{text.rstrip(',')}]}}")["events"]
    for event in events:
        url = event.get("params", {}).get("url") if isinstance(event.get("params"), dict) else None
        if isinstance(url, str):
            yield url


def _own(url: str) -> bool:
    """What the browser asks for by itself, whatever page it shows."""
    return url.startswith(("file:", "data:", "chrome")) or any(h in url for h in ("google", "gvt1.com", "chromium.org"))


@needs_browser
def test_the_record_runs_nothing_and_asks_for_nothing(
    hostile: Path, voidbook: Callable[..., Ran], tmp_path: Path
) -> None:
    record(voidbook, tmp_path / "r.html")
    dom, console, asked = opened_in_browser(tmp_path / "r.html", tmp_path)
    assert "What is not known" in dom
    assert "<title>owned" not in dom
    assert (console, asked) == ([], [])


@needs_browser
def test_a_page_that_runs_and_asks_is_noticed(tmp_path: Path) -> None:
    page = tmp_path / "bad.html"
    page.write_text(
        "<title>x</title><img src=http://x.invalid/a.png><script>document.title='owned'; nothing.at.all</script>"
    )
    dom, console, asked = opened_in_browser(page, tmp_path)
    assert "<title>owned" in dom
    assert console and asked == ["http://x.invalid/a.png"]
