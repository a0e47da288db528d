"""Values to rows of the book and back. Pure."""

from __future__ import annotations

import json
from collections.abc import Container, Iterable, Mapping
from dataclasses import fields
from datetime import datetime
from itertools import count
from typing import Any

from notes import short, timed
from notes.model import Fact, FollowUp, Memo, Photo, Severity, Status, Word
from notes.quality import Look

FACT = tuple(f.name for f in fields(Fact) if f.name != "id")
FOLLOWUP = tuple(f.name for f in fields(FollowUp) if f.name != "id")
_FLAGS = frozenset(f.name for f in fields(Fact) if f.type == "bool")

Row = Mapping[str, Any]


def columns(names: Iterable[str], table: str = "") -> str:
    """Column names quoted for SQL: some of the trade's words are SQL's too (to, from, check, limit)."""
    return ", ".join(f'{table}."{name}"' if table else f'"{name}"' for name in names)


def free_id(wanted: str, taken: Container[str]) -> str:
    """`wanted`, or with the first number behind it that makes it new."""
    return next(id for n in count(1) if (id := wanted if n == 1 else f"{wanted}-{n}") not in taken)


def fact_row(fact: Fact) -> dict[str, Any]:
    """The columns of `facts`, with the words that a search finds it by."""
    row = {name: getattr(fact, name) for name in FACT}
    return row | {"status": fact.status.value, "doubts": json.dumps(fact.doubts), "words": fact_words(fact)}


def fact_words(fact: Fact) -> str:
    """What a fact can be found by: the trade's one word for each thing in it, and the words that were said."""
    sizes = (f"{size:g} mm" for size in (fact.size_mm, fact.to_size_mm) if size is not None)
    parts = (fact.subject, fact.action, fact.status.value, fact.room, *sizes, fact.material)
    return " ".join(p for p in (*parts, fact.place, fact.from_, fact.to, fact.quote) if p)


def fact(row: Row) -> Fact:
    """The fact in a row of `facts`."""
    values = {name: row[name] for name in FACT}
    values |= {name: bool(values[name]) for name in _FLAGS}
    values |= {"status": Status(values["status"]), "doubts": tuple(json.loads(values["doubts"]))}
    return Fact(**values, id=row["id"])


def fact_json(fact: Fact) -> dict[str, Any]:
    """A fact as listings print it, in the words of the trade: `from` and `to`, whole numbers without a point."""
    values = {name.strip("_"): _plain(getattr(fact, name)) for name in FACT if name not in ("start", "end")}
    return {"memo": fact.memo, **values, "start": fact.start, "end": fact.end, "id": fact.id}


def _plain(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value.is_integer() else value


def followup_json(item: FollowUp) -> dict[str, Any]:
    """A follow-up as listings print it."""
    values = {name: getattr(item, name) for name in FOLLOWUP if name != "facts"}
    return values | {name: _iso(values[name]) for name in ("since", "closed_at")} | {"id": item.id}


def facts_json(facts: Iterable[Fact]) -> bytes:
    """Facts as short text, leaving out what is empty: most fields of most facts are."""
    return short.short(json.dumps([_said(f) for f in facts], ensure_ascii=False, separators=(",", ":")))


def _said(fact: Fact) -> dict[str, Any]:
    values = ((name, getattr(fact, name)) for name in FACT)
    return {name: value for name, value in values if not (value is None or value is False or value == ())}


def facts_from(kept: str | bytes) -> tuple[Fact, ...]:
    """The facts that `facts_json` wrote."""
    return tuple(
        Fact(**{**f, "room": f.get("room"), "status": Status(f["status"]), "doubts": tuple(f.get("doubts", ()))})
        for f in json.loads(short.full(kept))
    )


def words_json(words: Iterable[Word], text: str) -> bytes:
    """The words of `text` as short JSON."""
    return short.short(json.dumps(timed.packed(words, text), ensure_ascii=False, separators=(",", ":")))


def words_from(kept: str | bytes, text: str) -> tuple[Word, ...]:
    """The words of `text` that `words_json` wrote, or a book of before, which had a list of all that a word has."""
    data = json.loads(short.full(kept))
    return tuple(Word(*row) for row in data) if isinstance(data, list) else timed.unpacked(data, text)


def memo(row: Row) -> Memo:
    """The memo in a row of `memos`, as it was read; its words only where the row has them."""
    words = words_from(row["words"], row["text"]) if "words" in row.keys() else ()  # noqa: SIM118 - a Row is no dict
    at = datetime.fromisoformat(row["at"])
    return Memo(
        row["id"], at, row["speaker"], row["text"], row["raw"], words, row["seconds"], bool(row["at_sure"]), row["row"]
    )


def new_memo_row(memo: Memo) -> dict[str, Any]:
    """The columns of `memos` that never change."""
    when = {"moment": memo.at.timestamp(), "at": memo.at.isoformat(), "at_sure": memo.sure_of_time}
    return when | {"id": memo.id, "speaker": memo.speaker, "raw": memo.raw, "seconds": memo.seconds}


def photo(row: Row) -> Photo:
    """The photo in a row of `photos`."""
    at = datetime.fromisoformat(row["at"])
    flags = bool(row["sure"]), bool(row["sharp"])
    return Photo(row["id"], at, row["room"], row["memo"], row["caption"], *flags)


def look(row: Row) -> Look | None:
    """What was measured of the photo in a row of `photos`. Raises TypeError, ValueError where it is told by halves."""
    if not row["phash"]:
        return None
    bytes.fromhex(row["phash"])
    return Look(float(row["sharpness"]), float(row["brightness"]), float(row["burnt"]), row["phash"])


def followup_row(item: FollowUp) -> dict[str, Any]:
    """The columns of `followups`. The facts it rests on are kept as (memo, n)."""
    row = {name: getattr(item, name) for name in FOLLOWUP}
    row |= {"severity": item.severity.value, "facts": json.dumps([(f.memo, f.n) for f in item.facts])}
    return row | {name: _iso(row[name]) for name in ("since", "closed_at")}


def _iso(at: datetime | None) -> str | None:
    return at.isoformat() if at else None


def followup(row: Row, facts: tuple[Fact, ...] = ()) -> FollowUp:
    """The follow-up in a row of `followups`, with those of its facts that the caller has looked up."""
    values = {name: row[name] for name in FOLLOWUP}
    closed = row["closed_at"]
    values |= {
        "severity": Severity(row["severity"]),
        "since": datetime.fromisoformat(row["since"]),
        "closed_at": datetime.fromisoformat(closed) if closed else None,
        "facts": facts,
    }
    return FollowUp(**values, id=row["id"])
