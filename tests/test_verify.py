"""Whatever is broken in a job is found and named; what can be derived is mended, and nothing else is touched."""

from __future__ import annotations

import os
import random
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conftest import Ran
from house import JOB, ROUNDS, a_filled_job, copy, quick_folder, told

from notes import book, short, verify
from notes.store import Store
from notes.verifying.problem import Problem


@pytest.fixture(scope="module")
def whole() -> Iterator[Path]:
    with quick_folder() as folder:
        yield a_filled_job(folder)


@pytest.fixture
def root(whole: Path) -> Path:
    """A job of its own to break."""
    return copy(whole, whole.parent / "broken")


def check(root: Path, deep: bool = True) -> list[Problem]:
    return verify.check(root, JOB, deep=deep, young=0)


def repair(root: Path) -> list[Problem]:
    """Repair; what is still wrong."""
    return verify.repair(root, JOB, deep=True, young=0)[1]


def break_book(root: Path, *statements: str) -> None:
    with closing(sqlite3.connect(root / book.NAME, isolation_level=None)) as db:
        db.create_function("told", 1, short.full)
        for statement in ("PRAGMA foreign_keys = OFF", *statements):
            db.execute(statement)


def test_a_whole_job_has_nothing_wrong(root: Path) -> None:
    before = told(root)
    assert check(root) == check(root, deep=False) == []
    assert verify.repair(root, JOB, deep=True, young=0) == ([], [])
    assert told(root) == before


# --- originals


def originals(root: Path) -> list[Path]:
    return [path for _, path in Store(root / "media").walk()]


def test_every_flipped_byte_of_an_original_is_found_and_named(root: Path) -> None:
    for path in originals(root):
        good = path.read_bytes()
        for at in {0, len(good) - 1, *(random.randrange(len(good)) for _ in range(ROUNDS or 5))}:
            path.write_bytes(good[:at] + bytes([good[at] ^ (1 << random.randrange(8))]) + good[at + 1 :])
            (problem,) = check(root)
            assert problem.error
            assert problem.what == "an original's bytes are not what they were"
            assert str(path) in problem.about
        path.write_bytes(good)
    assert check(root) == []


def test_a_changed_original_is_put_aside_and_healed_by_taking_it_again(root: Path, whole: Path) -> None:
    note = next(path for path in originals(root) if path.suffix == ".txt")
    note.write_bytes(b"In the house bathroom. Capped the hot behind the basin..")
    (left,) = repair(root)
    assert left.what.startswith("an original is missing")
    assert "note.txt" in left.about
    assert (root / verify.ASIDE / note.name).read_bytes().startswith(b"In the house bathroom. Capped the hot")
    Store(root / "media").put(whole.parent / "inbox" / "note.txt")
    assert check(root) == []


def test_missing_and_cut_originals_are_found_without_reading_all(root: Path) -> None:
    first, second = originals(root)[:2]
    first.unlink()
    second.write_bytes(second.read_bytes()[:-1])
    found = check(root, deep=False)
    assert [first.name[:12] in p.about or second.name[:12] in p.about for p in found] == [True, True]
    assert all(p.error for p in found)


def test_a_file_that_nothing_is_of_is_litter_unless_it_is_young(root: Path) -> None:
    put = Store(root / "media").put_bytes(b"a take was stopped here", ".txt")
    orphan = Store(root / "media").path(put.sha)
    assert verify.check(root, JOB) == []
    (problem,) = check(root)
    assert (problem.error, problem.about) == (False, str(orphan))
    os.utime(orphan, (0, 0))
    assert verify.check(root, JOB) == [problem]
    assert repair(root) == []
    assert (root / verify.ASIDE / orphan.name).read_bytes() == b"a take was stopped here"


def test_what_stopped_programs_leave_is_swept(root: Path) -> None:
    left = [root / name for name in ("media/.part-x", ".job.toml.7", ".part-book.db", "thumbnails/ab/.x.jpg.7")]
    for path in left:
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_bytes(b"half")
    assert {p.about for p in check(root)} == set(map(str, left))
    assert not any(p.error for p in check(root))
    assert repair(root) == []
    assert not any(path.exists() for path in left)


# --- rows


BROKEN = (
    ("UPDATE memos SET words = '[' WHERE id = 'm2'", "a row of memos is broken", "'m2'", False),
    ("UPDATE memos SET raw = raw || '.' WHERE transcript IS NOT NULL", "not those of its transcript", "memos", False),
    ("UPDATE memos SET raw = 'Capped it.' WHERE id = 'note'", "does not say what its original says", "note", False),
    ("UPDATE memos SET speaker = 'B' WHERE id = 'm3'", "does not say what its original says", "m3", False),
    ("UPDATE memos SET moment = 0 WHERE id = 'm1'", "its time is told twice", "'m1'", False),
    ("UPDATE memos SET said = '[{}]' WHERE id = 'm1'", "it can't be read", "'m1'", False),
    ("UPDATE photos SET at = 'soon'", "it can't be read", "photos", False),
    ("UPDATE photos SET brightness = NULL", "it can't be read", "photos", False),
    ("UPDATE transcripts SET media = (SELECT max(sha) FROM media)", "not that of its recording", "transcripts", False),
    ("UPDATE transcripts SET transcript = replace(told(transcript), 'Cap', 'K')", "have changed", "transcripts", False),
    ("UPDATE memos SET text = upper(text) WHERE transcript IS NOT NULL", "have changed", "memos", False),
    ("UPDATE memos SET carry = substr(carry, 2) WHERE id = 'm1'", "it can't be read", "'m1'", False),
    ("DELETE FROM media", "points to a row of media that is not there", "memos", False),
    ("UPDATE facts SET size_mm = 99 WHERE memo = 'm3'", "not what was read in it", "memo m3", True),
    ("UPDATE facts SET quote = x'ff' WHERE memo = 'm3'", "not what was read in it", "memo m3", True),
    ("DELETE FROM facts WHERE memo = 'm2'", "not what was read in it", "memo m2", True),
    ("DELETE FROM followups", "follow-ups are not those that the rules", "differences", True),
    ("UPDATE followups SET severity = 'dire'", "a row of followups is broken", "followups", True),
    ("INSERT INTO transcripts SELECT 'unused', media, '?', '' FROM memos LIMIT 1", "transcripts", "'unused'", True),
    ("INSERT INTO memos_fts(memos_fts) VALUES ('delete-all')", "full-text index", "memos_fts", True),
    ("INSERT INTO facts_fts(facts_fts, rowid, words) VALUES ('delete', 1, 'x')", "full-text index", "facts_fts", True),
)  # fmt: skip


@pytest.mark.parametrize(("statement", "what", "about", "mends"), BROKEN, ids=[b[0][:50] for b in BROKEN])
def test_a_broken_row_is_named_and_mended_if_it_can_be(
    root: Path, statement: str, what: str, about: str, mends: bool
) -> None:
    before = told(root)
    break_book(root, statement)
    found = check(root)
    assert any(what in p.what and about in p.about and p.error for p in found), found
    left = repair(root)
    if mends:
        assert left == []
        assert told(root) == before
    else:
        assert left == found
        assert all(p.todo for p in left)


def test_a_broken_decision_is_named(root: Path) -> None:
    break_book(root, "DROP TRIGGER decisions_stand", "UPDATE decisions SET about = '?' WHERE id = 2")
    trigger, decision = check(root)
    assert "not as it was made" in trigger.what
    assert (trigger.about, decision.about) == ("decisions_stand", "decisions 2")
    assert decision.error and decision.mend is None


# --- pages


def flipped(file: Path, page: int | None = None, size: int = 4096) -> int:
    """Flip a bit of `file`, anywhere or in the cells at the end of a page (from 1); where."""
    data = bytearray(file.read_bytes())
    at = random.randrange(len(data)) if page is None else page * size - 1 - random.randrange(60)
    data[at] ^= 1 << random.randrange(8)
    file.write_bytes(data)
    return at


def test_a_flipped_bit_in_the_book_is_nearly_always_found_or_harmless(root: Path, whole: Path) -> None:
    should, file, unseen, found = told(root), root / book.NAME, [], 0
    rounds = ROUNDS or 60
    for _ in range(rounds):
        file.write_bytes((whole / book.NAME).read_bytes())
        at = flipped(file)
        if check(root):
            found += 1
            continue
        try:
            harm = told(root) != should
        except Exception as wrong:
            harm = wrong is not None
        unseen += [at] if harm else []
    # some words are told once only: who decided and when, the times of words; measured 1 unseen for 185 found
    assert len(unseen) <= 1 + rounds // 200
    assert found > len(unseen)


def test_a_broken_index_is_made_anew(root: Path) -> None:
    with closing(sqlite3.connect(root / book.NAME)) as db:
        page = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'memos_in_time'").fetchone()[0]
    before, file = told(root), root / book.NAME
    good = file.read_bytes()
    seen = 0
    for _ in range(40):
        file.write_bytes(good)
        flipped(file, page)
        found = check(root)
        if found and all(p.mend for p in found):
            seen += 1
            assert repair(root) == []
            assert told(root) == before
    assert seen > 0


@pytest.mark.parametrize("harm", [lambda f: f.write_bytes(b"no book" * 999), lambda f: f.unlink()])
def test_a_book_that_is_none_is_one_problem(root: Path, harm: Callable[[Path], Any]) -> None:
    harm(root / book.NAME)
    (problem,) = check(root)
    assert problem.error
    assert book.NAME in problem.about
    assert "backup" in problem.todo


# --- the command


def test_the_command_names_what_is_wrong_and_mends(root: Path, voidbook: Callable[..., Ran]) -> None:
    assert voidbook("verify", "--deep").out == "All is there and agrees (every original and page was read again).\n"
    break_book(root, "UPDATE facts SET size_mm = 99 WHERE memo = 'm3'")
    ran = voidbook("verify")
    assert (ran.code, ran.err) == (5, "")
    assert "memo m3: the facts of a memo are not what was read in it" in ran.out
    assert voidbook("verify", "--json").rows[0]["about"] == "memo m3"
    mended = voidbook("verify", "--repair")
    assert mended.code == 0
    assert mended.out.startswith("mended: the facts of a memo")
    assert voidbook("verify").code == 0
