"""A large book, written straight through the book's own helpers: python tests/bench/bigbook.py DIR [FACTS]"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from notes import book, job, rows
from notes.model import ACTIONS, PIPES, Fact, FollowUp, Job, Memo, Photo, Room, Severity, Status, Word
from notes.reading import Carry

ROOMS = tuple(Room(f"Flat {n} {what}", f"Floor {n // 4}") for n in range(12) for what in ("kitchen", "bathroom"))
FACTS_A_MEMO = 5
MEMOS_A_DAY = 80
START = datetime(2025, 1, 6, 7, 30, tzinfo=UTC)
_SIZES = (15.0, 22.0, 28.0, None)
_PLACES = ("behind the basin", "under the bath", "in the riser", "over the window", None)


def make(root: Path, facts: int = 100_000, seed: int = 7) -> Job:
    """A job in `root` with so many facts, a fifth as many memos, a follow-up for every twelfth fact, some photos."""
    made = Job("A large block of flats", ROOMS, crew=("A", "B", "C"))
    job.create(root, made)
    chance = random.Random(seed)
    with book.opened(root) as db, book.write(db):
        db.execute("INSERT INTO media VALUES ('0', 'memos', 'memos.jsonl', 1, '2025')")
        for row in range(1, facts // FACTS_A_MEMO + 1):
            memo, said = _memo(row, chance)
            _put(db, "memos", _memo_row(memo, said))
            for fact in said:
                _put(db, "facts", rows.fact_row(fact))
            for n, item in enumerate(_followups(memo, said, chance)):
                _put(db, "followups", {"key": f"{memo.id}|{n}", **rows.followup_row(item)})
            if row % 10 == 0:
                _put(db, "photos", _photo_row(row, memo, said[0].room))
    return made


def _memo(row: int, chance: random.Random) -> tuple[Memo, list[Fact]]:
    day, nth = divmod(row - 1, MEMOS_A_DAY)
    at = START + timedelta(days=day, minutes=7 * nth)
    facts, text = [], ""
    room = chance.choice(ROOMS).name
    for n in range(FACTS_A_MEMO):
        fact = _fact(f"d{row:05}", n, room, chance)
        start = len(text) + (1 if text else 0)
        text = f"{text} {fact.quote}".strip()
        facts.append(_placed(fact, start))
    return Memo(f"d{row:05}", at, chance.choice("ABC"), text, text, tuple(_words(text)), 40.0, order=row), facts


def _fact(memo: str, n: int, room: str, chance: random.Random) -> Fact:
    subject, action, size = chance.choice(PIPES), chance.choice(ACTIONS), chance.choice(_SIZES)
    place = chance.choice(_PLACES)
    quote = " ".join(
        w for w in ("I did the", subject, action, f"{size:g} mil" if size else "", place or "", "today.") if w
    )
    state = chance.choice(list(Status))
    return Fact(memo, n, room, subject, action, state, quote, 0, 0, size_mm=size, material="copper", place=place)


def _placed(fact: Fact, start: int) -> Fact:
    from dataclasses import replace

    return replace(fact, start=start, end=start + len(fact.quote), second=float(start // 15))


def _words(text: str) -> Iterator[Word]:
    here = 0
    for word in text.split():
        start = text.index(word, here)
        here = start + len(word)
        yield Word(word, start, here, start / 15, here / 15, 0.4 if len(word) == 7 else 0.9)


def _memo_row(memo: Memo, said: list[Fact]) -> dict[str, object]:
    read = {"text": memo.text, "words": rows.words_json(memo.words), "said": rows.facts_json(said)}
    kept = {"row": memo.order, "digest": memo.id, "media": "0", "transcript": None, "at_source": "told"}
    return {**rows.new_memo_row(memo), **read, **kept, "carry": Carry().to_json()}


def _photo_row(row: int, memo: Memo, room: str | None) -> dict[str, object]:
    photo = Photo(f"p{row}", memo.at, room, memo.id, "tails")
    when = {"moment": memo.at.timestamp(), "at": memo.at.isoformat(), "at_source": "told", "at_sure": True}
    kept = {"id": photo.id, "digest": photo.id, "media": None, "told_memo": None, "memo": memo.id, "room": room}
    return {**kept, **when, "caption": photo.caption, "sure": True, "sharp": True}


def _followups(memo: Memo, said: list[Fact], chance: random.Random) -> Iterator[FollowUp]:
    for fact in said:
        if chance.random() < 1 / 12:
            severity = chance.choice(list(Severity))
            title = f"{fact.subject} left open"
            what = (fact.room, fact.subject, memo.id, title, severity, memo.at, fact.quote, fact.second)
            yield FollowUp("left-open", *what, closes="Word that it is capped.", facts=(fact,))


def _put(db: object, table: str, row: dict[str, object]) -> None:
    marks = ", ".join(f":{name}" for name in row)
    db.execute(f"INSERT INTO {table} ({rows.columns(row)}) VALUES ({marks})", row)  # type: ignore[attr-defined]


if __name__ == "__main__":
    make(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 100_000)
