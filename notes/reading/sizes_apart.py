"""Sizes said apart, one for each pipe or thing of an event: 'hot in twenty-two and the return in fifteen'."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.counting import things_named
from notes.reading.event import Event
from notes.reading.nominal import DRAINS, inches
from notes.reading.said import Said
from notes.reading.whose import Owner


def each_pipe(said: Said, event: Event, pool: Sequence[int], owners: dict[int, Owner]) -> tuple[float | None, ...]:
    """A size for each pipe where they were said apart: 'hot and cold in twenty-two and the return in fifteen'."""
    told = {
        k: _closest(said, [i for i in pool if (o := owners[i]) is not None and k in o[1]], owners) for k in event.keys
    }
    if not all(told.values()) or len({tuple(v) for v in told.values()}) == 1:
        return ()
    sizes = {k: {millimetres(said, k, i) for i in _in_turn(k, told[k], owners)} for k in event.keys}
    # 'hot and return in thirty-five and twenty-two, the cold in twenty-eight, all three capped': nobody says which
    return tuple(sizes[k].pop() if len(sizes[k]) == 1 else None for k in event.keys)


def _closest(said: Said, told: list[int], owners: dict[int, Owner]) -> list[int]:
    """'hot, cold and waste in fifteen copper, inch and a half for the waste': what is said last, of fewer pipes."""
    many = {i: len(o[1]) for i in told if (o := owners[i]) is not None}
    least = [i for i in told if many[i] == min(many.values())]
    doubted = any("might" in said.norms(said.clauses[said.clause_of(i)].start, i) for i in least)
    return least if least and least[0] > max((i for i in told if i not in least), default=-1) and not doubted else told


def _in_turn(key: str, told: Sequence[int], owners: dict[int, Owner]) -> Sequence[int]:
    """'hot and return, thirty-five and twenty-two': one size for each, as they were listed."""
    listed = owners[told[0]]
    if listed is None or len(told) != len(listed[1]) or any(owners[i] != listed for i in told):
        return told
    return [told[listed[1].index(key)]]


def each_thing(said: Said, event: Event, pool: Sequence[int]) -> tuple[float | None, ...]:
    """'four fifteen elbows and tees, and a gauge': the elbows' and the tees', but not what has an amount of its own."""
    out: list[float | None] = []
    at = said.clauses[event.clause].start
    for key, i in zip(event.keys, things_named(said, event, at, said.end), strict=True):
        if i is None:
            return ()
        sized = [n for n in pool if at <= n < i]
        anew = any(n.qty is not None or n.norm in _ONE for n in said.row[at:i])
        out.append(millimetres(said, key, sized[-1]) if sized else None if anew or not out else out[-1])
        at = i
    return tuple(out) if any(out) else ()


_ONE = frozenset(("a", "an", "another", "some", "the", "pair", "couple"))


def supply_and_drain(said: Said, event: Event, pool: Sequence[int]) -> tuple[float, ...]:
    """'hot, cold and waste in fifteen and inch and a half': the small size is not the drain's."""
    drains = [k for k in event.keys if k in DRAINS]
    if not drains or len(drains) == len(event.keys):
        return ()
    small = {millimetres(said, "hot", i) for i in pool if millimetres(said, drains[0], i) < _LEAST_DRAIN}
    large = {millimetres(said, drains[0], i) for i in pool if millimetres(said, drains[0], i) >= _LEAST_DRAIN}
    if len(small) != 1 or len(large) != 1:
        return ()
    return tuple(large.copy().pop() if k in drains else small.copy().pop() for k in event.keys)


_LEAST_DRAIN = 32
"""mm: the least waste pipe (EN 12056-2 has no smaller branch for a basin: DN 30)."""


def each_before(said: Said, event: Event, pool: Sequence[int], owners: dict[int, Owner]) -> tuple[float | None, ...]:
    """'the cold brought in twenty-two and the hot in twenty-five, both left open': each has its own that was told."""
    if len(event.keys) == 1 or not event.piped or event.action in ("run", "test"):
        return ()
    if not pool or pool[-1] > event.start:
        return ()
    told = [(i, o[1]) for i, o in owners.items() if o is not None and o[0] == "pipe" and i < event.start]
    if {k for i, keys in told if i in pool for k in keys}.issuperset(event.keys):
        return ()
    last = {k: max((i for i, keys in told if k in keys), default=None) for k in event.keys}
    sizes = tuple(millimetres(said, k, i) if i is not None else None for k, i in last.items())
    return sizes if None not in sizes and len(set(sizes)) > 1 else ()


def millimetres(said: Said, subject: str, i: int) -> float:
    q = said.row[i].qty
    assert q is not None
    if q.unit != "inch":
        return float(q.value)
    return float(inches(q.value, subject, _made_of(said, i)))


def _made_of(said: Said, i: int) -> str | None:
    """The material of the size at node i: beside it, or else the first of its clause that is no other size's."""
    row, clause = said.row, said.clauses[said.clause_of(i)]
    if said.norm(i + 1) == "iron":
        # 'inch iron' is screwed steel
        return "steel"
    beside = [j for j in (i + 1, i - 2 if said.norm(i - 1) == "," else i - 1) if said.start <= j < said.end]
    told = [*beside, *(j for j in range(clause.start, clause.end) if row[j - 1].qty is None)]
    return next((row[j].keys[0] for j in told if row[j].kind == "material"), None)
