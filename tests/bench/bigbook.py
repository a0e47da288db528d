"""A book of any size, its rows written as the product writes them: python tests/bench/bigbook.py DIR [FACTS]

Reading a million facts with the language library would take an hour: sentences are read once each, and memos are put
together from them. All else is the product's: rows, JSON, full-text triggers, follow-ups. tests/bench/books.py holds
the size of such a book against one that was really filed.
"""

from __future__ import annotations

import hashlib
import json
import random
import sqlite3
import sys
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parent)]

import site_talk  # noqa: E402

from notes import book, derive, job, ledger, rows, short, timed, transcribe  # noqa: E402
from notes.decisions import Decision, Kind  # noqa: E402
from notes.filing import NewMemo  # noqa: E402
from notes.model import Fact, Job, Memo  # noqa: E402
from notes.reading import Carry, Reading  # noqa: E402
from notes.transcribe import Settings  # noqa: E402

FACTS_A_MEMO = 10
FACTS_A_ROOM = 250
MEMOS_A_DAY = 120
AT_WORK = 24
"""Rooms that are worked in at a time."""
_BATCH = 500


@dataclass(frozen=True, slots=True)
class Heard:
    """One dictation: the memo with what the reader finds in it. `packed` are its words as the book has them."""

    new: NewMemo
    reading: Reading
    packed: str


def a_job(facts: int) -> Job:
    """A job with as many rooms as so many facts are said of."""
    crew = tuple(f"Mate {n}" for n in range(1, 13))
    return Job("A large block of flats", site_talk.rooms(max(4, facts // FACTS_A_ROOM)), crew=crew)


def make(root: Path, facts: int = 100_000, seed: int = 7) -> Job:
    """A job in `root` with so many facts, follow-ups worked out, some photos and decisions."""
    made = a_job(facts)
    job.create(root, made)
    with book.opened(root) as db:
        db.executescript("PRAGMA synchronous = OFF; PRAGMA cache_size = -400000")  # it may be lost with the power
        for batch in _batches(dictations(made, facts, seed), _BATCH):
            with book.write(db):
                for heard in batch:
                    _file(db, heard)
        check(db, made)
        with book.write(db):
            _decide(db)
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return made


def dictations(made: Job, facts: int, seed: int = 7) -> Iterator[Heard]:
    """What is said on the job, until there are so many facts."""
    chance = random.Random(seed)
    pool = [(body, _fragment(body)) for body in site_talk.bodies(max(100, min(6000, facts // 20)))]
    carry, done, row = Carry(), 0, 0
    while done < facts:
        row += 1
        room = _room(made, done / facts, chance)
        heard = _heard(row, *chance.choice(pool), room, carry, chance)
        carry, done = heard.reading.after, done + len(heard.reading.facts)
        yield heard


def _room(made: Job, share: float, chance: random.Random) -> str | None:
    """Mostly one of those at work, which move through the house; sometimes any; now and then none is named."""
    if chance.random() < 0.005:
        return None
    first = int(share * max(1, len(made.rooms) - AT_WORK))
    at_work = made.rooms[first : first + AT_WORK]
    return chance.choice(at_work if chance.random() < 0.9 else made.rooms).name


_OPENING = 3.0
"""Seconds until the second sentence, so that what comes then is put into JSON once however often it is said."""


def _fragment(body: site_talk.Body) -> str:
    """The words of a body in JSON; their places follow from the text that they stand in."""
    words = site_talk.later(body.words, 0, _OPENING)
    return json.dumps(timed.packed(words, body.text)["words"], separators=(",", ":"))[1:-1]


def _heard(
    row: int, body: site_talk.Body, packed: str, room: str | None, before: Carry, chance: random.Random
) -> Heard:
    day, nth = divmod(row - 1, MEMOS_A_DAY)
    at = site_talk.AT + timedelta(days=day, seconds=300 * nth + chance.randrange(240))
    opening = f"I'm in {room.lower()} now." if room else "Right, where was I."
    text, first = f"{opening} {body.text}", list(site_talk.spoken(opening, chance))
    before_it = json.dumps(timed.packed(first, opening)["words"], separators=(",", ":"))[1:-1]
    words = f'{{"crc":{zlib.crc32(text.encode())},"words":[{before_it},{packed}]}}'
    sha = hashlib.sha256(str(row).encode()).hexdigest()
    seconds = round(_OPENING + (body.words[-1].until or 0) + 0.8, 3)
    memo = Memo(f"{at:%Y%m%d-%H%M%S}", at, f"Mate {chance.randint(1, 12)}", text, text, (), seconds, order=row)
    facts = tuple(_said(f, memo.id, room, len(opening) + 1) for f in body.facts)
    after = site_talk.carried(before, body, room, memo.speaker or "")
    new = NewMemo(memo, sha, "name", sha, transcribe.cache_key(sha, _MODEL, _SETTINGS))
    return Heard(new, Reading(memo, facts, after), words)


def _said(fact: Fact, memo: str, room: str | None, behind: int) -> Fact:
    return replace(fact, memo=memo, room=room, start=fact.start + behind, end=fact.end + behind)


_MODEL = "base.en " + hashlib.sha256(b"weights").hexdigest()[:12]
_SETTINGS = Settings(
    hotwords="I've run the flow and return in sixteen multilayer, capped it at the joists and lagged it. I was in the "
    + ", the ".join(room.name.lower() for room in site_talk.rooms(20)) + ".",
    library="faster-whisper 1.2.1 ctranslate2 4.8.5 av 18.1.0",
)  # fmt: skip
_SETTINGS_TOLD = asdict(_SETTINGS)


# --- into the book


def _file(db: sqlite3.Connection, heard: Heard) -> None:
    """The rows that `filing` writes of a recording; a test holds them against those of one that was really filed."""
    memo, read = heard.new.memo, heard.reading
    keep_recording(db, heard)
    told = {"text": memo.text, "words": short.short(heard.packed), "said": rows.facts_json(read.facts)}
    kept = {"row": memo.order, "digest": heard.new.digest, "media": heard.new.media, "at_source": heard.new.at_source}
    carry = {"transcript": heard.new.transcript, "carry": short.short(read.after.to_json())}
    _put(db, "memos", {**rows.new_memo_row(memo), **told, **kept, **carry})
    values = [rows.fact_row(fact) for fact in read.facts]
    if values:
        marks = ", ".join(f":{name}" for name in values[0])
        db.executemany(f"INSERT INTO facts ({rows.columns(values[0])}) VALUES ({marks})", values)
    if memo.order % 4 == 0:
        _put(db, "photos", _photo_row(memo, read))


def keep_recording(db: sqlite3.Connection, heard: Heard) -> None:
    """The rows of a recording and of its transcript."""
    memo, sha = heard.new.memo, heard.new.media
    made = memo.at.isoformat(timespec="seconds")
    _put(db, "media", {"sha": sha, "kind": "recording", "name": f"{memo.id}.m4a", "size": 400_000, "filed_at": made})
    head = {"text": memo.raw, "seconds": memo.seconds, "model": _MODEL, "settings": _SETTINGS_TOLD}
    told = f"{json.dumps(head, ensure_ascii=False, separators=(',', ':'))[:-1]},{heard.packed[1:]}"
    key = heard.new.transcript
    _put(db, "transcripts", {"key": key, "media": sha, "transcript": short.short(told), "made_at": made})


def _photo_row(memo: Memo, read: Reading) -> dict[str, object]:
    sha = hashlib.sha256(f"photo {memo.order}".encode()).hexdigest()
    when = {"moment": memo.at.timestamp(), "at": memo.at.isoformat(), "at_source": "exif", "at_sure": True}
    kept = {"id": f"IMG_{memo.order:06}", "digest": sha, "memo": memo.id, "taker": memo.speaker}
    room = read.facts[0].room if read.facts else None
    look = {"sharp": True, "sharpness": 812.5, "brightness": 118.25, "burnt": 0.01, "phash": sha[:16]}
    return {**kept, **when, **look, "room": room, "caption": "tails", "sure": room is not None, "seen": ""}


def check(db: sqlite3.Connection, made: Job) -> None:
    """The follow-ups of all rooms, a few hundred rooms at a time."""
    found = [row[0] for row in db.execute("SELECT DISTINCT room FROM facts ORDER BY room")]
    for batch in _batches(found, 200):
        with book.write(db):
            derive.refresh(db, made, frozenset(batch))


def _decide(db: sqlite3.Connection) -> None:
    """One open follow-up in forty is closed by a person."""
    sql = "SELECT * FROM followups WHERE closed_at IS NULL AND id % 40 = 0"
    for row in db.execute(sql).fetchall():
        item = rows.followup(row)
        about = {"check": item.check, "room": item.room, "subject": item.subject, "quote": item.quote}
        ledger.append(db, Decision(Kind.CLOSE, "Mate 1", item.since, item.memo, about, {"why": "seen to"}))
        values = ("Mate 1: seen to", item.since.isoformat(), item.id)
        db.execute("UPDATE followups SET closed_by = ?, closed_at = ? WHERE id = ?", values)


def _batches(items: Iterable[Any], size: int) -> Iterator[list[Any]]:
    held: list[Any] = []
    for item in items:
        held.append(item)
        if len(held) == size:
            yield held
            held = []
    if held:
        yield held


def _put(db: sqlite3.Connection, table: str, row: dict[str, object]) -> None:
    marks = ", ".join(f":{name}" for name in row)
    db.execute(f"INSERT INTO {table} ({rows.columns(row)}) VALUES ({marks})", row)


if __name__ == "__main__":
    make(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 100_000)
