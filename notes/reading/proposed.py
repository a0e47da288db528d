"""What only the second reader hears: work told where no rule found any. Whether it is believed is asked as of all."""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import ACTIONS, ITEMS, PIPES, Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.fill import fill
from notes.reading.said import Said
from notes.reading.second import Opinion, above_even

CUE = "second reader"
_SURE = 1.0
"""Log odds of the words' surest node from which they may tell the work."""
_SUBJECT, _DIM = 0.5, -1.5
"""Mean log odds above which words are of a pipe or thing; and of the one heard best, where none is heard so well."""
_BACK = 25
"""Nodes back in which a thing may have been named."""
_SUBJECTS = frozenset(PIPES + ITEMS)
_FEWEST = 3
"""Nodes that tell work: fewer are a word that looks like some."""
_NEAR = 3
"""Nodes between words of the same work that are told once."""
WORK = [(f"{action} {status}", action, status) for action in ACTIONS for status in Status]


def proposed(said: Said, told: Sequence[Event], second: Opinion) -> list[Event]:
    """Work heard in a sentence beside what rules found in it (`told`, believed or not)."""
    out: list[Event] = []
    peak = second.peak(said.start, said.end)
    for label, action, status in WORK:
        if peak[second.labels[label]] <= _SURE:
            continue
        odds = second.of(label, said.start, said.end).tolist()
        for start, end in above_even(odds, said.start, missing=1):
            if end - start < _FEWEST or max(odds[start - said.start : end - said.start]) <= _SURE:
                continue
            known = {key for e in (*told, *out) if _same(e, action, start, end) for key in e.keys}
            if keys := tuple(key for key in _heard_of(said, second, start, end) if key not in known):
                out.append(_event(said, action, status, keys, start, end))
    fill(said, out)
    return out


def _same(event: Event, action: str, start: int, end: int) -> bool:
    return event.action == action and event.span[0] < end + _NEAR and event.span[1] > start - _NEAR


def _heard_of(said: Said, second: Opinion, start: int, end: int) -> tuple[str, ...]:
    """The pipes or things that the words are of: those heard; else the one heard best; else what was named last."""
    mean = second.mean(start, end)
    odds = {key: mean[second.labels[key]] for key in PIPES + ITEMS}
    if heard := tuple(key for key in odds if odds[key] > _SUBJECT):
        return heard
    best = max(odds, key=odds.__getitem__)
    return (best,) if odds[best] > _DIM else _named_before(said, start)


def _named_before(said: Said, start: int) -> tuple[str, ...]:
    """'The trap's cracked. That wants ordering.': what is named last before node `start`."""
    for node in reversed(said.row[max(0, start - _BACK) : start]):
        if node.keys and _SUBJECTS.issuperset(node.keys):
            return node.keys
    return ()


def _event(said: Said, action: str, status: Status, keys: tuple[str, ...], start: int, end: int) -> Event:
    number = said.clause_of(start)
    rooms = said.rooms_told[number] if number < len(said.rooms_told) else said.here()
    act = Act(action, "done", "any", start, end)
    return Event(act, number, status, CUE, keys, None, rooms, span=(start, end))
