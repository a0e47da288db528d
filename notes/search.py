"""Reading the book: stdlib sqlite3, read-only, so that it starts fast and never stands in a writer's way."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from notes import book, concerning, hits, query, rows
from notes.errors import BookError, UsageError
from notes.lexicon import Lexicon
from notes.model import Fact, FollowUp, Job, Memo, Photo, Room

MARKS = ("\x02", "\x03")
"""What stands before and behind the words found in a snippet; no text in the book holds them as words."""


class Said(NamedTuple):
    """A fact with when it was said, and by whom."""

    fact: Fact
    at: datetime
    speaker: str | None
    sure: bool
    """Whether the time is sure."""


class Found(NamedTuple):
    """A memo that a search met: its words around what was met, and the facts in it that met it too."""

    memo: str
    at: datetime
    speaker: str | None
    snippet: str
    facts: tuple[Fact, ...]


class Tally(NamedTuple):
    """What is filed of a room."""

    room: Room
    facts: int
    open: int
    high: int
    """How many of those open are of high weight."""
    photos: int
    last: datetime | None


@contextmanager
def opened(root: Path) -> Iterator[sqlite3.Connection]:
    """The book of the job in `root`, for reading. Raises BookError where it can't be read."""
    file = root / book.NAME
    if not file.exists():
        raise BookError("the job has no book yet", file=file, todo="take something first: voidbook take PATH")
    with book.worded(file), closing(_connect(file)) as db:
        db.row_factory = sqlite3.Row
        if book.check_version(db, file) == 0:
            raise BookError("the job has no book yet", file=file, todo="take something first: voidbook take PATH")
        yield db


def _connect(file: Path) -> sqlite3.Connection:
    uri = file.absolute().as_uri()
    db = sqlite3.connect(f"{uri}?mode=ro", uri=True, timeout=book.PATIENCE, isolation_level=None)
    try:
        db.execute("SELECT 1 FROM sqlite_master").fetchone()
    except sqlite3.OperationalError:
        # in a folder without rights SQLite can't make the files that WAL needs; with none there, the book is whole
        db.close()
        if file.with_name(f"{file.name}-wal").exists():
            raise
        return sqlite3.connect(f"{uri}?immutable=1", uri=True, isolation_level=None)
    return db


# --- facts


def said(
    db: sqlite3.Connection, *, room: str | None = None, day: str | None = None, since: str | None = None,
    after: int = 0,
) -> Iterator[Said]:  # fmt: skip
    """Facts in the order they were said. `day` and `since` are local dates, YYYY-MM-DD; `after` a row of memos."""
    wanted: dict[str, str | int | None] = {"facts.room = ?": room, "substr(memos.at, 1, 10) = ?": day}
    wanted |= {"memos.at >= ?": since, "memos.row > ?": after or None}
    where, values = _where(wanted)
    sql = f"""
        SELECT facts.*, memos.at, memos.speaker, memos.at_sure FROM facts JOIN memos ON memos.id = facts.memo
        WHERE {where} ORDER BY memos.moment, memos.row, facts.n"""
    for row in db.execute(sql, values):
        yield Said(rows.fact(row), datetime.fromisoformat(row["at"]), row["speaker"], bool(row["at_sure"]))


def _where(wanted: dict[str, Any]) -> tuple[str, list[Any]]:
    given = {condition: value for condition, value in wanted.items() if value is not None}
    return " AND ".join(given) or "1", list(given.values())


def of_memo(db: sqlite3.Connection, memo: str) -> tuple[Fact, ...]:
    """The facts of one memo."""
    return tuple(rows.fact(row) for row in db.execute("SELECT * FROM facts WHERE memo = ? ORDER BY n", (memo,)))


def beginning(db: sqlite3.Connection, key: str) -> Fact | None:
    """The fact that the run of this key begins with; None where it is there no more."""
    for mark in re.finditer(r":(\d{1,9})(?=:|$)", key):
        row = db.execute("SELECT * FROM facts WHERE memo = ? AND n = ?", (key[: mark.start()], int(mark[1]))).fetchone()
        if row:
            return rows.fact(row)
    return None


def for_runs(db: sqlite3.Connection, rooms: Iterable[str] = (), subjects: Iterable[str] = ()) -> list[Fact]:
    """The facts that runs of these rooms and services (all, where none are named) are joined from.

    What was said of everything or of no room may concern every run.
    """
    return concerning.facts(db, list(rooms), list(subjects))


def times(db: sqlite3.Connection, facts: Iterable[Fact] | None = None) -> dict[str, datetime]:
    """When each memo (where `facts` are given, each that one of them was said in) was said, in that order."""
    found = db.execute(_TIMES) if facts is None else concerning.memos(db, facts, "id, at")
    return {row["id"]: datetime.fromisoformat(row["at"]) for row in found}


_TIMES = "SELECT id, at FROM memos ORDER BY moment, row"


# --- follow-ups, rooms, memos, problems


def followups(db: sqlite3.Connection, *, room: str | None = None, closed: bool = False) -> list[FollowUp]:
    """Follow-ups, worst first, then the oldest; closed ones only where wanted, last."""
    where, values = _where({"room = ?": room})
    only_open = "" if closed else "AND closed_at IS NULL AND closed_by IS NULL"
    sql = f"""
        SELECT * FROM followups WHERE {where} {only_open}
        ORDER BY closed_by IS NOT NULL, {_BY_SEVERITY}, since, id"""
    return [rows.followup(row) for row in db.execute(sql, values)]


_BY_SEVERITY = "CASE severity WHEN 'high' THEN 0 WHEN 'medium' THEN 1 WHEN 'low' THEN 2 ELSE 3 END"


def followup(db: sqlite3.Connection, id: int) -> FollowUp:
    """One follow-up by its number. Raises UsageError where there is none."""
    row = db.execute("SELECT * FROM followups WHERE id = ?", (id,)).fetchone()
    if row is None:
        raise UsageError(f"no follow-up has the number {id}", todo="see the numbers with: voidbook followups --all")
    return rows.followup(row)


def tallies(db: sqlite3.Connection, job: Job) -> list[Tally]:
    """The job's rooms in the order of job.toml with what is filed of each; then rooms that facts name besides."""
    counts = {r["room"]: r for r in db.execute(_COUNTS)}
    still_open = _counted(db, f"SELECT room FROM followups WHERE {_OPEN}")
    high = _counted(db, f"SELECT room FROM followups WHERE {_OPEN} AND severity = 'high'")
    photos = _counted(db, "SELECT room FROM photos")
    others = [Room(name) for name in sorted(name for name in counts if name) if name not in {r.name for r in job.rooms}]
    return [
        Tally(room, row["facts"] if row else 0, still_open[room.name], high[room.name], photos[room.name], _time(row))
        for room in (*job.rooms, *others)
        for row in [counts.get(room.name)]
    ]


_OPEN = "closed_at IS NULL AND closed_by IS NULL"
_COUNTS = """
SELECT room, count(*) AS facts, max(memos.moment), memos.at AS last
FROM facts JOIN memos ON memos.id = facts.memo GROUP BY room
"""


def _counted(db: sqlite3.Connection, sql: str) -> Counter[str | None]:
    return Counter(row["room"] for row in db.execute(sql))


def _time(row: sqlite3.Row | None) -> datetime | None:
    return datetime.fromisoformat(row["last"]) if row else None


def memo(db: sqlite3.Connection, id: str) -> Memo:
    """One memo with its words. Raises UsageError with the nearest id."""
    row = db.execute("SELECT * FROM memos WHERE id = ? COLLATE NOCASE ORDER BY id = ? DESC", (id, id)).fetchone()
    if row is None:
        from notes.job import near

        close = near(id, (r["id"] for r in db.execute("SELECT id FROM memos")))
        todo = f"did you mean {close!r}?" if close else "see them with: voidbook log"
        raise UsageError(f"no memo is called {id!r}", todo=todo)
    return rows.memo(row)


def photos(db: sqlite3.Connection, memo: str) -> list[Photo]:
    """The photos linked to a memo."""
    found = db.execute("SELECT * FROM photos WHERE memo = ? ORDER BY moment, row", (memo,))
    return [rows.photo(row) for row in found]


def problems(db: sqlite3.Connection) -> list[sqlite3.Row]:
    """Files that could not be filed: path, line (0 for the whole file), reason, at."""
    return db.execute("SELECT * FROM problems ORDER BY at, path, line").fetchall()


# --- find


def find(
    db: sqlite3.Connection, words: str, lexicon: Lexicon, *, limit: int = 50, typing: bool = False
) -> tuple[list[Found], bool]:
    """Memos that have all of `words` in any of the trade's ways, best first; where none has all, those that have
    some. What is a fact of the room and service that are named comes before what only mentions them. Where very many
    have a word, the newest first. The second value tells whether all were met."""
    asked = query.ways(words, lexicon)
    groups = query.groups(asked, words, typing=typing)
    for any_of in (False, True):
        met = hits.meeting(db, groups, any_of, limit, MARKS)
        if met.snippets or met.facts:
            rows_ = {*met.snippets, *met.facts}
            found = sorted(rows_, reverse=True) if met.newest else _alternating(met.snippets, met.facts)
            best = sorted(dict.fromkeys(found), key=lambda row: -_of_what(asked, met.facts.get(row, ())))
            return [_one(db, row, met) for row in best[:limit]], not any_of
    return [], True


def _of_what(asked: Iterable[query.Ways], facts: Iterable[Fact]) -> int:
    return max((query.of_what(asked, fact.subject, fact.room) for fact in facts), default=0)


def pictured(db: sqlite3.Connection, words: str, lexicon: Lexicon, *, limit: int = 20) -> list[tuple[Photo, str]]:
    """Photos whose caption, or what is written in the picture, has all of `words`; each with what is written in it."""
    expression = query.expression(words, lexicon)
    # a book that no writer has opened since has no such index yet
    ready = db.execute("SELECT 1 FROM sqlite_master WHERE name = 'photos_fts'").fetchone()
    if expression is None or not ready:
        return []
    return [(rows.photo(row), row["seen"]) for row in db.execute(_IN_PHOTOS, (expression, limit))]


_IN_PHOTOS = """
SELECT photos.* FROM photos_fts JOIN photos ON photos.row = photos_fts.rowid
WHERE photos_fts MATCH ? ORDER BY photos_fts.rank LIMIT ?
"""


def _alternating(first: Iterable[int], second: Iterable[int]) -> Iterator[int]:
    """Two rankings that can't be compared, one from each in turn; those in both rankings before all."""
    a, b = list(first), list(second)
    yield from (row for row in a if row in set(b))
    for n in range(max(len(a), len(b))):
        yield from (*a[n : n + 1], *b[n : n + 1])


def _one(db: sqlite3.Connection, row: int, met: hits.Hits) -> Found:
    memo = db.execute("SELECT id, at, speaker FROM memos WHERE row = ?", (row,)).fetchone()
    facts = sorted(met.facts.get(row, ()), key=lambda fact: fact.n)
    shown = met.snippets.get(row) or f"…{MARKS[0]}{facts[0].quote}{MARKS[1]}…"
    return Found(memo["id"], datetime.fromisoformat(memo["at"]), memo["speaker"], shown, tuple(facts))
