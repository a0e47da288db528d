"""Hostile input of every kind: at worst one clear error, nothing outside the job, nothing that acts where shown."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import struct
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conftest import MONDAY, Ran, jsonl, said
from house import HEARD, JOB, Quiet, a_job, a_photo, a_wav, quick_folder, told
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from notes import book, intake, plain, probe, reading, typed, verify
from notes import job as jobs
from notes.errors import JobError, MediaError, VoidbookError
from notes.lexicon import load
from notes.model import Memo
from notes.reading import Carry

MORE = settings(max_examples=int(os.environ.get("VOIDBOOK_EXAMPLES", "100")), deadline=None)
MORE = settings(MORE, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
HOSTILE = (
    "\x1b[2J\x1b]0;owned\x07",
    "\u202egnp.exe",
    "\x9b31m",
    "\x07\x08\r",
    "=1+1",
    "<script>alert(1)</script>",
    "[red]x[/]",
)
TEXT = st.text(st.characters(), max_size=60) | st.sampled_from(HOSTILE)


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    with quick_folder() as place:
        yield place


@pytest.fixture(scope="module")
def taking(folder: Path) -> Iterator[Callable[..., list[VoidbookError]]]:
    """Takes files into one job; what was wrong."""
    root = a_job(folder / "job")
    with closing(book.connect(root)) as db:
        yield lambda *paths: intake.take(db, root, JOB, paths, Quiet(), transcriber=HEARD)


# --- job.toml, text memos

TOML = st.recursive(
    TEXT | st.integers() | st.booleans() | st.floats(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)
KEYS = st.sampled_from(("name", "zone", "rooms", "services", "crew", "words", "working_pressure_bar", "floor", "roms"))


@MORE
@given(st.binary(max_size=200) | st.dictionaries(KEYS, TOML, max_size=4).map(lambda d: json.dumps(d).encode()))
@example(b'name = "x"\nzone = "../../etc/passwd"')
@example(b'name = "x"\n' + b"[[rooms]]\nname='a'\n" * 2)
@example(b"x = " + b"[" * 5000)
def test_a_job_is_read_or_refused_in_one_line(folder: Path, data: bytes) -> None:
    (folder / "job.toml").write_bytes(data)
    (folder / "job.json").write_bytes(data)
    for read in (lambda: jobs.load(folder), lambda: jobs.from_json(folder / "job.json")):
        try:
            read()
        except JobError as wrong:
            assert str(folder) in str(wrong)
            assert wrong.todo


ENTRY = st.dictionaries(
    st.sampled_from(("id", "at", "speaker", "text", "photos", "more")),
    TEXT | st.none() | st.integers() | st.just(MONDAY.isoformat()) | st.lists(st.dictionaries(TEXT, TEXT), max_size=2),
)


@MORE
@given(st.lists(ENTRY.map(json.dumps) | TEXT, min_size=1, max_size=4), st.sampled_from(("utf-8", "utf-16", "latin-1")))
@example(["[" * 100_000], "utf-8")
@example(['{"id": "../../../etc/passwd", "at": "2026-03-02T08:00:00Z", "text": "Capped the hot."}'], "utf-8")
def test_lines_are_filed_or_told(folder: Path, taking: Any, lines: list[str], coding: str) -> None:
    file = folder / "week.jsonl"
    file.write_bytes("\n".join(lines).encode(coding, "replace"))
    wrong = taking(file)
    assert all(isinstance(w, MediaError) and w.todo and "week.jsonl" in (w.file or "") for w in wrong)


def test_after_all_of_it_nothing_is_wrong_and_nothing_is_outside(folder: Path, taking: Any) -> None:
    taking(jsonl(folder / "one.jsonl", said("../x", "Capped the hot.")))
    assert verify.check(folder / "job", JOB, deep=True) == []
    assert {path.name for path in folder.iterdir()} <= {"job", "job.toml", "job.json", "week.jsonl", "one.jsonl", "in"}


ENDLESS = ("(", ")", "no, hang on, ", "capped the hot, ", "ran it ", "the hot, the cold and ", "(hot ")


@pytest.mark.parametrize("piece", ENDLESS)
def test_words_without_an_end_are_read_in_seconds(piece: str) -> None:
    """20,000 characters took 30 to 50 seconds, and four times as many sixteen times as long."""
    text = piece * (20_000 // len(piece))
    memo = Memo("m", MONDAY, "A", text, text)
    reading.read(memo, load(JOB), Carry())  # what loads late is loaded
    since = time.process_time()
    reading.read(memo, load(JOB), Carry())
    assert time.process_time() - since < 8


# --- pictures and sound


def flips(draw: st.DrawFn, data: bytes) -> bytes:
    """`data` with some bytes changed, or cut, or with something in it twice."""
    changed = bytearray(data)
    for _ in range(draw(st.integers(1, 8))):
        changed[draw(st.integers(0, len(changed) - 1))] = draw(st.integers(0, 255))
    return bytes(changed[: draw(st.integers(1, len(changed)))] if draw(st.booleans()) else changed)


def _whole(folder: Path) -> dict[str, bytes]:
    from PIL import Image

    exif = Image.Exif()
    exif[0x010E] = "basin"
    exif.get_ifd(0x8769)[0x9003] = "2026:03:02 08:20:00"
    made = {f"p{ending}": a_photo(folder / f"p{ending}", exif=exif) for ending in (".jpg", ".png", ".webp")}
    made["a.wav"] = a_wav(folder / "a.wav", 0.2)
    samples = Path(__file__).parent.parent / "sample_media"
    made |= {"m.m4a": samples / "m01.m4a", "m.ogg": samples / "m04.ogg", "p.heic": samples / "03_ufh_manifold.heic"}
    return {name: path.read_bytes()[:60_000] for name, path in made.items()}


WHOLE: dict[str, bytes] = {}


@MORE
@given(st.data())
def test_a_broken_picture_or_sound_is_read_or_refused(folder: Path, data: st.DataObject) -> None:
    if not WHOLE:
        WHOLE.update(_whole(folder / "in"))
    name = data.draw(st.sampled_from(sorted(WHOLE)))
    path = folder / "in" / name
    path.write_bytes(data.draw(st.composite(flips)(WHOLE[name])))
    reads: tuple[Callable[[Path], Any], ...] = (probe.probe_recording, probe.samples)
    if name.startswith("p"):
        reads = (probe.probe_photo, probe.place_of, lambda p: probe.upright(p, 64))
    for read in reads:
        try:
            read(path)
        except MediaError as wrong:
            assert wrong.todo


@MORE
@given(
    st.text(st.characters(exclude_categories=("Cs",)), max_size=80),
    st.text(st.characters(codec="ascii"), max_size=40),
    st.lists(st.floats(0, 1e6), max_size=4),
)
def test_no_exif_is_more_than_text(folder: Path, caption: str, taken: str, place: list[float]) -> None:
    from PIL import Image

    exif = Image.Exif()
    exif[0x010E] = caption
    exif.get_ifd(0x8769)[0x9003] = taken
    exif.get_ifd(0x8825)[2] = tuple(place)
    path = a_photo(folder / "in" / "exif.jpg", exif=exif)
    assert probe.probe_photo(path).caption.isprintable()
    probe.place_of(path)


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def bomb(wide: int, high: int, *more: bytes) -> bytes:
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0))
    pixels = chunk(b"IDAT", zlib.compress(b"\0" * 10_000_000, 9))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(more) + pixels + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "data",
    [
        bomb(60_000, 60_000),
        bomb(2**31 - 1, 1),
        bomb(64, 64, chunk(b"zTXt", b"a\0\0" + zlib.compress(b"\0" * 100_000_000, 9))),
        bomb(64, 64, chunk(b"iCCP", b"a\0\0" + zlib.compress(b"\0" * 100_000_000, 9))),
    ],
    ids=("pixels", "one row", "text", "profile"),
)
def test_a_picture_bomb_is_refused_or_harmless(folder: Path, data: bytes) -> None:
    import resource

    path = folder / "in" / "bomb.png"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    try:
        probe.probe_photo(path)
    except MediaError as wrong:
        assert wrong.todo
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 300_000


# --- names


NAME = st.text(st.characters(exclude_characters="/\0"), min_size=1, max_size=50) | st.sampled_from(
    (*HOSTILE, "-rf", "--job=x", "a" * 240, "\udcff\udc80", "CON", "~", "$(touch x)", "a\nb", "%s%n", "' OR 1=1;--")
)


@MORE
@given(NAME)
def test_any_name_is_only_a_name(folder: Path, taking: Any, name: str) -> None:
    safe = os.fsencode(name.replace("/", "").replace("<", "").encode("utf-8", "surrogatepass"))[:240]
    if safe.strip(b".") == b"":
        return
    path = folder / "in" / os.fsdecode(safe + b".txt")
    path.parent.mkdir(exist_ok=True)
    path.write_text(f"Capped the hot. {os.urandom(4).hex()}")
    assert taking(path) == []
    path.unlink()
    id = json.loads(told(folder / "job")["memos"][-1])["id"]
    assert typed.plain_id(id) == id
    assert id.isprintable()


# --- what is shown


ACTING = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\u200e\u200f]")


@given(TEXT)
def test_what_is_cleaned_can_drive_no_terminal(text: str) -> None:
    assert not ACTING.search(plain.clean(text))
    assert "\n" not in plain.clean(text)


def test_no_text_of_a_job_acts_anywhere_it_is_shown(voidbook: Callable[..., Ran], root: Path, tmp_path: Path) -> None:
    rude = "".join(HOSTILE)
    memos = [
        said(f"=m{n}{bad}", f"{bad} In the scullery. Capped the hot behind {bad}. {rude}", hours=n, speaker=f"={bad}")
        for n, bad in enumerate(HOSTILE)
    ]
    assert voidbook("take", jsonl(tmp_path / f"a{HOSTILE[0].replace('/', '')}.jsonl", *memos)).code == 0
    ids = [row["memo"] for row in voidbook("facts", "--json").rows]
    commands = [["log"], ["facts"], ["followups"], ["runs"], ["find", "hot"], ["trace", "hot"], ["rooms"], ["problems"]]
    for words in [*commands, *(["memo", "--", id] for id in dict.fromkeys(ids))]:
        ran = voidbook(*words)
        assert ran.code == 0, ran.err
        assert not ACTING.search(ran.out.replace("\n", ""))
        assert not ACTING.search(ran.err.replace("\n", ""))
    page = _written(voidbook, tmp_path / "a.html")
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
    table = list(csv.reader(io.StringIO(_written(voidbook, tmp_path / "a.csv"))))
    assert len(table) > 3
    assert [cell for row in table for cell in row if cell.startswith(("=", "+", "-", "@", "\t", "\r"))] == []


def _written(voidbook: Callable[..., Ran], file: Path) -> str:
    assert voidbook("record", "--whole", "--out", file).code == 0
    return file.read_text()
