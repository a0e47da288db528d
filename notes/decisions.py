"""What people decide, replayed over what the machine read. Pure, but for `now`.

A decision names what it is about by the memo, the words and the place in the text, not by a row: so it finds its fact
again after the memo was read anew by better rules. One that finds no fact any more is kept and told.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, NamedTuple

from notes.model import Fact, FollowUp, Status

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
    PLACE = "place photo"
    FORGET = "forget"
    UNDO = "undo"


ON_FACTS = frozenset((Kind.ACCEPT, Kind.CORRECT, Kind.REJECT, Kind.ADD))
ON_FOLLOWUPS = frozenset((Kind.CLOSE, Kind.REOPEN, Kind.ASSIGN))
ON_RUNS = frozenset((Kind.MERGE, Kind.PART))


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


class Settled(NamedTuple):
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
    places: dict[tuple[str, str | None], list[int]] = {}
    for i, item in enumerate(now):
        places.setdefault((item.check, item.memo), []).append(i)
    for decision in standing(decisions):
        if decision.kind in ON_FOLLOWUPS:
            options = places.get((decision.about["check"], decision.memo), [])
            likeness, place = max(((_alike(decision.about, now[i]), -i) for i in options), default=(0.0, 0))
            if likeness >= 1:
                now[-place] = _ruled(now[-place], decision)
    return tuple(now)


def _alike(about: Values, item: FollowUp) -> float:
    words = _overlap(set(about["quote"].lower().split()), set(item.quote.lower().split()))
    return bool(item.subject == about["subject"]) + bool(item.room == about["room"]) / 2 + words


def _ruled(item: FollowUp, decision: Decision) -> FollowUp:
    value = decision.value
    if decision.kind is Kind.ASSIGN:
        return replace(item, assignee=value["to"], due=value.get("due") or item.due)
    if decision.kind is Kind.REOPEN:
        return replace(item, closed_by=None, closed_at=None)
    why = f"{decision.who}: {value['why']}" if value.get("why") else decision.who
    return replace(item, closed_by=why, closed_at=decision.at)


def now() -> datetime:
    """The time to put on a decision."""
    return datetime.now(UTC).replace(microsecond=0)
