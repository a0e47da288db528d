"""What is forgotten is gone from the disk, byte by byte, with a note of the gap; all else stays."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from conftest import Ran, jsonl
from house import HEARD, JOB, MEMOS, Quiet, a_filled_job, a_wav, copy, quick_folder, told

from notes import book, forget, intake, paging, ruling, search, signing, verify
from notes.decisions import Kind
from notes.errors import MediaError, UsageError
from notes.paging import Where
from notes.store import ASIDE, Store


@pytest.fixture(scope="module")
def whole() -> Iterator[Path]:
    with quick_folder() as folder:
        yield a_filled_job(folder)


@pytest.fixture
def root(whole: Path) -> Path:
    return copy(whole, whole.parent / "copy")


def gone(root: Path, memo: str) -> None:
    with book.opened(root) as db:
        forget.forget(db, root, JOB, memo, "A")


def holding(root: Path, words: bytes) -> list[Path]:
    return [path for path in root.rglob("*") if path.is_file() and words in path.read_bytes()]


def test_nothing_of_a_line_is_left_and_all_else_stays(root: Path) -> None:
    before = told(root)
    assert holding(root, b"zebrano")
    gone(root, "m2")
    assert holding(root, b"zebrano") == []
    assert verify.check(root, JOB, deep=True, young=0) == []
    after = told(root)
    others = {json.loads(row)["id"]: json.loads(row)["raw"] for row in after["memos"]}
    assert others == {k["id"]: k["raw"] for k in map(json.loads, before["memos"]) if k["id"] != "m2"}
    ((sha, text),) = [(s, p) for s, p in Store(root / "media").walk() if p.suffix == ".jsonl"]
    assert [line and json.loads(line)["id"] for line in text.read_text().split("\n")] == ["m1", "", "m3", ""]
    assert sha not in before["kept"]


def test_a_memo_of_the_same_words_and_moment_stays_whole(root: Path, tmp_path: Path) -> None:
    """Its line went with the other's, and the book was left with a memo that no original says."""
    with book.opened(root) as db:
        twin = jsonl(tmp_path / "twin.jsonl", {**MEMOS[1], "id": "twin"})
        assert intake.take(db, root, JOB, [twin], Quiet()) == []
    gone(root, "m2")
    with search.opened(root) as db:
        assert search.memo(db, "twin").raw == MEMOS[1]["text"]
    assert verify.check(root, JOB, deep=True, young=0) == []
    gone(root, "twin")
    assert holding(root, b"zebrano") == []


def test_nothing_of_a_recording_is_left(root: Path) -> None:
    with search.opened(root) as db:
        media = db.execute("SELECT media FROM memos WHERE id = '20260302-101500'").fetchone()[0]
    gone(root, "20260302-101500")
    left = told(root)
    assert holding(root, b"20260302-101500") == []
    assert media not in {sha for sha, _ in Store(root / "media").walk()}
    assert not any(media in row for table in ("media", "transcripts", "memos") for row in left[table])
    assert verify.check(root, JOB, deep=True, young=0) == []


def test_a_note_of_the_gap_stays_and_cannot_be_undone(root: Path) -> None:
    gone(root, "m2")
    with book.opened(root) as db:
        row = db.execute("SELECT * FROM decisions WHERE kind = ?", (Kind.FORGET,)).fetchone()
        assert json.loads(row["value"]) == {"said": MEMOS[1]["at"], "speaker": "A", "seconds": None}
        back = ruling.undo(db, JOB, "A")
        assert back.kind is not Kind.FORGET


def test_the_gap_stands_in_the_log_of_its_day_and_in_the_record(root: Path, voidbook: Callable[..., Ran]) -> None:
    gone(root, "m2")
    line = "a memo by A was removed for good by A, "
    for asked in ([], ["--day", "2026-03-02"], ["--room", "scullery"]):
        shown = " ".join(voidbook("log", *asked).out.split())
        assert f"Monday 2 March 2026 09:00 · {line}" in shown
    assert line not in voidbook("log", "--day", "2026-03-03").out
    (gap,) = [row for row in voidbook("log", "--json").rows if "forgotten" in row]
    assert (gap["at"], gap["speaker"], gap["seconds"], gap["by"]) == (MEMOS[1]["at"], "A", None, "A")
    for what in (["--whole"], ["--day", "2026-03-02"], ["--room", "scullery"]):
        for form in ("md", "html", "json"):
            file = root / f"r.{form}"
            assert voidbook("record", *what, "--out", file).code == 0
            assert line in " ".join(file.read_text().split())
            assert "zebrano" not in file.read_text()
    voidbook("record", "--day", "2026-03-02", "--out", root / "r.csv")
    assert [
        row["Spoke of"][:21]
        for row in csv.DictReader((root / "r.csv").read_text().splitlines())
        if row["Time"] == "09:00"
    ] == ["removed for good by A"]


def test_a_day_of_which_all_was_forgotten_is_still_a_day(root: Path, voidbook: Callable[..., Ran]) -> None:
    with search.opened(root) as db:
        memos = [row["id"] for row in db.execute("SELECT id FROM memos")]
        days = paging.days(db)
    for memo in memos:
        gone(root, memo)
    with search.opened(root) as db:
        assert [day for day, _ in paging.days(db)] == [day for day, _ in days]
    assert voidbook("log").out.count("was removed for good") == len(memos)
    assert "Nothing was said then" not in voidbook("log").out


def test_what_later_memos_took_from_it_is_read_again(root: Path) -> None:
    """m2 says 'still in here': without m1 it is in no room."""
    with search.opened(root) as db:
        assert {fact.room for fact in search.of_memo(db, "m2")} == {"Scullery"}
    gone(root, "m1")
    with search.opened(root) as db:
        assert {fact.room for fact in search.of_memo(db, "m2")} != {"Scullery"}
    assert verify.check(root, JOB, deep=True, young=0) == []


def test_decisions_on_it_go_and_the_others_can_still_not_be_changed(root: Path) -> None:
    with book.opened(root) as db:
        signing.sign(db, "A", Where(anywhere=True))
        before = {row["id"]: row["memo"] for row in db.execute("SELECT * FROM decisions")}
    assert {"m1", "m2"} <= set(before.values())
    gone(root, "m2")
    with book.opened(root) as db:
        after = {row["id"]: row["memo"] for row in db.execute("SELECT * FROM decisions WHERE kind != 'forget'")}
        assert after == {id: memo for id, memo in before.items() if memo != "m2"}
        signed = db.execute("SELECT value FROM decisions WHERE kind = ?", (Kind.SIGN,)).fetchone()["value"]
        assert "m1:0" in signed
        assert "m2:" not in signed
        for change in ("UPDATE decisions SET who = 'B'", "DELETE FROM decisions"):
            with pytest.raises(Exception, match="only ever added to"):
                db.execute(change)


def test_it_is_refused_when_it_comes_again(root: Path, whole: Path, tmp_path: Path) -> None:
    gone(root, "m2")
    gone(root, "20260302-101500")
    before = told(root)
    again = [
        whole.parent / "inbox" / "week.jsonl",
        whole.parent / "inbox" / "20260302-101500.wav",
        jsonl(tmp_path / "grown.jsonl", *MEMOS, {**MEMOS[0], "id": "m7", "text": "Capped the gas."}),
    ]
    with book.opened(root) as db:
        wrong = intake.take(db, root, JOB, again, Quiet(), transcriber=HEARD)
        assert [type(w) for w in wrong] == [MediaError] * 3
        assert all("forgotten for good" in w.what for w in wrong)
        fine = [a_wav(tmp_path / "new.wav"), jsonl(tmp_path / "rest.jsonl", MEMOS[0])]
        assert intake.take(db, root, JOB, fine, Quiet(), transcriber=HEARD) == []
    assert holding(root, b"zebrano") == []
    assert len(set(told(root)["media"]) - set(before["media"])) == 2


def test_copies_from_before_migrations_go(root: Path) -> None:
    old = root / f"{book.NAME}.v1.20260302T080000"
    old.write_bytes((root / book.NAME).read_bytes())
    gone(root, "m2")
    assert not old.exists()


def test_a_stopped_forgetting_is_ended_by_repair(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(forget, "remove_file", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            gone(root, "m2")
    (left,) = verify.check(root, JOB, deep=True, young=0)
    assert not left.error
    assert verify.repair(root, JOB, young=0)[1] == []
    assert holding(root, b"zebrano") == []


@pytest.mark.parametrize("stopped", [False, True])
def test_what_was_put_aside_and_a_dictation_that_was_filed_go_too(
    root: Path, monkeypatch: pytest.MonkeyPatch, stopped: bool
) -> None:
    """Repair had put a damaged original and a stopped take's file aside, and their words stayed there."""
    media, aside = Store(root / "media"), root / ASIDE
    week = next(path for _, path in media.walk() if path.suffix == ".jsonl")
    lines = week.read_bytes()
    week.write_bytes(lines.replace(b"Cold wants", b"C\xffld wants"))
    media.put_bytes(lines + b"\n", ".jsonl")  # a take was stopped before its row
    verify.repair(root, JOB, deep=True, young=0)
    media.put_bytes(lines, ".jsonl")  # taken again
    sound = next(path for _, path in media.walk() if b"20260302-101500" in path.read_bytes())
    dictated = root / "dictated" / "dictated-2026-03-02-101500.wav"
    dictated.parent.mkdir()
    dictated.write_bytes(sound.read_bytes())
    (aside / f"{'0' * 64}.txt").write_text("of no memo")
    assert len(holding(aside, b"zebrano")) == 2
    with monkeypatch.context() as patch:
        if stopped:
            patch.setattr(forget, "copies", lambda *_: [])
        gone(root, "m2")
        gone(root, "20260302-101500")
    if stopped:
        assert not any(problem.error for problem in verify.check(root, JOB, young=0))
        assert verify.repair(root, JOB, young=0)[1] == []
    assert holding(root, b"zebrano") == []
    assert holding(root, b"20260302-101500") == []
    assert [path.read_text() for path in aside.iterdir()] == ["of no memo"]


def test_the_command_asks_and_tells(root: Path, voidbook: Callable[..., Ran]) -> None:
    assert voidbook("forget", "m9", "--yes", "--job", root).code == 2
    refused = voidbook("forget", "m2", "--job", root)  # nobody is there to answer
    assert refused.code != 0
    assert holding(root, b"zebrano")
    ran = voidbook("forget", "m2", "--yes", "--job", root)
    assert ran.code == 0
    assert "forgotten: m2" in ran.err
    assert voidbook("memo", "m2", "--job", root).code == 2


def test_an_unknown_memo_is_refused(root: Path) -> None:
    with pytest.raises(UsageError):
        gone(root, "m99")
