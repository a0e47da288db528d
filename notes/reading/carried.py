"""Which sizes and materials a fact keeps of those that are only carried along: they may be another work's.

'Twenty-two copper along the wall, clipped all the way, and sleeved': the pipe's size is told of its run, and whether it
is told of what came next is a matter of how people talk. How sure the second reader is, where the words of the size
stand, and which work it is each weigh something; the weights in data/carried.csv are learned by tests/bench/belief.py
like those of `belief.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from notes.reading.belief import summed
from notes.reading.event import Event
from notes.reading.overheard import HOLES, has_one
from notes.reading.proposed import CUE
from notes.reading.said import Said
from notes.reading.second import Opinion
from notes.reading.sizes_apart import millimetres

LEAST = {"size_mm": 0.0, "material": -1.0}
"""Log odds of being right below which a slot is left out: a wrong size does more harm than a wrong material."""
SLOTS = tuple(LEAST)
SURE = range(-5, 6)


def uncarried(said: Said, events: Sequence[Event], second: Opinion) -> None:
    """Leave out the sizes and materials told in other words than an event's own that are more likely not its own."""
    for event in (e for e in events if e.action not in HOLES):
        for slot, names in told_slots(said, event, events, second):
            if summed("carried.csv", names) < LEAST[slot]:
                _leave_out(event, slot)


def told_slots(said: Said, event: Event, events: Sequence[Event], second: Opinion) -> Iterator[tuple[str, list[str]]]:
    """The slots of an event that are told in other words than its own, and what speaks for each, by name."""
    for slot in SLOTS:
        if (value := _value(event, slot)) and not _in_own_words(said, event, slot, value):
            odds = has_one(second, slot, event)
            again = any(e.start < event.start and _value(e, slot) == value for e in events)
            how = "again" if again else "once"
            heard = f"heard {event.cue == CUE}"
            told = [how, f"{how} {event.action}", f"{how} {event.status}", event.action, f"{event.status}", heard]
            yield slot, [slot, *(f"{slot} {name}" for name in told), *(f"{slot}>{n}" for n in SURE if odds > n)]


def _value(event: Event, slot: str) -> object:
    return event.per_key_size if slot == "size_mm" and any(event.per_key_size) else event.slots.get(slot)


def _in_own_words(said: Said, event: Event, slot: str, value: object) -> bool:
    """Whether a slot stands among the words of the work or in its clause."""
    values = value if isinstance(value, tuple) else (value, event.slots.get("to_size_mm"))
    clause = said.clauses[min(event.clause, len(said.clauses) - 1)]
    nodes = {*range(*event.span), *range(clause.start, clause.end)}
    return any(_says(said, i, slot, event.keys[0], values) for i in nodes)


def _says(said: Said, i: int, slot: str, key: str, values: Sequence[object]) -> bool:
    node = said.row[i]
    if slot == "material":
        return node.kind == "material" and node.keys[0] in values
    return node.qty is not None and millimetres(said, key, i) in values


def _leave_out(event: Event, slot: str) -> None:
    event.slots.pop(slot, None)
    if slot == "size_mm":
        event.per_key_size = ()
        event.slots.pop("to_size_mm", None)
