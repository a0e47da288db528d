"""Where a pipe is, starts and ends, as the second reader hears it, beside what rules made of the same words."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.event import Event
from notes.reading.places import names_something
from notes.reading.said import Said
from notes.reading.second import Opinion, above_even
from notes.reading.whose import window
from notes.reading.wordlists import words as word_list

ENDS = ("place", "from_", "to")
"""Slots whose words the second reader hears."""
_WAYS = {"of", "the"}.union(*map(word_list, ("ways", "way-words", "place-to", "place-from")))
"""Words that only lead to an end."""
HOLES = ("drill", "notch")
"""Where a hole is and how wide it is bears on the structure: what rules found of it stays."""
_TOLD = 0.0
"""Log odds from which a fact has a place, a start, an end."""
_NONE = -2.0
"""Log odds below which a fact has none, whatever rules found."""


def overheard(said: Said, events: Sequence[Event], second: Opinion) -> None:
    """Put in the places, starts and ends that only the second reader hears; leave out those in which it hears none."""
    if not events:
        return
    for slot in ENDS:
        heard = above_even(second.of(slot, said.start, said.end).tolist(), said.start)
        stretches = [stretch for stretch in heard if names_something(said.row[slice(*stretch)])]
        for event in events:
            odds = has_one(second, slot, event)
            if odds < _NONE and event.action not in HOLES:
                event.slots.pop(slot, None)
            elif odds > _TOLD and not event.slots.get(slot) and (near := _nearest(said, event, events, stretches)):
                event.slots[slot] = said.words(*near)
    for event in events:
        _told_once(event)


def _told_once(event: Event) -> None:
    """'along to the back wall' says no place beside the end that it tells, nor is it a part of the start."""
    for other, slot in (("place", "to"), ("place", "from_"), ("from_", "to")):
        words, end = str(event.slots.get(other, "")), str(event.slots.get(slot, ""))
        if end and words.endswith(end):
            rest = words.removesuffix(end).split()
            while rest and rest[-1].lower() in _WAYS:
                rest.pop()
            if rest and other == "from_":
                event.slots[other] = " ".join(rest)
            elif not rest and other == "place":
                event.slots.pop(other)


def has_one(second: Opinion, slot: str, event: Event) -> float:
    """Log odds of an event's words telling a slot: of its work or of all of them, what is surer."""
    label = second.labels[f"with {slot}"]
    return max(second.mean(*span)[label] for span in (event.work, event.span))


def _nearest(
    said: Said, event: Event, events: Sequence[Event], stretches: Sequence[tuple[int, int]]
) -> tuple[int, int] | None:
    """Of the stretches among the words that may be the event's, the one that is nearest to its work."""
    start, end = window(said, event, events)
    start, end = min(start, event.span[0]), max(end, event.span[1])
    mine = [(a, b) for a, b in stretches if a < end and b > start]
    return min(mine, key=lambda s: (max(s[0] - event.act.end, event.act.start - s[1], 0), s), default=None)
