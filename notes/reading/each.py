"""What later sentences tell of each pipe of one test: 'Ten bar on both. Hot held an hour. Cold was down to four.'"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading.event import Event
from notes.reading.held import PASSED, failed, fell, told_of
from notes.reading.said import Said
from notes.reading.scene import Group


def of_each(said: Said, events: Sequence[Event], tests: Sequence[Event]) -> list[Event] | None:
    """The tests of some of the pipes, parted from the last of `tests`, and what else the sentence tells after.

    None where it begins with anything else than how they went.
    """
    others = [e for e in events if not any(_weak(said, e, test) for test in tests)]
    stop = min((min(e.start, said.clauses[e.clause].start) for e in others), default=said.end)
    if said.clauses[0].question or set(said.here()) != set(tests[-1].rooms):
        return None
    told = list(_told(said, tests[-1], stop))
    if not told or {k for g in _named(said, stop) for k in g.keys} - _all_keys(tests):
        return None
    parts: list[Event] = []
    for keys, start, end in told:
        known = [t for t in (*tests, *parts) if keys & set(t.keys)]
        part = _part(known[-1], keys)
        if part is not known[-1]:
            parts.append(part)
        _went(said, part, start, end)
    said.scene.recent = others or [*tests, *parts]
    return [*parts, *others]


def _named(said: Said, stop: int) -> list[Group]:
    return [g for g in said.groups if not g.referred and g.start < stop]


def _all_keys(tests: Sequence[Event]) -> set[str]:
    return {key for test in tests for key in test.keys}


def _weak(said: Said, event: Event, test: Event) -> bool:
    """Whether an event may be only words for how the test went: 'hot came down to two' is no run."""
    if event.status is not Status.DONE or not set(event.keys) <= set(test.keys):
        return False
    if event.action == "run":
        return "size_mm" not in event.slots and "material" not in event.slots
    left = "pressure_bar" not in event.slots or fell(said.row, said.start, said.end, _pressure(test))
    return event.action == "test" and event.cue != "verdict" and left


def _told(said: Said, test: Event, last: int) -> Iterator[tuple[set[str], int, int]]:
    """The pipes named, and the nodes that tell how they went: from their name to the next that is named after it."""
    named = _named(said, last)
    keys: set[str] = set()
    for n, group in enumerate(named):
        keys |= set(group.keys)
        stop = named[n + 1].start if n + 1 < len(named) else last
        if _tells(said, group.end, stop, test):
            yield keys, group.end, stop
            keys = set()


def _tells(said: Said, start: int, end: int, test: Event) -> bool:
    text = said.joined(start, end)
    timed = told_of("duration_min", said.row, start, end) is not None
    return timed or bool(PASSED.search(text)) or failed(text) or fell(said.row, start, end, _pressure(test))


def _pressure(test: Event) -> object:
    return test.slots.get("pressure_bar")


def _part(test: Event, keys: set[str]) -> Event:
    """The test of `keys` alone, parted from the others that it was told of."""
    rest = tuple(k for k in test.keys if k not in keys)
    if not rest:
        return test
    part = replace(test, keys=tuple(k for k in test.keys if k in keys), slots=dict(test.slots), per_key_size=())
    test.keys, test.per_key_size = rest, ()
    return part


def _went(said: Said, test: Event, start: int, end: int) -> None:
    text = said.joined(start, end)
    if minutes := told_of("duration_min", said.row, start, end):
        test.slots["duration_min"] = minutes
    bad = failed(text) or (not PASSED.search(text) and fell(said.row, start, end, _pressure(test)))
    test.slots["failed"] = bad or bool(test.slots.get("failed"))
