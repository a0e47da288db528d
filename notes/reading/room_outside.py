"""What lies out of doors or is told by a drain there: pipes end in it, and nobody moves. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.mentions import NAME_KINDS, Node
from notes.reading.wordlists import words as word_list

OUTSIDE = frozenset(("outside", "outdoors", "underneath"))
DRAINS = word_list("drains-outside")


def of_drain(row: Sequence[Node], i: int, j: int, start: int) -> bool:
    """'out through the wall to the gully in the court', '... outside': where the pipe ends, nobody moves."""
    if row[i].norm in OUTSIDE and {"to", "into"} & {n.norm for n in row[max(start, i - 4) : max(start, i - 1)]}:
        return True
    if j - 3 < start:
        return False
    if (
        row[j].norm in ("in", "at")
        and row[j - 1].kind == "item"
        and {"from", "off"} & {n.norm for n in row[max(start, j - 3) : j - 1]}
    ):
        # 'in from the meter in the yard'
        return True
    # 'waste's out to the gully in the yard', '... the gully lane side'
    drain = j - 1 if row[j].norm in ("in", "at") else j
    return row[drain].norm in DRAINS and bool(
        {"to", "into", "for", "in"} & {n.norm for n in row[max(start, drain - 3) : drain]}
    )


def lies_outside(row: Sequence[Node], i: int, start: int, end: int) -> bool:
    """'the bit outside's not lagged', 'it's left open outside', 'up the outside', but 'outside ...', 'I'm outside'."""
    ahead = {n.norm for n in row[start:i]}
    if not ahead:
        # 'outside is dark', 'out through the wall, outside, near the ground'
        if i + 1 < end and row[i + 1].norm in ("is", "'s", "are"):
            return all(n.kind == "word" for n in row[i + 1 : end])
        return 0 < start < len(row) - 1 and row[start - 1].norm == row[i + 1].norm == ","
    things = any(n.kind in NAME_KINDS or n.norm in PIECES for n in row[start:i])
    return things or row[i - 1].norm == "the" or not ahead <= _SELF


_SELF = (
    word_list("room-moving")
    | word_list("room-walking")
    | frozenset("i we am are have just still here go going gone stepped".split())
)
PIECES = frozenset("bit bits length piece end run one part".split())
