"""Things that are fitted, told in the way of runs: is the shower still going in, has the boiler come. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime

from notes.model import ITEMS, Fact, Run, Status, Step

STATES = ("ordered", "fitted", "temporary", "dropped", "removed")
_IN = frozenset(("fit", "connect", "commission"))
_WANTED = frozenset(("fit", "order", "decide", "connect"))


def things(facts: Sequence[Fact], when: Mapping[str, datetime]) -> tuple[Run, ...]:
    """The items of each room, from facts in the order they were said."""
    groups: dict[tuple[str | None, str], list[Fact]] = defaultdict(list)
    for fact in facts:
        if fact.subject in ITEMS:
            groups[fact.room, fact.subject].append(fact)
    return tuple(_thing(said, when) for said in groups.values())


def _thing(said: Sequence[Fact], when: Mapping[str, datetime]) -> Run:
    first, last = said[0], said[-1]
    state: frozenset[str] = frozenset()
    for fact in said:
        state = _after(state, fact)
    return Run(
        key=f"{first.memo}:{first.n}", subject=first.subject, room=first.room,
        rooms=(first.room,) if first.room else (),
        place=next((f.place for f in reversed(said) if f.place), None),
        state=tuple(word for word in STATES if word in state),
        steps=tuple(Step(f, when[f.memo]) for f in said), memo=last.memo, second=last.second,
    )  # fmt: skip


def _after(state: frozenset[str], fact: Fact) -> frozenset[str]:
    """The state of a thing once `fact` was said of it."""
    if fact.status is Status.DROPPED and fact.action in _WANTED:
        return frozenset({"dropped"})
    if fact.status is Status.TO_DO and fact.action in _WANTED - {"decide"}:
        return state - {"dropped"}
    if fact.status is not Status.DONE:
        return state
    if fact.action in _IN:
        return frozenset({"fitted", "temporary"} if fact.temporary else {"fitted"})
    if fact.action == "order":
        return state - {"dropped"} | {"ordered"}
    return frozenset({"removed"}) if fact.action == "remove" else state
