"""Which room a bare noun may mean: told apart by its flat, wing or floor, by a number, and by where one is."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache

from notes.model import Room
from notes.reading.mentions import Node
from notes.reading.numbers import NUMERALS

_FLOORS = {
    "upstairs": ("first", "second", "third", "top"), "downstairs": ("ground", "basement"), "top": ("top",),
    "bottom": ("bottom",), "first": ("first",), "second": ("second",), "ground": ("ground",), "middle": ("first",),
    "basement": ("basement",), "third": ("third",), "upper": ("first", "second"), "lower": ("ground",),
}  # fmt: skip


def words_of(text: str) -> set[str]:
    """The words of a name, numbers in figures."""
    return {NUMERALS.get(w, w) for w in re.findall(r"[a-z0-9]+", text.lower())}


def floors(rooms: Sequence[Room]) -> dict[str, set[str]]:
    """Words that tell a room's floor, 'top' and 'bottom' worked out from the floors there are."""
    known = ("basement", "lower ground", "ground", "first", "second", "third", "fourth", "loft")
    ranked = sorted({r.floor.lower() for r in rooms if r.floor.lower() in known[:-1]}, key=known.index)
    out = {}
    for room in rooms:
        low = room.floor.lower()
        words = words_of(low)
        if ranked and low == ranked[-1]:
            words.add("top")
        if len(ranked) > 1 and low == next(f for f in ranked if f != "basement"):
            words.add("bottom")
        out[room.name] = words
    return out


def resolve(head: str, near: set[str], current: str | None, rooms: Sequence[Room]) -> tuple[str, ...]:
    """The rooms that a bare noun ('kitchen') may mean, told apart by the words near it and by where one is.

    One room is an answer, none or several are a question for a person.
    """
    wanted = words_of(head)
    options = [r for r in rooms if any(wanted <= words_of(n) for n in (r.name, *r.aliases))]
    # 'room 2' is that of flat one or of flat two, not room 1 of flat 2
    options = [r for r in options if r.name.lower().endswith(head.lower())] or options
    if len(options) <= 1:
        return tuple(r.name for r in options)
    level = floors(rooms)
    here = [current, *(name for r in rooms if r.name == current for name in r.aliases)]
    scores: dict[str, float] = {}
    for room in options:
        own = set().union(*(words_of(n) for n in (room.name, *room.aliases))) - wanted - _GLUE
        told = 2.0 * len(own & near)
        told += sum(bool(level[room.name] & set(_FLOORS[w])) for w in near & set(_FLOORS))
        told += 0.5 * max(_shared_front(room.name, name) for name in here)
        scores[room.name] = told
    best = max(scores.values())
    top = tuple(name for name, score in scores.items() if score == best)
    return top if len(top) == 1 else tuple(scores) if best == 0 else top


_GLUE = frozenset("of the at in".split())


def _shared_front(name: str, current: str | None) -> float:
    """1 where two names start alike, as rooms of one flat do ('Flat 2 kitchen', 'Flat 2 bedroom')."""
    if not current:
        return 0.0
    ours, theirs = name.lower().split(), current.lower().split()
    same = 0.0
    for a, b in zip(ours, theirs, strict=False):
        if a != b:
            break
        same += 1
    return same


def near_words(row: Sequence[Node], start: int, end: int) -> set[str]:
    """The words near a bare noun; a number only as a name: 'flat two', 'seven's loft', but not 'two wastes'."""
    out: set[str] = set()
    for i in range(start, end):
        if row[i].qty is None:
            out.update(row[i].norm.split("_"))
        elif row[i].norm in NUMERALS or row[i].norm.isdigit():
            after = row[i + 1] if i + 1 < len(row) else None
            alone = i > 0 and row[i - 1].norm in ("in", "at") and (after is None or after.kind == "mark")
            if alone or (i and row[i - 1].norm in _NUMBERED) or (after is not None and after.norm == "'s"):
                out |= {NUMERALS.get(row[i].norm, row[i].norm), *(["no"] if i and row[i - 1].norm == "number" else [])}
    return out


_NUMBERED = frozenset("flat unit plot room block house no number apartment bay suite level floor loft bedsit".split())


def wing_of(row: Sequence[Node], i: int, rooms: Sequence[Room]) -> set[str]:
    """What was last said of the flat or wing one is in: 'Flat two, hot's in, ... capped in the kitchen'."""
    if after := _level_after(row, i):
        return {after}
    wings = _wings(tuple(r.name for r in rooms))
    if i + 2 < len(row) and row[i + 1].norm in ("at", "in", "of"):
        # 'Kitchen at Lock', 'kitchen of loft three', 'in cottage one' rather than in a cottage
        told = [w for w in wings if tuple(NUMERALS.get(n.norm, n.norm) for n in row[i + 2 : i + 2 + len(w)]) == w]
        if told:
            return set(told[0])
    for j in range(i - 1, max(-1, i - _FAR), -1):
        if row[j].kind in ("room", "head"):
            break
        if level := _level(row, j):
            return {level}
        if row[j].norm in NUMERALS and (
            row[j - 1].norm == "number" or (row[j - 1].norm in ("in", "at") and row[j + 1].kind == "mark")
        ):
            # 'In nine. Bathroom's got its soil', 'in number one today. Bathroom.'
            return {NUMERALS[row[j].norm]}
        for wing in wings:
            first = j + 1 - len(wing)
            if first and row[first - 1].norm in _COMPARED:
                # 'same as flat one'
                continue
            if first >= 0 and tuple(NUMERALS.get(n.norm, n.norm) for n in row[first : j + 1]) in (wing, _full(wing)):
                return set(wing)
    return set()


_COMPARED = frozenset("as like than from unlike".split())
_FAR = 40
"""Nodes to look back for a flat or wing."""


def _level(row: Sequence[Node], j: int) -> str | None:
    """The word for the height one is at, where it ends at node j: 'top flat', 'top of the house', 'upstairs'."""
    if row[j].norm in ("upstairs", "downstairs"):
        return row[j].norm
    at = j - 3 if [n.norm for n in row[max(0, j - 2) : j]] == ["of", "the"] else j - 1
    if row[j].norm not in _STOREYS or at < 0 or row[at].norm not in _FLOORS:
        return None
    first = at
    while first and row[first - 1].norm in _LEADS:
        first -= 1
    opens = first == 0 or row[first - 1].kind == "mark"
    before = [n.norm for n in row[max(0, at - 2) : at] if n.norm != "the"]
    return row[at].norm if opens or not before or before[-1] not in _NOT_THERE else None


def _level_after(row: Sequence[Node], i: int) -> str | None:
    """'Bathroom, top flat.', 'in the bathroom, that's the middle flat': told after the room at node i."""
    if i + 1 >= len(row) or row[i + 1].norm != ",":
        return None
    j = i + 2
    while j < len(row) and row[j].norm in _THAT_IS:
        j += 1
    return _level(row, j + 1) if j + 1 < len(row) else None


_STOREYS = frozenset("flat floor storey level house building".split())
_LEADS = frozenset("and then so now right up down back over on to the in into here".split())
_THAT_IS = frozenset("that this 's is in on up down the".split())
_NOT_THERE = frozenset("to from for as past under of off".split())


def _full(wing: tuple[str, ...]) -> tuple[str, ...]:
    return tuple("number" if w == "no" else w for w in wing)


@lru_cache(maxsize=8)
def _wings(names: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """What rooms' names begin with, a number or what several have, the longest first: ('flat', '2'), ('parish',)."""
    fronts: Counter[tuple[str, ...]] = Counter()
    for name in names:
        words = tuple(NUMERALS.get(w, w) for w in re.findall(r"[a-z0-9]+", name.lower()))
        fronts.update(words[:n] for n in range(1, len(words)))
    told = (f for f, count in fronts.items() if f[-1].isdigit() or (count > 1 and f[-1] not in _NUMBERED))
    return tuple(sorted(told, key=len, reverse=True))


def twin_of(row: Sequence[Node], i: int, current: str | None, rooms: Sequence[Room]) -> str | None:
    """'the north one', where one is in the south en suite or has just named it: the room whose name differs so."""
    word, before = row[i - 1].norm, row[i - 2].norm
    if (
        before != "the"
        or row[i - 3].norm in ("not", "than")
        or row[i - 1].kind != "word"
        or (word in _SIDES and row[i - 3].norm not in ("in", "did", "into"))
    ):
        return None
    named = next((n.keys[0] for n in reversed(row[max(0, i - _FAR) : i]) if n.kind == "room"), current)
    if named is None:
        return None
    wanted = [w for w in named.lower().split() if w != word]
    twins = [
        r.name for r in rooms if word in (own := r.name.lower().split()) and own[1:] == wanted[1:] and own[0] == word
    ]
    return twins[0] if len(twins) == 1 and len(wanted) == len(named.split()) > 1 else None


_SIDES = frozenset("front back left right first second other big small main old new".split())
