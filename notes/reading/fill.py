"""Fills the slots of a sentence's events: which size, material, place, end, length, pressure is whose."""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import Status
from notes.reading.counting import count
from notes.reading.drops import drops
from notes.reading.event import Event
from notes.reading.measuring import joist, measures, outcome
from notes.reading.placing import places
from notes.reading.said import Said
from notes.reading.sizing import material, size
from notes.reading.whose import size_owners, window
from notes.reading.wordlists import words

_SIZELESS = frozenset(("ask", "decide", "photograph", "fill", "flush", "drain", "commission"))
_WITHOUT = {thing.replace("_", " ") for thing in words("things-without-size")}


def _that_size(said: Said, event: Event) -> bool:
    """'that twenty-five's not tested': of a test not done only a size that names the pipe counts."""
    after = said.row[event.act.end : event.act.end + 2]
    return len(after) == 2 and after[0].norm in ("that", "the") and after[1].tag in ("Q-num", "Q-mm")


def _sized(said: Said, event: Event) -> bool:
    """Whether a size can be told of what was done."""
    if event.action in _SIZELESS or _WITHOUT.issuperset(event.keys):
        return False
    return event.action != "test" or event.status is Status.DONE or _that_size(said, event)


def fill(said: Said, events: Sequence[Event]) -> None:
    """Fill every event's slots in place."""
    if not events:
        return
    owners, small = size_owners(said, events), drops(said)
    for event in events:
        start, end = window(said, event, events)
        if event.action in ("drill", "notch"):
            joist(said, event, start, end, owners)
        elif _sized(said, event):
            size(said, event, events, owners, small)
        measures(said, event, start, end)
        material(said, event, events, start, end)
        places(said, event, events, start, end)
        count(said, event, start, end)
        outcome(said, event, events, start, end)
