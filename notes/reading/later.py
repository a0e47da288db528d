"""What the next sentence adds to a test: 'Six bar on the hot. An hour, no drop.' is one test, told in two breaths."""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import Status
from notes.reading.each import of_each
from notes.reading.event import Event
from notes.reading.held import PASSED, fell, told_of
from notes.reading.held import failed as fails
from notes.reading.said import Said

_BREATH = 14
"""Nodes that a time and a verdict take at most."""


def added(said: Said, events: Sequence[Event], before: Sequence[Event]) -> list[Event]:
    """`events` of a sentence without what only goes on with a test of the sentence `before`, which takes it over."""
    tests = [e for e in before if e.action == "test" and e.status is Status.DONE and e.piped]
    if not tests:
        return list(events)
    if any(not g.referred for g in said.groups):
        found = of_each(said, events, tests)
        return list(events) if found is None else found
    if not events:
        _bare(said, tests[-1])
        return []
    return [e for e in events if not any(_goes_on(said, e, test) and _take_over(test, e) for test in tests[-1:])]


def _goes_on(said: Said, event: Event, test: Event) -> bool:
    again = event.action == "test" and event.status is Status.DONE and event.like is None
    if not again or set(event.keys) != set(test.keys) or set(event.rooms) != set(test.rooms):
        return False
    both = [slot for slot in ("pressure_bar", "duration_min") if slot in event.slots and slot in test.slots]
    return not both or (both == ["pressure_bar"] and _less(said, event, test))


def _less(said: Said, event: Event, test: Event) -> bool:
    """'Six bar on the hot. After thirty minutes, five bar.': what was left, or was lost."""
    left, was = event.slots["pressure_bar"], test.slots["pressure_bar"]
    numbers = isinstance(left, int | float) and isinstance(was, int | float) and left < was
    if numbers and "duration_min" in event.slots and said.norm(said.start) == "after":
        event.slots["failed"] = True
    return bool(numbers and "duration_min" in event.slots and event.slots.get("failed"))


def _take_over(test: Event, event: Event) -> bool:
    for slot in ("pressure_bar", "duration_min"):
        if slot in event.slots:
            test.slots.setdefault(slot, event.slots[slot])
    test.slots["failed"] = bool(test.slots.get("failed") or event.slots.get("failed"))
    return True


def _bare(said: Said, test: Event) -> None:
    """A time and a verdict with no work of their own."""
    text = said.joined(said.start, said.end)
    minutes = told_of("duration_min", said.row, said.start, said.end)
    failed = fails(text) or fell(said.row, said.start, said.end, test.slots.get("pressure_bar"))
    if said.end - said.start > _BREATH or said.clauses[0].question or not (failed or PASSED.search(text)):
        return
    if minutes is not None:
        test.slots.setdefault("duration_min", minutes)
    if failed:
        test.slots["failed"] = True
