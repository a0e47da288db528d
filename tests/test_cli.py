"""The commands as a person meets them: what they print, where, and how they end."""

from __future__ import annotations

import io
import json
import os
import pty
import re
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from conftest import Ran, a_fact, jsonl, put, said
from hypothesis import given
from hypothesis import strategies as st

from notes import job as jobs
from notes import looked, search, wording
from notes.cli import VERBS, command_of, out
from notes.cli.common import day_named
from notes.errors import UsageError
from notes.model import Job, Status
from notes.paging import Seen

Run = Callable[..., Ran]
MAIN = "import sys; from notes.cli import main; main(sys.argv[1:])"

LOG = """\
Hollin Bank

Monday 2 March 2026

  House bathroom · First
  08:00 · m01 · A
    + hot, hot return: capped, 22 mm, behind the basin
    > cold: to insulate

Tuesday 3 March 2026

  Scullery · Ground
  10:00 · m02 · A
    + waste: left open, 40 mm, under the sink

+ done, - not done, > to do, ? not sure, x no longer wanted, ! failed
"""

MEMO = """\
m02 · Tue 3 Mar 10:00 · A

         Back kitchen now. Left the waste open under the sink, inch and a half.

    4 + waste: left open, 40 mm, under the sink (Scullery)
"""

ROOMS = """\
Room            Floor       Facts   Open  High  Photos  Last
House bathroom  First           3      3     2       0  Mon 2 Mar 08:00
Scullery        Ground          1      1     1       0  Tue 3 Mar 10:00
Boiler house    Outside         0      0     0       0
"""

FIND = """\

m02 · Tue 3 Mar 10:00 · A
  Back kitchen now. Left the [waste] open under the sink, inch and a half.
    + waste: left open, 40 mm, under the sink (Scullery)
"""


@pytest.mark.parametrize(
    ("words", "text"),
    [(["log"], LOG), (["memo", "m02"], MEMO), (["rooms"], ROOMS), (["find", "waste"], FIND)],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_a_listing_looks_like_this(voidbook: Run, filled: Any, words: list[str], text: str) -> None:
    ran = voidbook(*words)
    assert (ran.out, ran.err, ran.code) == (text, "", 0)


def test_the_log_is_narrowed(voidbook: Run, filled: Any) -> None:
    assert "waste" not in voidbook("log", "--day", "2026-03-02").out
    assert "hot" not in voidbook("log", "--since", "2026-03-03").out
    assert "hot" not in voidbook("log", "--room", "BACK-KITCHEN").out
    assert voidbook("log", "--day", "2020-01-01").out == "Hollin Bank\nNothing was said then.\n"


def test_the_log_of_what_came_since_the_last_review(
    voidbook: Run, filled: Any, root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert "hot" in voidbook("log", "--new").out  # never looked at: all is new
    looked.keep(root, Seen(1, 0))
    assert "waste" in voidbook("log", "--new").out and "hot" not in voidbook("log", "--new").out
    looked.keep(root, Seen(2, 0))
    assert voidbook("log", "--new").out == "Hollin Bank\nNothing was said then.\n"
    next((tmp_path / "state").rglob("looked.json")).write_text("[]")
    assert "hot" in voidbook("log", "--new").out


def test_one_and_more_of_a_kind_in_words() -> None:
    told = [wording.count(*each) for each in ((1, "day"), (2, "day"), (3, "entry"), (1, "memo"), (0, "memo"))]
    assert told == ["1 day", "2 days", "3 entries", "1 memo", "0 memos"]


def test_followups_tell_what_since_when_and_on_which_words(voidbook: Run, filled: Any) -> None:
    told = " ".join(voidbook("followups").out.split())
    headings = [
        told.index(severity.upper()) for severity in dict.fromkeys(i.severity for i in search.followups(filled))
    ]
    assert len(headings) > 1
    assert headings == sorted(headings)
    for words in ("Hot capped", "House bathroom", "Mon 2 Mar 08:00, m01:", "Closes with:", '"Left the waste open'):
        assert words in told
    assert re.search(r"Hot capped, no passed test on record since · House bathroom · open \d+ days", told)


@pytest.mark.parametrize(
    ("hours", "words"),
    [(-1, "open since today"), (23, "open since today"), (24, "open 1 day"), (50, "open 2 days")],
)
def test_how_long_it_is_open(hours: int, words: str) -> None:
    since = datetime(2026, 3, 2, 8, tzinfo=UTC)
    assert wording.age(since, since + timedelta(hours=hours)) == words


def test_trace_tells_where_a_pipe_is_in_plain_words(voidbook: Run, filled: Any) -> None:
    told = voidbook("trace", "where", "does", "the", "circulation", "end", "in", "the", "family", "bathroom").out
    assert told.startswith("\nhot return · House bathroom\n  state     capped, not tested\n  pipe      22 mm\n")
    assert "  where     behind the basin\n" in told
    assert voidbook("trace", "gas").out.startswith("No pipe on record answers that.")


def test_runs_are_narrowed_by_service_and_state(voidbook: Run, filled: Any) -> None:
    assert "waste" in voidbook("runs").out
    assert [r["subject"] for r in voidbook("runs", "--service", "hot return", "--json").rows] == ["hot return"]
    assert {r["subject"] for r in voidbook("runs", "--state", "open", "--json").rows} == {"waste"}
    both = voidbook("runs", "--state", "capped,untested", "--json").rows
    assert {r["subject"] for r in both} == {"hot", "hot return"}
    assert not voidbook("runs", "--state", "capped, open", "--json").rows
    wrong = voidbook("runs", "--state", "cappd")
    assert (wrong.code, "no state is called 'cappd'; name some of: run, capped" in wrong.err) == (2, True)


def test_trace_says_where_nothing_is_as_asked(voidbook: Run, filled: Any) -> None:
    assert voidbook("trace", "anything", "open", "in", "the", "bathroom").out.startswith("Nothing on record is open")
    assert "Nothing on record" not in voidbook("trace", "anything", "open").out
    assert "Nothing on record" not in voidbook("trace", "is", "the", "hot", "open", "in", "the", "bathroom").out
    assert voidbook("trace", "54", "mm", "hot").out.startswith("Nothing on record speaks of 54 mm; the nearest to it:")
    assert voidbook("trace", "steel", "in", "the", "bathroom").out.startswith("Nothing on record there speaks of steel")
    assert voidbook("trace", "behind", "the", "cylinder").out.startswith("Nothing on record speaks of the cylinder")
    assert voidbook("trace", "what", "is", "behind", "the", "basin").out.startswith("\nhot · House bathroom")
    assert voidbook("runs", "--service", "gas").out == "No pipe run on record is like that.\n"


# --- data for programs


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (["facts"], "memo n room subject action status size_mm to_size_mm material place from to quote second failed"),
        (["log"], "day at speaker memo room subject"),
        (["followups"], "id check room subject memo title since severity quote closed_by due assignee"),
        (["trace", "waste"], "room subject place state memo from to size_mm material second"),
        (["runs"], "key room subject state"),
        (["find", "hot"], "memo at speaker snippet facts"),
        (["rooms"], "room floor facts open photos"),
        (["memo", "m01"], "memo at text raw words facts"),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_every_listing_is_json_too(voidbook: Run, filled: Any, words: list[str], keys: str) -> None:
    ran = voidbook(*words, "--json")
    assert (ran.code, ran.err) == (0, "")
    assert ran.rows
    for row in ran.rows:
        assert set(keys.split()) <= set(row)


def test_numbers_in_json_are_as_they_were_said(voidbook: Run, filled: Any) -> None:
    assert '"size_mm": 22,' in voidbook("facts", "--json").out


# --- from new to closed


def test_a_job_from_first_to_last(tmp_path: Path, voidbook: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    source = tmp_path / "job.json"
    source.write_text(
        json.dumps({"name": "Terrace", "rooms": [{"name": "Kitchen", "floor": "Ground", "aliases": ["galley"]}]})
    )
    made = voidbook("new", tmp_path / "terrace", "--from", source)
    assert (made.code, made.out) == (0, "")
    monkeypatch.chdir(tmp_path)  # from here on the job is named after the verb
    here = ("--job", tmp_path / "terrace")
    week = jsonl(tmp_path / "week.jsonl", said("m01", "In the galley. I've capped the cold behind the sink."))
    assert voidbook("take", week, *here).err == "week.jsonl: filed as m01, 1 fact\n"
    assert voidbook("take", week, *here).err == "week.jsonl: filed before, nothing to do\n"
    (item,) = voidbook("followups", *here, "--json").rows
    assert (item["check"], item["room"], item["subject"]) == ("capped-not-tested", "Kitchen", "cold")
    assert voidbook("assign", item["id"], "Bob", "--due", "2026-03-09", *here).code == 0
    assert "DUE 2026-03-09" in voidbook("followups", "--due", *here).out
    assert voidbook("close", item["id"], "--why", "tested it", "--by", "Ann", *here).code == 0
    assert voidbook("followups", *here).out == "Nothing is open.\n"
    assert "closed by Ann: tested it" in voidbook("followups", "--all", *here).out
    with closing(sqlite3.connect(tmp_path / "terrace" / "book.db")) as db, db:
        db.execute("DELETE FROM followups")  # as rules of another day may have left them
    assert voidbook("reread", *here).err == "reading 1 memos again\nread again; the facts of 0 memos changed\n"
    assert "closed by Ann: tested it" in voidbook("followups", "--all", *here).out
    assert voidbook("recheck", *here).err == "checked again; 0 follow-ups are open\n"


def test_an_empty_job_answers_every_question(voidbook: Run) -> None:
    for words in (
        ["log"],
        ["followups"],
        ["trace", "hot"],
        ["find", "hot"],
        ["facts"],
        ["rooms"],
        ["runs"],
        ["problems"],
    ):
        ran = voidbook(*words)
        assert (ran.code, ran.err) == (0, "")


def test_rooms_are_asked_for_on_a_terminal(tmp_path: Path) -> None:
    asked = _on_terminal(["new", str(tmp_path / "job")], b"Bath, First, main bathroom\nLoft\n\n")
    assert "Name the rooms" in asked
    assert [(r.name, r.floor, r.aliases) for r in jobs.load(tmp_path / "job").rooms] == [
        ("Bath", "First", ("main bathroom",)),
        ("Loft", "", ()),
    ]


def test_the_demo_makes_a_job_and_shows_what_it_tells(
    voidbook: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    media = tmp_path / "sample"
    media.mkdir()
    rooms = [{"name": "Scullery", "aliases": ["back kitchen"]}, {"name": "Yard"}]
    (media / "job.json").write_text(json.dumps({"name": "Farm", "rooms": rooms}))
    (media / "m01.txt").write_text(
        "In the scullery. I've capped the hot behind the sink. In the yard. Left the mains open."
    )
    monkeypatch.setattr(import_module("notes.cli.demo"), "PLACES", (tmp_path / "nowhere", media))
    ran = voidbook("demo", "--keep", tmp_path / "kept")
    assert ran.code == 0
    for words in ("Farm\n", "+ hot: capped", "Open end", "> voidbook trace where does the hot go in the Scullery"):
        assert words in ran.out
    assert ran.out.count("> voidbook trace") == 2
    assert 'voidbook followups --room "Scullery"' in ran.err
    assert voidbook("rooms", "--job", tmp_path / "kept").code == 0
    gone = voidbook("demo")
    assert (gone.code, gone.out) == (0, ran.out)
    assert "That job is gone again." in gone.err
    monkeypatch.setattr(import_module("notes.cli.demo"), "PLACES", (tmp_path / "nowhere",))
    assert "the sample recordings are not here" in voidbook("demo").err


# --- help


def test_every_verb_has_help_that_says_what_it_does(voidbook: Run) -> None:
    for verb in (verb for verbs in VERBS.values() for verb in verbs):
        ran = voidbook(verb, "--help")
        assert (ran.code, ran.err) == (0, "")
        assert ran.out.startswith(f"Usage: voidbook {verb} ")
        assert command_of(verb).help


def test_each_verb_takes_the_job_after_it() -> None:
    without = ("new", "demo", "model", "restore", "cluster", "worker")
    for verb in (verb for verbs in VERBS.values() for verb in verbs if verb not in without):
        assert "--job" in {name for option in command_of(verb).params for name in option.opts}


def test_help_alone_and_version(voidbook: Run) -> None:
    assert voidbook("--help").out.startswith("Usage: voidbook ")
    assert voidbook("--version").out.startswith("voidbook 0.")
    assert "Usage: voidbook" in voidbook().err


# --- days


@pytest.mark.parametrize(
    ("words", "coming", "day"),
    [
        ("2026-02-28", False, "2026-02-28"), ("today", False, "2026-03-04"), ("Yesterday", False, "2026-03-03"),
        ("wednesday", False, "2026-03-04"), ("thu", False, "2026-02-26"), ("thu", True, "2026-03-05"),
        ("wednesday", True, "2026-03-11"), ("tomorrow", True, "2026-03-05"),
    ],
)  # fmt: skip
def test_days_are_named_as_people_do(words: str, coming: bool, day: str) -> None:
    assert day_named(words, coming=coming, today=date(2026, 3, 4)) == day  # a Wednesday


@given(st.text())
def test_a_day_that_is_none_is_said(words: str) -> None:
    try:
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", str(day_named(words)))
    except UsageError as wrong:
        assert "is no day" in wrong.what


# --- what is printed is only ever text

EVIL = "\x1b[2J\x1b]0;owned\x07 hot\x9b31m \u202egnp\r\x00\x85"


@given(st.text())
def test_no_text_can_drive_a_terminal(text: str) -> None:
    assert all(c.isprintable() for c in out.clean(text + EVIL + text))


def test_what_is_left_of_hostile_text_is_its_words() -> None:
    assert out.clean(EVIL) == " hot gnp  "
    assert out.clean("Bad – ¾″ & naïve 日本") == "Bad – ¾″ & naïve 日本"


@pytest.mark.parametrize("json_too", [[], ["--json"]])
def test_a_hostile_memo_is_printed_by_no_command(voidbook: Run, db: Any, a_job: Job, json_too: list[str]) -> None:
    text = f"Capped {EVIL} hot"
    name = EVIL.replace("\x00", "")  # of a memo or room: none is taken in with a nought in it
    id = f"m\x1b[2J{name}"
    put(db, a_job, id, text, [a_fact(id, 0, text, text, place=EVIL, room=name)], speaker=EVIL)
    for words in (
        ["log"],
        ["facts"],
        ["followups"],
        ["trace", "hot"],
        ["find", "hot"],
        ["runs"],
        ["rooms"],
        ["memo", id],
    ):
        ran = voidbook(*words, *json_too)
        assert "hot" in ran.out or words == ["rooms"]
        assert all(c.isprintable() or c == "\n" for c in ran.out + ran.err)


def test_names_in_errors_are_cleaned(voidbook: Run) -> None:
    for words in (["log", "--room", EVIL], [EVIL], ["memo", EVIL], ["take", f"/nowhere/{EVIL.replace(chr(0), '')}"]):
        ran = voidbook(*words)
        assert ran.code > 0
        assert all(c.isprintable() or c == "\n" for c in ran.err)


# --- terminals and pipes


def _on_terminal(words: list[str], typed: bytes = b"", **environment: str) -> str:
    """What a command prints on a terminal of 80 columns."""
    ours, theirs = pty.openpty()
    settings = {**os.environ, "COLUMNS": "80", "TERM": "xterm", "PYTHON_COLORS": "0", **environment}
    settings = {name: value for name, value in settings.items() if value}
    child = subprocess.Popen(
        [sys.executable, "-c", MAIN, *words], stdin=theirs, stdout=theirs, stderr=theirs, env=settings
    )
    os.close(theirs)
    os.write(ours, typed)
    seen = b""
    try:
        while more := os.read(ours, 65536):
            seen += more
    except OSError:  # Linux says so when the other end is closed
        pass
    assert child.wait(timeout=30) == 0
    os.close(ours)
    return seen.decode()


def test_colour_is_for_terminals_that_want_it(root: Path, filled: Any) -> None:
    words = ["log", "--job", str(root)]
    assert "\x1b[1mMonday 2 March 2026\x1b[0m" in _on_terminal(words, NO_COLOR="")
    assert "\x1b" not in _on_terminal(words, NO_COLOR="1")
    assert "\x1b" not in _on_terminal(words, NO_COLOR="", TERM="dumb")


def test_nothing_is_wider_than_the_terminal(
    voidbook: Run, db: Any, a_job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "I have capped the hot " + "behind the very long panel " * 20
    put(db, a_job, "m01", text, [a_fact("m01", 0, text, text, place=text, to=text, status=Status.TO_DO)])
    for columns in (60, 80):
        monkeypatch.setenv("COLUMNS", str(columns))
        for words in (
            ["log"],
            ["facts"],
            ["followups"],
            ["trace", "hot"],
            ["find", "panel"],
            ["runs"],
            ["memo", "m01"],
        ):
            assert max(map(len, voidbook(*words).out.splitlines())) <= columns


def test_a_reader_that_has_enough_is_no_error(root: Path, db: Any, a_job: Job) -> None:
    text = "Capped the hot. " * 2000
    put(db, a_job, "m01", text, [a_fact("m01", n, text, text, subject="floor") for n in range(20)])
    command = [sys.executable, "-c", MAIN, "facts", "--json"]
    with subprocess.Popen(command, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as child:
        assert child.stdout and child.stderr
        child.stdout.readline()
        child.stdout.close()
        assert child.stderr.read() == b""
        assert child.wait(timeout=30) == 1


def test_ctrl_c_ends_with_130(voidbook: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(search, "said", interrupted)
    ran = voidbook("log")
    assert (ran.code, ran.out) == (130, "")
    assert "what was filed stays filed" in ran.err


def test_a_terminal_with_few_letters_still_gets_its_log(root: Path, db: Any, a_job: Job) -> None:
    put(db, a_job, "m01", "Capped 日本 hot", [a_fact("m01", 0, "Capped 日本 hot", "Capped 日本 hot", place="日本")])
    environment = {**os.environ, "PYTHONIOENCODING": "latin-1", "PYTHONUTF8": "0"}
    command = [sys.executable, "-c", MAIN, "log"]
    ran = subprocess.run(command, cwd=root, env=environment, capture_output=True, check=True)
    assert "hot: capped, ??" in ran.stdout.decode("latin-1")


# --- progress


def test_progress_is_plain_lines_without_a_terminal(voidbook: Run, tmp_path: Path) -> None:
    for n in (1, 2):
        (tmp_path / f"n{n}.txt").write_text(f"Scullery. Capped the hot {n}.")
    ran = voidbook("take", tmp_path / "n1.txt", tmp_path / "n2.txt")
    assert ran.err == "1/2 n1.txt: filed as n1, 1 fact\n2/2 n2.txt: filed as n2, 1 fact\n2 filed\n"
    assert ran.out == ""


def test_progress_for_programs_is_json(voidbook: Run, tmp_path: Path) -> None:
    file = tmp_path / "n1.txt"
    file.write_text("Scullery. Capped the hot.")
    rows = voidbook("take", file, tmp_path / "gone.txt", "--json").rows
    assert [row.get("doing") or row["done"] for row in rows] == [
        "looking at it",
        "reading it",
        "filed",
        "looking at it",
        "failed",
    ]
    assert rows[2]["ids"] == ["n1"]
    assert "no such file" in rows[4]["reason"]


def test_how_long_is_left_is_told_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from notes.cli import progress

    clock = iter((100.0, 130.0, 190.0))
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(clock))
    talk = progress.Progress(as_json=False, live=True)
    for share in (None, 0.25, 0.75):
        talk.doing(Path("m01.m4a"), "listening", share)
    told = capsys.readouterr().err
    assert "listening, 25% done, about 1 min 30 s left" in told
    assert "listening, 75% done, about 0 min 30 s left" in told


def test_what_was_heard_before_its_turn_is_no_measure_of_speed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from notes.cli import progress

    clock = iter((100.0, 100.1, 110.1))
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(clock))
    talk = progress.Progress(as_json=False, live=True)
    for share in (None, 0.6, 0.8):
        talk.doing(Path("m01.m4a"), "listening", share)
    told = capsys.readouterr().err
    assert "60% done" not in told
    assert "listening, 80% done, about 0 min 10 s left" in told


# --- one pipe or two


def test_trace_tells_where_else_a_service_is(voidbook: Run, tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "a.jsonl", said("m1", "In the scullery. Capped the hot by the door.")))
    shown = voidbook("trace", "where", "is", "the", "hot", "in", "the", "main", "bathroom").out
    assert "no hot on record in House bathroom, but in Scullery." in shown
    assert "There is no gas on record anywhere on this job." in voidbook("trace", "where's the gas").out
    assert voidbook("trace", "--json", "where's the gas").out == ""


def test_trace_answers_for_a_thing_itself(voidbook: Run, tmp_path: Path) -> None:
    memo = said("m1", "In the scullery. Run the hot to the sink. They don't want the shower in here any more.")
    voidbook("take", jsonl(tmp_path / "a.jsonl", memo))
    told = voidbook("trace", "is the scullery still getting a shower").out
    assert told.startswith("\nshower · Scullery\n  state     dropped\n")
    (row,) = voidbook("trace", "--json", "is the shower still going in").rows
    assert (row["subject"], row["room"], row["state"]) == ("shower", "Scullery", ["dropped"])


def test_what_is_planned_or_doubted_is_not_told_as_there(voidbook: Run, tmp_path: Path) -> None:
    memo = said(
        "m1",
        "In the scullery. I think the cold's capped behind the boards. I need to run the gas to the hob. "
        "The oil is not run yet, ask the supplier about the oil.",
    )
    voidbook("take", jsonl(tmp_path / "a.jsonl", memo))
    told = {line.split(":")[0].strip(): line for line in voidbook("runs").out.splitlines()}
    assert "not sure" in told["cold"] and "planned" in told["gas"]
    assert "not there yet" in told["oil"]  # to ask about it is no plan to lay it
    assert "not sure" in voidbook("trace", "scullery cold").out


def test_runs_ask_whether_two_are_one(voidbook: Run, tmp_path: Path) -> None:
    memo = said("m1", "In the scullery. Capped the hot by the door. Capped the hot by the window.")
    voidbook("take", jsonl(tmp_path / "a.jsonl", memo))
    one, other = (run["key"] for run in voidbook("runs", "--json").rows)
    told = " ".join(voidbook("runs").out.split())
    assert f"may be one pipe with the hot by the door; if so: voidbook merge {one} {other}" in told
    voidbook("part", one, other)
    assert "may be one pipe" not in voidbook("runs").out


def test_what_was_said_to_be_one_pipe_is_one_everywhere(voidbook: Run, tmp_path: Path) -> None:
    memo = said("m1", "In the scullery. Capped the hot by the door. Capped the hot by the window.")
    voidbook("take", jsonl(tmp_path / "a.jsonl", memo))
    one, other = (run["key"] for run in voidbook("runs", "--json").rows)
    drawn = voidbook("sketch").out.count("size not said")  # each in its box and in a title
    assert voidbook("merge", one, other).code == 0
    assert [run["key"] for run in voidbook("runs", "--json").rows] == [one]
    assert len(voidbook("trace", "--json", "where is the hot").rows) == 1
    assert voidbook("sketch").out.count("size not said") == drawn // 2
    voidbook("undo")
    assert len(voidbook("runs", "--json").rows) == 2


HOTS = "In the scullery. Capped the hot by the door. Capped the hot by the window. Capped the cold by the door."
HOTS_MORE = " Capped the hot by the chimney breast."


def test_two_pipes_are_named_in_plain_words(voidbook: Run, tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "a.jsonl", said("m1", HOTS)))
    done = voidbook("merge", "scullery", "hot")
    assert done.code == 0 and "by the door" in done.err and "by the window" in done.err
    assert "are one pipe from now on; if not: voidbook undo" in done.err
    assert len(voidbook("trace", "--json", "where is the hot").rows) == 1
    assert "are two pipes from now on" in voidbook("part", "scullery hot").err
    assert len(voidbook("trace", "--json", "where is the hot").rows) == 2


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        (("cold",), "no two pipes of one service and one room answer that: Scullery, cold: by the door, capped"),
        (("where's the gas",), "no pipe on record answers that. There is no gas on record anywhere on this job"),
        (("m1:0", "m1:0"), "m1:0 is one run only"),
        (("m09:9",), "no pipe on record answers that"),
    ],
)
def test_words_that_name_no_two_pipes_are_told(
    voidbook: Run, tmp_path: Path, words: tuple[str, ...], wrong: str
) -> None:
    voidbook("take", jsonl(tmp_path / "a.jsonl", said("m1", HOTS)))
    ran = voidbook("merge", *words)
    assert ran.code == 2 and wrong in ran.err
    assert voidbook("decisions", "--json").rows == []


def test_of_several_pipes_all_are_listed_with_their_keys(voidbook: Run, tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "a.jsonl", said("m1", HOTS + HOTS_MORE)))
    keys = [run["key"] for run in voidbook("runs", "--service", "hot", "--json").rows]
    several = voidbook("merge", "hot")
    assert several.code == 2 and "3 pipes answer that; say which: voidbook merge KEY, or with more words" in several.err
    assert sorted(line.split()[0] for line in several.out.splitlines() if line[0] == "m") == sorted(keys)
    rest = voidbook("merge", keys[0])
    assert rest.code == 2 and f"say which: voidbook merge {keys[0]} OTHER" in rest.err
    assert keys[0] not in rest.out and keys[1] in rest.out


def test_of_several_pipes_a_person_chooses(voidbook: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    voidbook("take", jsonl(tmp_path / "a.jsonl", said("m1", HOTS + HOTS_MORE)))
    monkeypatch.setattr("sys.stdin", Answers("9\n3\n1\n"))  # there are no nine
    done = voidbook("merge", "hot")
    assert done.code == 0 and "Which pipe?" in done.err and "And which other?" in done.err
    assert len(voidbook("runs", "--service", "hot", "--json").rows) == 2


class Answers(io.StringIO):
    """A person at a terminal."""

    def isatty(self) -> bool:
        return True
