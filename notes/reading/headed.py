"""Reports that name the work as a heading, and then say how far each pipe is: 'Lagging: hot done, return to follow'."""

from __future__ import annotations

from dataclasses import replace

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_SAID_OF = (
    (Status.NOT_DONE, pattern("report-not-done")),
    (Status.TO_DO, pattern("report-to-do")),
    (Status.DONE, pattern("report-done")),
)
_FORMS = ("ing", "noun", "base")


def under_heading(said: Said) -> list[Event]:
    """The work that a heading names, of each pipe that a word or two after it gives a verdict on; else none."""
    if not said.groups or (act := _heading(said)) is None:
        return []
    told: list[Event] = []
    waiting: tuple[str, ...] = ()
    for n, group in enumerate(said.groups):
        stop = said.groups[n + 1].start if n + 1 < len(said.groups) else said.end
        verdict = said.unmarked(group.end, stop).removesuffix(" and").removesuffix(" but")
        waiting = (*waiting, *group.keys)
        if verdict in ("", "and"):
            continue
        status = next((s for s, said_so in _SAID_OF if said_so.fullmatch(verdict)), None)
        if status is None:
            return []
        number, span = said.clause_of(group.start), (group.start, stop)
        at = replace(act, start=group.start, end=stop)
        told.append(Event(at, number, status, "heading", waiting, group.serves, said.here(), span=span))
        waiting = ()
    return told


def _heading(said: Said) -> Act | None:
    """The work that opens the sentence alone, before a colon."""
    acts = [a for a in said.acts if a.start == said.start and a.on == "pipe" and a.form in _FORMS]
    alone = bool(acts) and acts[0].end < said.groups[0].start and said.norm(acts[0].end) == ":"
    return acts[0] if alone else None
