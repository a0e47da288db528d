"""Somebody turns to another room: 'Stepping through to the scullery, ...', 'Now for the loft.', 'That leaves the hall.'

What only says so becomes 'in the scullery', in a sentence of its own, before any rule looks for work in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from notes.reading.mentions import NAME_KINDS, Node
from notes.reading.wordlists import pattern, words

_ANYWHERE, _OPENING = pattern("room-turned", "(?:", ")(?!\\S)"), pattern("room-turned-opening", "(?:", ")(?!\\S)")
_AFTER, _NOT_LED = words("room-turned-after"), words("room-ends") | words("room-in") | {"which", "where"}
_JOINTS = frozenset(("and", "but", "so", "then", "now", "next", "right"))
_ENDS = frozenset((".", "?", "!", ";"))
_FAR = 14
"""Words of a turn before its room."""
_NAME = 3
"""Words between the turn and the room's name: 'the first floor ...'."""


def turned(row: Sequence[Node]) -> list[Node]:
    """The row with turns to a room said as 'in'."""
    out: list[Node] = []
    done = 0
    for i, node in enumerate(row):
        if node.kind not in ("room", "head") or not _left_there(row, i):
            continue
        start = _clause_start(row, i, done)
        if (told := _turn(row, start, i) or _from_there(row, start, i)) is None:
            continue
        out += row[done:start]
        _part(out)
        out += [replace(row[told - 1], norm="in"), *row[told : i + 1]]
        done = _past_where(row, i + 1)
    return [*out, *row[done:]] if done else list(row)


def _left_there(row: Sequence[Node], i: int) -> bool:
    """Whether the room is named for itself, not for a thing or a day: 'to the scullery sink', '... tomorrow'."""
    return i + 1 == len(row) or row[i + 1].kind == "mark" or row[i + 1].norm in _AFTER


def _clause_start(row: Sequence[Node], i: int, done: int) -> int:
    """Where the plain words that lead to the room at node i begin: after a mark, and not before `done`."""
    start = i
    while start > max(done, i - _FAR) and row[start - 1].kind != "mark" and row[start - 1].kind not in NAME_KINDS:
        start -= 1
    return start


def _turn(row: Sequence[Node], start: int, i: int) -> int | None:
    """Where the words end that say no more than that one turns to the room at node i."""
    if start and row[start - 1].kind != "mark":
        return None
    first = start
    while first < i and row[first].norm in _JOINTS and row[first + 1].kind == "word":
        first += 1
    opens = start == 0 or row[start - 1].norm in _ENDS
    for at in range(start, first + 1):
        said = " ".join("R" if n.kind in ("room", "head") else n.norm for n in row[at:i])
        found = _ANYWHERE.match(said) or (_OPENING.match(said) if opens else None)
        if found:
            end = at + len(found[0].split())
            led = [n.norm for n in row[end:i]]
            return end if len(led) <= _NAME and not _NOT_LED & set(led) else None
    return None


def _from_there(row: Sequence[Node], start: int, i: int) -> int | None:
    """'Thursday, Jan here, from the loft, ...': before any pipe or thing, it is the speaker who is there."""
    first = start
    while first < i and row[first].norm in _GREETS:
        first += 1
    alone = i + 1 == len(row) or row[i + 1].kind == "mark"
    if row[first].norm != "from" or i - first > _NAME or not alone or not start:
        return None
    return None if any(n.kind in NAME_KINDS or n.norm in _ENDS for n in row[:start]) else first + 1


_GREETS = frozenset("live again here today still reporting morning and".split())


def _part(out: list[Node]) -> None:
    """What was said before ends there."""
    if out and out[-1].kind == "mark" and out[-1].norm not in _ENDS:
        out[-1] = replace(out[-1], norm=".")


def _past_where(row: Sequence[Node], i: int) -> int:
    """', where I have capped the hot': what follows is told there."""
    for skip in (0, 1):
        if i + skip < len(row) and row[i + skip].norm == "where" and (not skip or row[i].kind == "mark"):
            return i + skip + 1
    return i
