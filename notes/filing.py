"""Memos into the book: read in the order they were said, decisions replayed over them, what follows derived.

A memo takes its room and subjects from the one before it in time. So a memo that arrives late may change how the next
ones begin: those are read again, as far as the difference carries.
"""

from __future__ import annotations

import heapq
import sqlite3
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

from notes import book, chain, decisions, derive, ledger, photos, points, rows, short
from notes.chain import Link, in_time
from notes.decisions import Decision
from notes.lexicon import Lexicon
from notes.lexicon import load as load_lexicon
from notes.model import Fact, Job, Memo, Word
from notes.photos import NewPhoto
from notes.reading import Carry, Reading, read
from notes.rewording import reworded

Reader = Callable[[Memo, Lexicon, Carry], Reading]
"""Whoever reads memos as `reading.read` does."""


@dataclass(frozen=True, slots=True)
class NewMemo:
    """A memo on its way into the book, as heard or typed. `digest` tells it from every other one."""

    memo: Memo
    digest: str
    at_source: str
    media: str
    transcript: str | None = None
    photos: tuple[NewPhoto, ...] = ()


def file_memos(
    db: sqlite3.Connection, job: Job, new: Sequence[NewMemo], also: Callable[[], None], reader: Reader = read
) -> list[str]:
    """Read and file new memos and do what is `also` to be done, all or none; the ids they got.

    Those filed before (by digest) are left out.
    """
    return _Round(db, job, reader).run(new, (), also)


def file_photo(db: sqlite3.Connection, job: Job, new: NewPhoto) -> str | None:
    """File a photo and link it, inside the caller's transaction; its id, None where it was filed before."""
    id = photos.insert(db, new)
    rows_ = db.execute("SELECT * FROM photos WHERE id = ?", (id,)).fetchall()
    derive.refresh(db, job, frozenset(photos.link(db, load_lexicon(job), rows_)))
    return id


def place_again(db: sqlite3.Connection, job: Job, digest: str) -> None:
    """Link one photo again after a decision on it, inside the caller's transaction."""
    found = db.execute("SELECT * FROM photos WHERE digest = ?", (digest,)).fetchall()
    derive.refresh(db, job, frozenset(photos.link(db, load_lexicon(job), found)))


def read_again(db: sqlite3.Connection, job: Job, only: Collection[str] | None = None) -> list[str]:
    """Read these memos (all, where none are named) by the rules and words of today; the ids whose facts changed."""
    return _Round(db, job).run((), _ids(db) if only is None else only)


def read_inside(db: sqlite3.Connection, job: Job, memo: str) -> None:
    """Read a memo again, and those whose beginning that changes, inside the caller's transaction."""
    _Round(db, job).again({memo})


def read_all_inside(db: sqlite3.Connection, job: Job) -> None:
    """Read all memos again, inside the caller's transaction."""
    _Round(db, job).again(_ids(db))


def _ids(db: sqlite3.Connection) -> set[str]:
    return {row["id"] for row in db.execute("SELECT id FROM memos")}


def unfile(db: sqlite3.Connection, job: Job, memo: str) -> None:
    """Take a memo out of the book, and read those again that began with it, inside the caller's transaction."""
    later = db.execute(_NEXT, (memo,)).fetchone()
    rooms = derive.rooms_of(db, derive.facts(db, "memo = ?", (memo,)))
    near = [row["row"] for row in db.execute("SELECT row FROM photos WHERE memo = ?", (memo,))]
    db.execute("DELETE FROM memos WHERE id = ?", (memo,))
    if later:
        _Round(db, job).again({later["id"]})
    marks = ", ".join("?" * len(near))
    beside = db.execute(f"SELECT * FROM photos WHERE row IN ({marks})", near).fetchall()
    moved = photos.link(db, load_lexicon(job), beside)
    derive.refresh(db, job, derive.joined(rooms, moved))


_NEXT = """
SELECT later.id FROM memos AS later JOIN memos AS gone ON gone.id = ?
WHERE (later.moment, later.row) > (gone.moment, gone.row) ORDER BY later.moment, later.row LIMIT 1
"""


def relink(db: sqlite3.Connection, job: Job, memos: Sequence[str]) -> set[str | None]:
    """Link again the photos that these memos may concern; the rooms that got or lost one."""
    return photos.link_near(db, load_lexicon(job), memos)


def lost(db: sqlite3.Connection) -> list[Decision]:
    """Decisions on facts that find no fact any more; they are kept, in case a later reading brings it back."""
    said = {row["id"]: row["said"] for row in db.execute(_DECIDED)}
    return [
        decision
        for memo, facts in said.items()
        for decision in decisions.settle(rows.facts_from(facts), ledger.of_memo(db, memo)).lost
    ]


_DECIDED = "SELECT id, said FROM memos WHERE id IN (SELECT memo FROM decisions) ORDER BY moment, row"


@dataclass(frozen=True, slots=True)
class _Plan:
    """Readings to be stored, by row, and the new memos among them."""

    readings: dict[int, Reading]
    new: dict[int, NewMemo]


class _Round:
    """One pass over the memos in time order: planned outside the lock, since reading takes long, stored inside."""

    def __init__(self, db: sqlite3.Connection, job: Job, reader: Reader = read) -> None:
        self.db, self.job, self.lexicon, self.reader = db, job, load_lexicon(job), reader

    def run(self, new: Sequence[NewMemo], again: Collection[str], also: Callable[[], None] = lambda: None) -> list[str]:
        seen = self._version()
        plan = self._plan(new, again)
        with book.write(self.db):
            if self._version() != seen:  # another program filed or decided something meanwhile
                plan = self._plan(new, again)
            points.reach("take read")
            also()
            return self._store(plan)

    def again(self, only: Collection[str]) -> None:
        """Read these memos again, and those whose beginning that changes, inside the caller's transaction."""
        self._store(self._plan((), only))

    def _version(self) -> int:
        return int(self.db.execute("PRAGMA data_version").fetchone()[0])

    def _plan(self, new: Sequence[NewMemo], again: Collection[str]) -> _Plan:
        fresh = self._placed(new)
        first = sorted((Link(row, n.memo.at.timestamp(), None, must=True) for row, n in fresh.items()), key=in_time)
        old = chain.named(self.db, again)
        must = sorted(first + old, key=in_time)
        readings: dict[int, Reading] = {}

        def read_one(link: Link, before: str) -> str:
            memo = fresh[link.row].memo if link.row in fresh else self._heard(link.row)
            readings[link.row] = self.reader(memo, self.lexicon, Carry.from_json(before))
            return readings[link.row].after.to_json()

        if must:
            later = heapq.merge(chain.later(self.db, must[0], {link.row for link in old}), first, key=in_time)
            chain.follow(later, chain.before(self.db, must[0]), read_one, len(must))
        return _Plan(readings, fresh)

    def _placed(self, new: Sequence[NewMemo]) -> dict[int, NewMemo]:
        """New memos by the row they will have, with ids of their own; not those filed before."""
        row = self.db.execute("SELECT max(row) FROM memos").fetchone()[0] or 0
        ids, digests = _Known(self.db, "id"), _Known(self.db, "digest")
        placed: dict[int, NewMemo] = {}
        for item in new:
            if item.digest not in digests:
                row += 1
                memo = replace(item.memo, id=rows.free_id(item.memo.id, ids), order=row)
                placed[row] = replace(item, memo=memo)
                ids.new.add(memo.id)
                digests.new.add(item.digest)
        return placed

    def _heard(self, row: int) -> Memo:
        """A memo of the book as it was heard, with the words that people put right."""
        found = self.db.execute(_HEARD, (row,)).fetchone()
        words = heard_words(found["transcript"]) if found["transcript"] else ()
        memo = replace(rows.memo(found), text=found["raw"], words=words)
        return reworded(memo, ledger.of_memo(self.db, memo.id))

    def _rewords(self, row: int, reading: Reading) -> bool:
        """Whether other words stand there than before: how many photos they tell of is no fact."""
        was = self.db.execute("SELECT text FROM memos WHERE row = ?", (row,)).fetchone()
        return was is not None and was["text"] != reading.memo.text

    def _store(self, plan: _Plan) -> list[str]:
        touched: set[Fact] = set()
        changed: list[str] = []
        heard: list[str] = []
        for row, reading in plan.readings.items():
            id = reading.memo.id
            heard += [id] if self._rewords(row, reading) else []
            _put_memo(self.db, row, reading, plan.new.get(row))
            difference = derive.settle(self.db, id)
            touched |= difference
            changed += [id] if difference or row in plan.new else []
        moved = photos.link_near(self.db, self.lexicon, dict.fromkeys([*changed, *heard]))
        derive.refresh(self.db, self.job, derive.joined(derive.rooms_of(self.db, touched), moved))
        return [item.memo.id for item in plan.new.values()] if plan.new else changed


class _Known:
    """What memos have in a column, asked one by one: to read all for each take would take longer with every memo."""

    def __init__(self, db: sqlite3.Connection, column: str) -> None:
        self._db, self._sql = db, f"SELECT 1 FROM memos WHERE {column} = ?"
        self.new: set[str] = set()

    def __contains__(self, value: object) -> bool:
        return value in self.new or self._db.execute(self._sql, (value,)).fetchone() is not None


_HEARD = """
SELECT memos.row, id, at, at_sure, speaker, raw, text, seconds, transcripts.transcript
FROM memos LEFT JOIN transcripts ON transcripts.key = memos.transcript WHERE row = ?
"""


def heard_words(transcript: str | bytes) -> tuple[Word, ...]:
    """The words of a transcript of the book."""
    from notes.transcribe import from_json

    return from_json(transcript).words


def _put_memo(db: sqlite3.Connection, row: int, reading: Reading, new: NewMemo | None) -> None:
    memo = reading.memo
    read = {
        "row": row,
        "text": memo.text,
        "words": rows.words_json(memo.words, memo.text),
        "said": rows.facts_json(reading.facts),
        "carry": short.short(reading.after.to_json()),
    }
    if new is None:
        db.execute("UPDATE memos SET text = :text, words = :words, said = :said, carry = :carry WHERE row = :row", read)
        return
    read |= rows.new_memo_row(new.memo) | {
        "digest": new.digest, "media": new.media, "transcript": new.transcript, "at_source": new.at_source,
    }  # fmt: skip
    db.execute(f"INSERT INTO memos ({rows.columns(read)}) VALUES ({', '.join(':' + name for name in read)})", read)
    for photo in new.photos:
        photos.insert(db, replace(photo, photo=photo.photo._replace(memo=memo.id)))
