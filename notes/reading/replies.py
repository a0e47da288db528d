"""Questions that a speaker answers himself: 'Is the hot capped? It is. Cold? Not yet.'"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.said import Said
from notes.reading.subjects import subject_of
from notes.reading.wordlists import pattern, words

_ASKS, _ASKED_OF = words("asks"), words("asked-of")
_OPEN = words("questions-open")
"""'who capped it' is not answered by yes or no."""
_REPLIES = tuple(
    (status, pattern(f"reply-{name}", "(?:(?:well|er|um|so|now|oh|erm) )*", r"\Z"))
    for status, name in (
        (Status.DONE, "yes"), (Status.NOT_DONE, "no"), (Status.UNSURE, "unsure"), (Status.TO_DO, "to-do"),
    )
)  # fmt: skip
_NOT_OF_WORK = frozenset(("ask", "order", "decide", "photograph"))


def replied(said: Said, asked: Sequence[Event]) -> tuple[list[Event], bool]:
    """What an answer tells of the work that the sentence before `asked` of, and whether it is all that is said."""
    for end in (said.end, said.clauses[0].end) if asked and said.clauses else ():
        if (status := _reply(said, said.start, end)) is not None:
            return [_answered(e, status, said.start, end) for e in asked], end == said.end
    return [], False


def _answered(asked: Event, status: Status, start: int, end: int) -> Event:
    act = replace(asked.act, start=start, end=end)
    return replace(asked, act=act, clause=0, status=status, span=(start, end))


def _reply(said: Said, start: int, end: int) -> Status | None:
    text = said.unmarked(start, end)
    return next((status for status, way in _REPLIES if way.match(text)), None)


def asked_of(said: Said, events: Sequence[Event], before: Sequence[Event]) -> list[Event]:
    """The work that a question asks of; that of the last answer, `before`, where it only names other pipes."""
    if not said.clauses:
        return []
    opened = said.norms(said.start, said.start + 2)
    asks = said.clauses[-1].question or (opened[0] in _ASKS and opened[-1] in _ASKED_OF)
    if events or not asks or opened[0] in _OPEN:
        return []
    work = [a for a in said.acts if a.action not in _NOT_OF_WORK]
    if not work and len(said.groups) == 1:
        keys = said.groups[0].keys
        return [replace(e, keys=keys, rooms=said.here()) for e in before if e.cue == "answer" and e.piped]
    return [event for act in work if (event := _asked(said, act)) is not None]


def _asked(said: Said, act: Act) -> Event | None:
    number = said.clause_of(act.start)
    if any(c.cue.status == Status.TO_DO for c in said.governing(act, said.clauses[number])):
        # 'do we need to lag it?'
        return None
    keys, serves = subject_of(said, act, number)
    done = replace(act, form="done")
    return Event(done, number, Status.DONE, "answer", keys, serves, said.here()) if keys else None
