"""Which room is meant: by name, nickname, bare noun with its flat or floor, and what carries over."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from notes.model import Room
from notes.reading.mentions import NAME_KINDS, Node
from notes.reading.numbers import NUMERALS
from notes.reading.wordlists import pattern
from notes.reading.wordlists import words as word_list

_END, _IN, _FILL = word_list("room-ends"), word_list("room-in"), word_list("room-fill")
_EDGES, _PLAIN, _MOVING = word_list("room-edges"), word_list("room-plain"), word_list("room-moving")
_DRAINS = word_list("drains-outside")
_WALKING, _POINTED_OUT = word_list("room-walking"), word_list("room-pointed-out")
_HEADS = word_list("room-heads")
_ABOUT = pattern("room-about", "^(and |so |then |right , )?", "$")
_FLOORS = {
    "upstairs": ("first", "second", "third", "top"), "downstairs": ("ground", "basement"), "top": ("top",),
    "bottom": ("bottom",), "first": ("first",), "second": ("second",), "ground": ("ground",), "middle": ("first",),
    "basement": ("basement",), "third": ("third",), "upper": ("first", "second"), "lower": ("ground",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Spot:
    """A room mention: its node, the rooms it may mean, and its part: set, end (a run goes or comes there), own
    (names whose thing it is: 'lounge rad'), or here."""

    node: int
    rooms: tuple[str, ...]
    part: str


def _words(text: str) -> set[str]:
    return {NUMERALS.get(w, w) for w in re.findall(r"[a-z0-9]+", text.lower())}


def floors(rooms: Sequence[Room]) -> dict[str, set[str]]:
    """Words that tell a room's floor, 'top' and 'bottom' worked out from the floors there are."""
    known = ("basement", "lower ground", "ground", "first", "second", "third", "fourth", "loft")
    ranked = sorted({r.floor.lower() for r in rooms if r.floor.lower() in known[:-1]}, key=known.index)
    out = {}
    for room in rooms:
        low = room.floor.lower()
        words = _words(low)
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
    wanted = _words(head)
    options = [r for r in rooms if any(wanted <= _words(n) for n in (r.name, *r.aliases))]
    if len(options) <= 1:
        return tuple(r.name for r in options)
    level = floors(rooms)
    scores: dict[str, float] = {}
    for room in options:
        own = set().union(*(_words(n) for n in (room.name, *room.aliases))) - wanted
        told = 2.0 * len(own & near)
        told += sum(bool(level[room.name] & set(_FLOORS[w])) for w in near & set(_FLOORS))
        told += 0.5 * _shared_front(room.name, current)
        scores[room.name] = told
    best = max(scores.values())
    top = tuple(name for name, score in scores.items() if score == best)
    return top if len(top) == 1 else tuple(scores) if best == 0 else top


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


def _near(row: Sequence[Node], start: int, end: int) -> set[str]:
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


_NUMBERED = frozenset("flat unit plot room block house no number apartment bay suite level floor".split())


def _wing(row: Sequence[Node], i: int, rooms: Sequence[Room]) -> set[str]:
    """What was last said of the flat or wing one is in: 'Flat two, hot's in, ... capped in the kitchen'."""
    wings = _wings(tuple(r.name for r in rooms))
    if not wings:
        return set()
    for j in range(i - 1, max(-1, i - _FAR), -1):
        if row[j].kind in ("room", "head"):
            break
        if row[j].norm in NUMERALS and row[j - 1].norm in ("in", "at") and row[j + 1].kind == "mark":
            # 'In nine. Bathroom's got its soil'
            return {NUMERALS[row[j].norm]}
        for wing in wings:
            first = j + 1 - len(wing)
            if first >= 0 and tuple(NUMERALS.get(n.norm, n.norm) for n in row[first : j + 1]) in (wing, _full(wing)):
                return set(wing)
    return set()


_FAR = 40
"""Nodes to look back for a flat or wing."""


def _full(wing: tuple[str, ...]) -> tuple[str, ...]:
    return tuple("number" if w == "no" else w for w in wing)


@lru_cache(maxsize=8)
def _wings(names: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """What rooms' names begin with, a number or what several have: ('flat', '2'), ('parish',)."""
    fronts: Counter[tuple[str, ...]] = Counter()
    for name in names:
        words = tuple(NUMERALS.get(w, w) for w in re.findall(r"[a-z0-9]+", name.lower()))
        fronts.update(words[:n] for n in range(1, len(words)))
    return tuple(f for f, count in fronts.items() if f[-1].isdigit() or (count > 1 and f[-1] not in _NUMBERED))


def _heads_off(row: Sequence[Node], i: int, start: int, end: int) -> bool:
    """'Back to the riser, ...' moves there: only such words stand before it, and a mark or nothing after it."""
    ahead = [n.norm for n in row[start:i]]
    if _ABOUT.match(" ".join(ahead)):
        return i + 1 >= end or row[i + 1].kind == "mark"
    if not all(n in _MOVING for n in ahead):
        return False
    return i + 1 >= end or row[i + 1].kind == "mark" or row[i + 1].norm in ("now", "then", "and")


def _runs_there(row: Sequence[Node], i: int, start: int, opens: int) -> bool:
    """'run below the tundish, twenty-two, out to the yard': the pipe goes there, nobody moves."""
    onward = any(n.norm in ("to", "into") for n in row[start:i])
    return onward and any(n.qty or n.kind == "material" or n.norm in _RUN for n in row[max(opens, start - 8) : start])


_RUN = frozenset(("run", "runs", "ran"))


def _part(row: Sequence[Node], i: int, start: int, end: int, opens: int, settled: bool = False) -> str:
    """What a room mention is for: set, end or own (see Spot); `settled` where one is in a room already."""
    if _heads_off(row, i, start, end) and not _runs_there(row, i, start, opens):
        return "set"
    if i + 1 < end and row[i + 1].norm == "end" and "at" in [n.norm for n in row[max(start, i - 2) : i]]:
        # 'connected at the cellar end': which end of the pipe, not where one is
        return "end"
    j = i - 1
    while j >= start and row[j].norm in _FILL:
        j -= 1
    before = row[j].norm if j >= start else ""
    if _of_drain(row, i, j, start):
        return "end"
    if before in ("at", "by", "near", "against") and i + 1 < end and row[i + 1].norm in _BOUNDS:
        # 'joined on at the plant wall': the far side of it
        return "end"
    if before == "of" and _part_of_room(row, j, start):
        return "set"
    if (
        before in _BESIDE
        and row[j - 1].norm in ("one", "ones")
        and j - 2 >= start
        and row[j - 2].norm in ("the", "that")
    ):
        # 'the one behind the front desk isn't'
        return "set"
    if before in _BESIDE and i + 1 < end and (row[i + 1].kind == "item" or row[i + 1].norm in _SURFACES):
        # 'under the hall floor', 'behind the kitchen units'
        return "set" if j == opens else "end" if settled else "own"
    if before in _END and not (before in ("out", "over", "of") and row[j - 1].norm in ("here", "in")):
        return "set" if _walked(row, start, j, opens) else "end"
    if before in ("'s", "is", "are") and j - 1 >= opens and _one_of_many(row, j - 1):
        return "end"
    return "own" if i + 1 < end and _owns(row, i, before, end) else "set"


_OUTSIDE = frozenset(("outside", "outdoors"))
_BESIDE = frozenset("under underneath beneath behind above below beside along across".split())
_SURFACES = frozenset(
    "floor floors floorboards boards ceiling units unit wall panel panelling skirting worktop flags".split()
)
_BOUNDS = frozenset(("wall", "door", "doorway", "end", "side", "ceiling"))
_PARTS = frozenset("length width middle centre rest".split())


def _part_of_room(row: Sequence[Node], i: int, start: int) -> bool:
    """'the length of the passage', but not 'to the middle of the kitchen'."""
    j = i - 1
    if j < start or row[j].norm not in _PARTS:
        return False
    while j >= start and (row[j].norm in _PARTS or row[j].norm in ("the", "whole", "other", "near", "full")):
        j -= 1
    return j < start or row[j].norm not in _END


def _of_drain(row: Sequence[Node], i: int, j: int, start: int) -> bool:
    """'out through the wall to the gully in the court', '... outside': where the pipe ends, nobody moves."""
    if row[i].norm in _OUTSIDE and {"to", "into"} & {n.norm for n in row[max(start, i - 4) : max(start, i - 1)]}:
        return True
    if j - 3 < start or row[j].norm not in ("in", "at"):
        return False
    if row[j - 1].kind == "item" and {"from", "off"} & {n.norm for n in row[max(start, j - 3) : j - 1]}:
        # 'in from the meter in the yard'
        return True
    if row[j - 1].norm not in _DRAINS:
        return False
    return bool({"to", "into", "for"} & {n.norm for n in row[j - 4 : j - 1]})


def _walked(row: Sequence[Node], start: int, at: int, opens: int) -> bool:
    """'Walked back through the hall and ...': a person goes there, no pipe does."""
    if row[at].norm not in ("through", "past", "into", "to"):
        return False
    ahead = [n.norm for n in row[start:at]]
    if any(n.kind not in _ON_THE_WAY for n in row[start:at]) or not set(ahead) & _WALKING:
        return False
    return bool({"i", "we"} & set(ahead)) or (ahead[0] in _WALKING and start <= opens + 1)


_ON_THE_WAY = frozenset(("word", "room", "head"))


def _one_of_many(row: Sequence[Node], i: int) -> bool:
    """'left one's the cafe, right one's the flats': what it serves."""
    return row[i].norm in _POINTED_OUT and i > 0 and row[i - 1].norm not in ("this", "next", "last")


def _owns(row: Sequence[Node], i: int, before: str, end: int) -> bool:
    """'lounge rad', 'the kitchen wall', 'the bathroom's basin': the room tells whose thing it is."""
    after = row[i + 1]
    if after.norm in _EDGES or (after.kind in NAME_KINDS and before not in _IN):
        return True
    if after.kind == "word" and after.norm not in _PLAIN and before not in _IN and before:
        return True
    # 'the bathroom's basin', 'the hall's isn't'
    named = i + 2 < end and (row[i + 2].kind in ("item", "service", "pair") or row[i + 2].norm in ("is", "are", "has"))
    return after.norm == "'s" and named


def spots(
    row: Sequence[Node], start: int, end: int, current: str | None, rooms: Sequence[Room], opens: int | None = None
) -> list[Spot]:
    """The room mentions of nodes `start:end`, each with its part; `opens` is where their sentence starts."""
    out: list[Spot] = []
    for i in range(start, end):
        node = row[i]
        if node.kind == "word" and i > start and row[i - 1].norm in ("both", "all") and node.norm[:-1] in _HEADS:
            # 'in both lofts'
            out += [Spot(i, (r.name,), "set") for r in rooms if node.norm[:-1] in _words(r.name)]
        if node.norm == "one" and i > start + 1 and (twin := _twin(row, i, start, end, current, rooms)):
            out.append(Spot(i, (twin,), "set"))
        if node.kind not in ("room", "head"):
            continue
        names = node.keys
        if node.kind == "head":
            first = max(start if opens is None else opens, i - 6)
            near = _near(row, first, min(end, i + 4)) | _wing(row, i, rooms)
            names = resolve(node.keys[0], near, current, rooms)
        if names:
            part = _part(row, i, start, end, start if opens is None else opens, current is not None)
            if part == "own" and out and out[-1].part == "set" and _side_by_side(row, out[-1].node, i):
                # 'kitchen and hall rads'
                out[-1] = replace(out[-1], part="own")
            out.append(Spot(i, names, part))
    return out


def _twin(row: Sequence[Node], i: int, start: int, end: int, current: str | None, rooms: Sequence[Room]) -> str | None:
    """'the north one', where one is in the south en suite or has just named it: the room whose name differs so."""
    word, before = row[i - 1].norm, row[i - 2].norm
    if (
        before != "the"
        or row[i - 3].norm == "not"
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


def _side_by_side(row: Sequence[Node], one: int, other: int) -> bool:
    return [n.norm for n in row[one + 1 : other] if n.norm != "the"] == ["and"]
