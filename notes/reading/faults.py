"""Where a joint is that has to be made again: 'it's weeping at the union on the boiler, I'll remake that'."""

from __future__ import annotations

from notes.reading.clauses import sentence_before
from notes.reading.event import Event
from notes.reading.mentions import PIPE_KINDS
from notes.reading.places import bits
from notes.reading.said import Said

_FAULTS = frozenset(
    "weep weeping weeps weeped leak leaking leaks leaked elbow joint coupling union nut tee pinch kink flange".split()
)
_NEAR = 3
"""Nodes between what is wrong and the words that say where."""


def fault_place(said: Said, event: Event) -> str | None:
    """Where a fault was told in this sentence or the one before, for a joint made or to be made that says no place."""
    if event.action != "join" or "to_size_mm" in event.slots:
        return None
    return _told(said, said.start, event.start) or _told(said, sentence_before(said.row, said.start), said.start)


def _told(said: Said, start: int, stop: int) -> str | None:
    for i in range(start, stop):
        if said.row[i].norm not in _FAULTS:
            continue
        found = [b for b in bits(said.row, i + 1, stop) if b.kind == "place" and b.start - i <= _NEAR]
        if found and not any(n.kind in PIPE_KINDS for n in said.row[found[0].start : found[0].end]):
            return said.words(found[0].start, found[0].end)
    return None
