"""What people decide, appended and never edited, and replayed over what the machine read. Pure, but for the last part.

A decision names what it is about by the memo, the words and the place in the text, not by a row: so it finds its fact
again after the memo was read anew by better rules. One that finds no fact any more is kept and told.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from notes.errors import UsageError
from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES, Fact, FollowUp, Job, Memo, Status, Word

Values = Mapping[str, Any]


class Kind(StrEnum):
    """What can be decided."""

    ACCEPT = "accept"
    CORRECT = "correct"
    REJECT = "reject"
    ADD = "add"
    WORD = "word"
    CLOSE = "close"
    REOPEN = "reopen"
    ASSIGN = "assign"
    MERGE = "merge"
    PART = "part"
    SIGN = "sign off"
    UNDO = "undo"


ON_FACTS = frozenset((Kind.ACCEPT, Kind.CORRECT, Kind.REJECT, Kind.ADD))
ON_FOLLOWUPS = frozenset((Kind.CLOSE, Kind.REOPEN, Kind.ASSIGN))


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision: who, when, about what, and what it sets. `undoes` is the id of the one taken back."""

    kind: Kind
    who: str
    at: datetime
    memo: str | None = None
    about: Values = field(default_factory=dict)
    value: Values = field(default_factory=dict)
    undoes: int | None = None
    id: int | None = None


@dataclass(frozen=True, slots=True)
class Settled:
    """Facts with all decisions over them, and the decisions that found no fact."""

    facts: tuple[Fact, ...]
    lost: tuple[Decision, ...] = ()


# --- what a decision is about


def about_fact(fact: Fact) -> Values:
    """What a decision keeps of a fact, to find it again."""
    span = {"start": fact.start, "end": fact.end, "quote": fact.quote}
    return span | {"subject": fact.subject, "action": fact.action}


def about_followup(item: FollowUp) -> Values:
    """What a decision keeps of a follow-up, to find it again."""
    return {"check": item.check, "room": item.room, "subject": item.subject, "quote": item.quote}


# --- replay


def standing(decisions: Iterable[Decision]) -> tuple[Decision, ...]:
    """The decisions not taken back, oldest first. An undo can itself be undone."""
    undone: set[int | None] = set()
    kept = []
    for decision in sorted(decisions, key=lambda d: d.id or 0, reverse=True):
        if decision.id in undone:
            continue
        if decision.kind is Kind.UNDO:
            undone.add(decision.undoes)
        else:
            kept.append(decision)
    return tuple(reversed(kept))


def settle(facts: Iterable[Fact], decisions: Iterable[Decision]) -> Settled:
    """`facts` of one memo with the decisions on them carried out in order."""
    now, lost = list(facts), []
    for decision in standing(decisions):
        if decision.kind not in ON_FACTS:
            continue
        if decision.kind is Kind.ADD:
            now.append(_added(decision, now))
        elif (found := _find(decision, now)) is None:
            lost.append(decision)
        else:
            now[found : found + 1] = _decided(now[found], decision)
    return Settled(tuple(now), tuple(lost))


def replay(facts: Iterable[Fact], decisions: Iterable[Decision]) -> tuple[Fact, ...]:
    """`facts` of one memo as they stand after the decisions on them."""
    return settle(facts, decisions).facts


def _decided(fact: Fact, decision: Decision) -> list[Fact]:
    if decision.kind is Kind.REJECT:
        return []
    if decision.kind is Kind.ACCEPT:
        return [replace(fact, doubts=())]
    name, value = decision.value["field"], decision.value["value"]
    doubts = tuple(d for d in fact.doubts if d != name)
    set_: dict[str, Any] = {name: Status(value) if name == "status" else value}
    return [replace(fact, **set_, doubts=doubts, by=decision.who)]


def _added(decision: Decision, now: list[Fact]) -> Fact:
    values = dict(decision.value)
    values["status"] = Status(values["status"])
    n = max((fact.n for fact in now), default=-1) + 1
    return Fact(**values, memo=decision.memo or "", n=n, by=decision.who)


def _find(decision: Decision, facts: list[Fact]) -> int | None:
    """Where in `facts` the one stands that `decision` is about: the same words, subject and action as far as can be."""
    best = max(((_likeness(decision, fact), -i) for i, fact in enumerate(facts)), default=(0.0, 0))
    return -best[1] if best[0] > 0 else None


def _likeness(decision: Decision, fact: Fact) -> float:
    about = decision.about
    same = (about["subject"] == fact.subject) + (about["action"] == fact.action)
    # new rules may read the subject otherwise, and a correction is still meant; to reject that would be a new decision
    needed = 1 if decision.kind is Kind.CORRECT else 2
    words = _overlap(set(about["quote"].lower().split()), set(fact.quote.lower().split()))
    place = _overlap(set(range(about["start"], about["end"])), set(range(fact.start, fact.end)))
    shared = max(words, place)
    return shared * 2 + same + place / 10 if shared >= 0.25 and same >= needed else 0.0


def _overlap(a: set[Any], b: set[Any]) -> float:
    return len(a & b) / len(a | b) if a and b else 0.0


def overlay(items: Iterable[FollowUp], decisions: Iterable[Decision]) -> tuple[FollowUp, ...]:
    """Follow-ups as they stand after being closed, reopened and assigned by people."""
    now = list(items)
    for decision in standing(decisions):
        if decision.kind in ON_FOLLOWUPS and (found := _find_followup(decision, now)) is not None:
            now[found] = _ruled(now[found], decision)
    return tuple(now)


def _find_followup(decision: Decision, items: list[FollowUp]) -> int | None:
    about = decision.about
    options = [
        (_alike(about, item), -i)
        for i, item in enumerate(items)
        if item.check == about["check"] and item.memo == decision.memo
    ]
    best = max(options, default=(0.0, 0))
    return -best[1] if best[0] >= 1 else None


def _alike(about: Values, item: FollowUp) -> float:
    words = _overlap(set(about["quote"].lower().split()), set(item.quote.lower().split()))
    return (item.subject == about["subject"]) + (item.room == about["room"]) / 2 + words


def _ruled(item: FollowUp, decision: Decision) -> FollowUp:
    value = decision.value
    if decision.kind is Kind.ASSIGN:
        return replace(item, assignee=value["to"], due=value.get("due") or item.due)
    if decision.kind is Kind.REOPEN:
        return replace(item, closed_by=None, closed_at=None)
    why = f"{decision.who}: {value['why']}" if value.get("why") else decision.who
    return replace(item, closed_by=why, closed_at=decision.at)


def reworded(memo: Memo, decisions: Iterable[Decision]) -> Memo:
    """`memo` as heard, with the words that a person put right; what was heard stays in each word's `raw`."""
    for decision in standing(decisions):
        if decision.kind is Kind.WORD:
            memo = _put_right(memo, decision.about, decision.value["now"])
    return memo


def _put_right(memo: Memo, about: Values, now: str) -> Memo:
    start = _place_of(memo.text, about)
    if start is None:
        return memo
    end = start + len(about["quote"])
    longer = len(now) - (end - start)
    text = memo.text[:start] + now + memo.text[end:]
    before = [w for w in memo.words if w.end <= start]
    hit = [w for w in memo.words if w.end > start and w.start < end]
    after = [replace(w, start=w.start + longer, end=w.end + longer) for w in memo.words if w.start >= end]
    return replace(memo, text=text, words=(*before, *_one_word(text, hit, longer), *after))


def _one_word(text: str, hit: list[Word], longer: int) -> list[Word]:
    """What now stands in the place of the words `hit`, in `text` that has become `longer` by so much."""
    if not hit:
        return []
    start, end = hit[0].start, hit[-1].end + longer
    raw = " ".join(w.raw or w.text for w in hit)
    return [Word(text[start:end], start, end, hit[0].at, hit[-1].until, 1.0, raw)]


def _place_of(text: str, about: Values) -> int | None:
    """Where the words of `about` stand in `text`: the place nearest to where they stood."""
    quote, start = about["quote"], about["start"]
    places = [i for i in range(len(text)) if text.startswith(quote, i)] if quote else []
    return min(places, key=lambda i: abs(i - start), default=None)


# --- what may be set

_NUMBERS = ("size_mm", "to_size_mm", "length_m", "pressure_bar", "duration_min", "depth_mm")
_TEXTS = ("place", "from_", "to")
_CHOICES: Mapping[str, tuple[str, ...]] = {
    "subject": PIPES + ITEMS,
    "action": ACTIONS,
    "status": tuple(s.value for s in Status),
    "material": MATERIALS,
}
_FLAGS = ("failed", "temporary")
FIELDS = ("room", *_CHOICES, *_NUMBERS, "count", *_TEXTS, *_FLAGS)
"""The fields of a fact that a person can put right."""


def checked(name: str, value: object, job: Job) -> object:
    """`value` as the field `name` may hold it. Raises UsageError with what is allowed."""
    choices = {**_CHOICES, "room": tuple(room.name for room in job.rooms)}.get(name)
    if name not in FIELDS:
        raise UsageError(f"a fact has no field {name!r}", todo=f"known: {', '.join(FIELDS)}")
    if value is None and name not in ("subject", "action", "status", *_FLAGS):
        return None
    if choices is not None and value not in choices:
        raise UsageError(f"{name} can't be {value!r}", todo=f"known: {', '.join(choices)}")
    if name in (*_NUMBERS, "count"):
        return _number(name, value)
    if name in _FLAGS and not isinstance(value, bool):
        raise UsageError(f"{name} is yes or no, not {value!r}")
    return value


def _number(name: str, value: object) -> float | int:
    try:
        number = float(str(value))
    except ValueError:
        number = -1.0
    if not 0 <= number < 1e6:
        raise UsageError(f"{name} must be a number, not {value!r}")
    return int(number) if name == "count" else number


# --- in the book


def append(db: sqlite3.Connection, decision: Decision) -> int:
    """Add a decision to the book, inside the caller's transaction; its id."""
    about, value = (json.dumps(dict(v), ensure_ascii=False) for v in (decision.about, decision.value))
    row = (decision.at.isoformat(), decision.who, decision.kind.value, decision.memo, about, value, decision.undoes)
    sql = "INSERT INTO decisions (at, who, kind, memo, about, value, undoes) VALUES (?, ?, ?, ?, ?, ?, ?)"
    return int(db.execute(sql, row).lastrowid or 0)


def of_memo(db: sqlite3.Connection, memo: str) -> tuple[Decision, ...]:
    """All decisions about a memo, its facts, words and follow-ups, with those that undo them."""
    mine = "SELECT * FROM decisions WHERE memo = ?1"
    return tuple(map(_decision, db.execute(mine + " ORDER BY id", (memo,))))


def all_of(db: sqlite3.Connection, kinds: Iterable[Kind]) -> tuple[Decision, ...]:
    """All decisions of these kinds, with every undo."""
    wanted = [kind.value for kind in (*kinds, Kind.UNDO)]
    marks = ", ".join("?" * len(wanted))
    return tuple(map(_decision, db.execute(f"SELECT * FROM decisions WHERE kind IN ({marks}) ORDER BY id", wanted)))


def _decision(row: sqlite3.Row) -> Decision:
    about, value = json.loads(row["about"]), json.loads(row["value"])
    at = datetime.fromisoformat(row["at"])
    return Decision(Kind(row["kind"]), row["who"], at, row["memo"], about, value, row["undoes"], row["id"])


def now() -> datetime:
    """The time to put on a decision."""
    return datetime.now(UTC).replace(microsecond=0)
