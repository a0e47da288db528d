"""What the words after a test say of it: how long it stood, whether it held or fell."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.event import Event
from notes.reading.mentions import Node
from notes.reading.nominal import unit_value
from notes.reading.putright import FAILED
from notes.reading.said import Said
from notes.reading.wordlists import pattern, words

PASSED = pattern("passed")
_TO = words("reads-at")
_LOST = words("lost-words")
_NOT_BARS = words("no-reading-before")
_NEAR = 3
"""Nodes between 'lost' and how much of it."""
_MARKS = frozenset((",", ".", ";", "?", "!"))


def failed(text: str) -> bool:
    """Whether words say that a test failed, 'not a leak' and 'never dropped' aside."""
    return bool(FAILED.search(PASSED.sub(" ", text)))


def went(said: Said, event: Event, events: Sequence[Event], start: int, end: int) -> None:
    """Say whether a test failed, and how long it stood where `start:end`, its own words, do not tell.

    A failure told elsewhere in the sentence counts where nothing beside the test says that it passed.
    """
    first, last = _rest(said, event, events)
    if event.cue != "verdict":
        for slot in ("duration_min", "pressure_bar"):
            if value := told_of(slot, said.row, first, last):
                event.slots.setdefault(slot, value)
    words_told = f"{said.joined(start, end)} | {said.joined(first, last)}"
    passed = bool(PASSED.search(words_told))
    elsewhere = not passed and failed(said.joined(said.start, said.end))
    lost = not passed and fell(said.row, first, last, event.slots.get("pressure_bar"))
    event.slots["failed"] = event.cue == "verdict" or failed(words_told) or elsewhere or lost


def _rest(said: Said, event: Event, events: Sequence[Event]) -> tuple[int, int]:
    """The nodes after a test that may tell of it: up to the next work, or other pipes that begin a clause."""
    stop = min((e.start for e in events if e.start > event.start and e.start >= event.act.end), default=said.end)
    for clause in said.clauses[event.clause + 1 :]:
        if clause.start >= stop:
            break
        if clause.start >= event.act.end and any(not set(g.keys) & set(event.keys) for g in said.named(clause)):
            return event.act.end, clause.start
    return event.act.end, stop


def told_of(slot: str, row: Sequence[Node], start: int, end: int) -> float | None:
    """The first time or pressure that the nodes `start:end` tell."""
    told = (unit_value(node) for node in row[start:end])
    return next((value[1] for value in told if value and value[0] == slot), None)


def fell(row: Sequence[Node], start: int, end: int, pressure: object) -> bool:
    """Whether the nodes tell that some of `pressure` (in bar) was lost: 'lost two in ten minutes', 'down to four'."""
    return any(_less(row, i, pressure) for i in range(start, end))


def _less(row: Sequence[Node], i: int, pressure: object) -> bool:
    q = row[i].qty
    if q is None or q.unit not in (None, "bar", "millibar") or not isinstance(pressure, int | float):
        return False
    after = row[i + 1].norm if i + 1 < len(row) else "."
    if q.unit is None and not (after in _MARKS or after in _NOT_BARS):
        return False
    thousand = q.unit == "millibar" or (q.unit is None and pressure < 1)
    value = q.value / 1000 if thousand else q.value
    before = [node.norm for node in row[max(0, i - _NEAR) : i]]
    return value < pressure and ((before[-1:] and before[-1] in _TO) or bool(_LOST & set(before)))
