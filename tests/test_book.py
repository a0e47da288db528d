"""The book: how it is made, brought up to date, written by many, and kept in time order."""

from __future__ import annotations

import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from conftest import jsonl, said
from hypothesis import given
from hypothesis import strategies as st

from notes import book, derive, intake, rows, schema, search
from notes.chain import Link, follow
from notes.errors import BookError, VoidbookError
from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES, Fact, Job, Status


def test_a_new_book_is_private_and_durable(root: Path, db: Any) -> None:
    assert stat.S_IMODE((root / "book.db").stat().st_mode) == 0o600
    settings = {
        name: db.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "foreign_keys", "synchronous")
    }
    assert settings == {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2}
    assert db.execute("PRAGMA user_version").fetchone()[0] == schema.VERSION
    db.execute("INSERT INTO problems (path, line, reason, at) VALUES ('x', 0, 'y', 'z')")
    for file in root.glob("book.db*"):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_newer_book_is_left_alone(root: Path) -> None:
    with closing(sqlite3.connect(root / "book.db")) as raw:
        raw.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    for opening in (book.opened, search.opened):
        with pytest.raises(BookError, match="newer voidbook"), opening(root):
            pass


def test_an_older_book_is_kept_before_it_is_brought_up_to_date(
    root: Path, filled: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    step = schema.Step("second", "ALTER TABLE photos ADD COLUMN turned INTEGER;")
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, step))
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 1)
    with book.opened(root) as db:
        assert "turned" in {row["name"] for row in db.execute("PRAGMA table_info(photos)")}
        assert len(search.of_memo(db, "m01")) == 3
    (kept,) = root.glob(f"book.db.v{schema.VERSION - 1}.*")
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    with closing(sqlite3.connect(kept)) as old:
        assert old.execute("SELECT count(*) FROM facts").fetchone()[0] == 4
        assert old.execute("PRAGMA user_version").fetchone()[0] == schema.VERSION - 1


def test_a_step_that_fails_changes_nothing(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    step = schema.Step("second", "ALTER TABLE photos ADD COLUMN turned INTEGER; CREATE TABLE facts (x);")
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, step))
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 1)
    with pytest.raises(BookError), book.opened(root):
        pass
    with closing(sqlite3.connect(root / "book.db")) as raw:
        assert raw.execute("PRAGMA user_version").fetchone()[0] == schema.VERSION - 1
        assert "turned" not in {row[1] for row in raw.execute("PRAGMA table_info(photos)")}


def test_what_fails_inside_a_write_is_taken_back(db: Any) -> None:
    with pytest.raises(ZeroDivisionError), book.write(db):
        db.execute("INSERT INTO problems (path, line, reason, at) VALUES ('x', 0, 'y', 'z')")
        _ = 1 / 0
    assert search.problems(db) == []
    with book.write(db):
        pass


def test_a_busy_book_is_waited_for_and_then_said(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book, "PATIENCE", 0.05)
    with book.opened(root) as one, book.opened(root) as two, book.write(one):
        with pytest.raises(BookError, match="another program is writing"), book.write(two):
            pass
        with search.opened(root) as reader:  # nobody who reads has to wait
            assert search.problems(reader) == []


@pytest.mark.parametrize("spoil", [b"not a book at all" * 400, b"SQLite format 3\x00" + b"\xff" * 4096])
def test_a_damaged_book_is_named_in_one_line(root: Path, spoil: bytes) -> None:
    (root / "book.db").write_bytes(spoil)
    for opening in (book.opened, search.opened):
        with pytest.raises(BookError) as wrong, opening(root) as db:
            db.execute("SELECT * FROM facts").fetchall()
        assert "book.db" in str(wrong.value)
        assert "\n" not in str(wrong.value)


def test_a_reader_can_change_nothing(root: Path, filled: Any) -> None:
    with pytest.raises(VoidbookError, match="readonly"), search.opened(root) as reader:
        reader.execute("DELETE FROM facts")


# --- facts to rows and back

_SOME = st.one_of(st.none(), st.text(st.characters(codec="utf-8"), max_size=10))
_NUMBER = st.one_of(st.none(), st.floats(0, 1e5), st.just(22.0))
FACTS = st.builds(
    Fact,
    memo=st.just("m01"), n=st.integers(0, 5), room=_SOME, subject=st.sampled_from(PIPES + ITEMS),
    action=st.sampled_from(ACTIONS), status=st.sampled_from(Status),
    quote=st.text(st.characters(codec="utf-8"), max_size=20),
    start=st.integers(0, 99), end=st.integers(0, 99), size_mm=_NUMBER, to_size_mm=_NUMBER,
    material=st.one_of(st.none(), st.sampled_from(MATERIALS)), place=_SOME, from_=_SOME, to=_SOME, length_m=_NUMBER,
    pressure_bar=_NUMBER, duration_min=_NUMBER, count=st.one_of(st.none(), st.integers(0, 99)), failed=st.booleans(),
    temporary=st.booleans(), correction=st.booleans(), everywhere=st.booleans(), depth_mm=_NUMBER, second=_NUMBER,
    cue=_SOME, doubts=st.lists(st.sampled_from(("room", "size_mm"))).map(tuple), id=st.none(), by=_SOME,
)  # fmt: skip


@given(st.lists(FACTS, max_size=3))
def test_facts_are_read_back_as_they_were_written(facts: list[Fact]) -> None:
    assert rows.facts_from(rows.facts_json(facts)) == tuple(facts)
    for fact in facts:
        row = rows.fact_row(fact)
        assert rows.fact({**row, "id": None}) == fact


# --- the order of time


@given(st.lists(st.booleans(), min_size=1, max_size=8), st.data())
def test_only_what_begins_otherwise_is_read_again(news: list[bool], data: st.DataObject) -> None:
    """A carry here is the last room named; a memo names one or leaves it."""
    names = [data.draw(st.sampled_from(("", "a", "b"))) for _ in news]

    def after(row: int, before: str) -> str:
        return names[row] or before

    left: dict[int, str] = {}
    first = [Link(n, n, None, must=True) for n, new in enumerate(news) if not new]
    must = len(first)
    follow(first, "", lambda link, before: left.setdefault(link.row, after(link.row, before)), must)
    links = [Link(n, n, left.get(n), must=new) for n, new in enumerate(news)]
    read: dict[int, str] = {}
    follow(links, "", lambda link, before: read.setdefault(link.row, after(link.row, before)), sum(news))
    before, was_before = "", ""
    for n, new in enumerate(news):
        assert (n in read) == (new or before != was_before)
        before = after(n, before)
        was_before = was_before if new else left[n]


def test_memos_filed_in_any_order_say_the_same(root: Path, a_job: Job, tmp_path: Path) -> None:
    texts = (
        "In the scullery. I've capped the hot.",
        "Still in here. Capped the cold as well.",
        "Still in here. Left the waste open.",
    )
    memos = [said(f"m{n}", text, hours=n) for n, text in enumerate(texts)]
    told = set()
    for n, order in enumerate(permutations(memos)):
        folder = tmp_path / str(n)
        folder.mkdir()
        with book.opened(folder) as db:
            for memo in order:
                _take(db, folder, a_job, jsonl(tmp_path / f"{memo['id']}.jsonl", memo))
            told.add(tuple((s.fact.memo, s.fact.room, s.fact.subject) for s in search.said(db)))
    assert len(told) == 1
    rooms = {room for memo, room, _ in told.pop() if memo == "m2"}
    assert rooms == {"Scullery"}


def _take(db: Any, folder: Path, job: Job, *paths: Path) -> None:
    class Quiet:
        def begin(self, *_: Any) -> None: ...
        def doing(self, *_: Any) -> None: ...
        def filed(self, *_: Any) -> None: ...
        def failed(self, _path: Path, wrong: VoidbookError) -> None:
            raise wrong

    intake.take(db, folder, job, paths, Quiet())


# --- many at once

_WRITER = """
import sys
from conftest import put, a_fact
from notes import book, job
from pathlib import Path
root, name = Path(sys.argv[1]), sys.argv[2]
with book.opened(root) as db:
    for n in range(12):
        text = f"capped the hot number {n}"
        put(db, job.load(root), f"{name}{n}", text, [a_fact(f"{name}{n}", 0, text, text)], hours=n)
"""


def test_many_writers_at_once_lose_nothing(root: Path) -> None:
    start = [sys.executable, "-c", _WRITER, str(root)]
    writers = [
        subprocess.Popen([*start, name], cwd=Path(__file__).parent, stderr=subprocess.PIPE, text=True)
        for name in "abcd"
    ]
    for writer in writers:
        _, wrong = writer.communicate(timeout=120)
        assert (writer.returncode, wrong) == (0, "")
    with search.opened(root) as db:
        assert db.execute("SELECT count(*) FROM memos").fetchone()[0] == 48
        assert len(list(search.said(db))) == 48
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        for table in ("memos_fts", "facts_fts"):
            met = db.execute(f"SELECT count(*) FROM {table} WHERE {table} MATCH 'capped'").fetchone()[0]
            assert met == 48


def test_takes_at_once_keep_the_order_of_time(root: Path, tmp_path: Path) -> None:
    """Each take files every third memo of one talk, in which all but the first are 'still in here'."""
    first = said("m0", "In the scullery. I've capped the hot.")
    others = [said(f"m{n}", "Still in here. I've capped the cold.", hours=n) for n in range(1, 12)]
    files = [jsonl(tmp_path / f"{n}.jsonl", *[first, *others][n::3]) for n in range(3)]
    start = [sys.executable, "-c", "import sys; from notes.cli import main; main(sys.argv[1:])", "take"]
    takes = [subprocess.Popen([*start, str(f), "--job", str(root)], stderr=subprocess.PIPE, text=True) for f in files]
    for take in takes:
        _, told = take.communicate(timeout=120)
        assert (take.returncode, "4 memos filed" in told) == (0, True), told
    with search.opened(root) as db:
        found = [(s.fact.memo, s.fact.room) for s in search.said(db)]
    assert found == [(f"m{n}", "Scullery") for n in range(12)]


def test_a_book_is_made_once_by_whoever_is_first(tmp_path: Path) -> None:
    code = "import sys; from pathlib import Path; from notes import book; book.connect(Path(sys.argv[1])).close()"
    makers = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stderr=subprocess.PIPE) for _ in range(4)]
    for maker in makers:
        _, wrong = maker.communicate(timeout=60)
        assert (maker.returncode, wrong) == (0, b"")
    with search.opened(tmp_path) as db:
        assert db.execute("SELECT count(*) FROM _sqlite_migrations").fetchone()[0] == len(schema.STEPS)


def test_the_index_of_a_removed_fact_is_gone(filled: Any, a_job: Job) -> None:
    assert filled.execute("SELECT count(*) FROM facts_fts WHERE facts_fts MATCH 'waste'").fetchone()[0] == 1
    filled.execute("UPDATE memos SET said = '[]' WHERE id = 'm02'")
    with book.write(filled):
        changed = derive.settle(filled, "m02")
        derive.refresh(filled, a_job, derive.rooms_of(filled, changed))
    assert filled.execute("SELECT count(*) FROM facts_fts WHERE facts_fts MATCH 'waste'").fetchone()[0] == 0
    assert [item for item in search.followups(filled, closed=True) if item.subject == "waste"] == []
