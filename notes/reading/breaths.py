"""A sentence that has no end: where somebody talks on and on, what opens a new matter opens a new sentence."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.mentions import NAME_KINDS, Node
from notes.reading.wordlists import words

LONG = 40
"""Nodes in a sentence before it is looked at for a breath: few written ones are longer."""
SHORT = 6
"""Nodes a piece has at least."""
_IS = frozenset(("'s", "is", "are", "was", "were"))
_JOINTS = frozenset("and but then right now next also anyway well okay ok oh yeah er um plus".split())
_TO_ROOM = frozenset("in into up down over out back on to at through here".split())
_LEADS = frozenset("the a an that them those this these my his our their old new another both".split())
_SAYS = frozenset("'s is are was were has have had wants want needs need goes go comes come runs still not".split())
_SELF = frozenset(("i", "we"))
_THEM = words("them")
_I_DO = frozenset("have had was am will need still took put ran".split())
_NAMES = NAME_KINDS | {"material", "qty"}
_ROOM_SAYS = _SELF | {",", "'s"}
_WAITING = words("waiting")


def breaths(row: Sequence[Node], start: int, end: int) -> list[tuple[int, int]]:
    """The pieces of the sentence `start:end`: itself where it is not long."""
    if end - start <= LONG:
        return [(start, end)]
    out, at = [], start
    for i in range(start + 1, end - 1):
        if (
            row[i].norm == ","
            and i - at >= SHORT
            and end - i > SHORT
            and _opens(row, i + 1, end)
            and not _waits(row, at, i)
        ):
            out.append((at, i))
            at = i + 1
    return [*out, (at, end)]


def _waits(row: Sequence[Node], start: int, end: int) -> bool:
    """'once the boiler's in, the flow wants ...': a condition whose main clause is still to come."""
    last = max((i for i in range(start, end) if row[i].norm == ","), default=start - 1)
    return any(row[i].norm in _WAITING for i in range(last + 1, min(last + 3, end)))


def _opens(row: Sequence[Node], i: int, end: int) -> bool:
    while i < end and row[i].norm in _JOINTS:
        i += 1
    return _room(row, i, end) or _matter(row, i, end) or _somebody(row, i, end)


def _room(row: Sequence[Node], i: int, end: int) -> bool:
    """'in the scullery I've ...', 'back kitchen, ...'."""
    while i < end and (row[i].norm in _TO_ROOM or row[i].norm in _LEADS):
        i += 1
    return i + 1 < end and row[i].kind in ("room", "head") and row[i + 1].norm in _ROOM_SAYS


def _matter(row: Sequence[Node], i: int, end: int) -> bool:
    """'the hot's capped', 'bath waste is in', 'hot and cold for the basin ...'; 'hot and cold, ...' after a verb."""
    first, named = i, False
    while i < end and (row[i].norm in _LEADS or row[i].kind in _NAMES or (named and row[i].norm == "and")):
        named = named or row[i].kind in NAME_KINDS
        i += 1
    if not named or i == end:
        return False
    heads = row[i].norm == "for" or (row[i].norm == "," and i - first > 1 and row[i + 1].norm not in _JOINTS)
    # 'connected it, flow and return, and ...' only says what 'it' is
    opens = row[first - 2].kind == "word" and row[first - 2].norm not in _THEM
    return row[i].norm in _SAYS or (heads and opens)


def _somebody(row: Sequence[Node], i: int, end: int) -> bool:
    """'I've run ...', 'there's a ...'."""
    if i + 1 >= end:
        return False
    if row[i].norm == "there":
        return row[i + 1].norm in _IS
    them = any(n.norm in _THEM for n in row[i + 2 : min(i + 7, end)])
    return row[i].norm in _SELF and row[i + 1].norm in _I_DO and not them
