"""Covering told before its pipes: 'The slab's poured. Under it there's the main and the soil.'"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.mentions import PIPE_KINDS
from notes.reading.patterns import macro_words
from notes.reading.said import Said

_COVERERS = macro_words("COVERERS")
_TOLD_OF_THEM = frozenset("test insulate clip photograph cap join fill flush drain isolate cover sleeve seal".split())
_POINTS = re.compile(
    r"\b((under|behind|beneath|below|inside|above|in) (it|that|there|them)|(up|down|back|all) there|underneath)\b"
)

_IN_A_LIST = frozenset(
    ", . ; ! and the that 's is my works lot all of it them both everything two three four".split(" ")
)


def leave_hanging(said: Said, act: Act, status: Status, cue: str) -> None:
    """Keep covering that no pipe is known for; 'the tiler's due Friday' does not say what he will cover."""
    told = act.action == "cover" and status in (Status.DONE, Status.TO_DO)
    if told and said.norm(act.start) not in _COVERERS:
        said.scene.hanging = act, status, cue


def hung_on(said: Said, events: Sequence[Event]) -> list[Event]:
    """The covering that was left hanging, of the pipes that this sentence is the first to name."""
    waits, named = said.scene.hanging, [g for g in said.groups if not g.referred]
    if waits is None or not named:
        return []
    said.scene.hanging = None
    act, status, cue = waits
    mine = [e for e in events if set(e.keys) & set(named[0].keys)]
    points = bool(_POINTS.search(said.joined(said.start, said.end)))
    if act.start >= said.start or any(e.action == "cover" for e in mine):
        return []
    # 'They've sheeted the ceiling. Soil, waste, hot and cold, the works.'
    listed = not events and all(n.kind in PIPE_KINDS or n.norm in _IN_A_LIST for n in said.row[said.start : said.end])
    if not points and not listed and not (mine and all(e.action in _TOLD_OF_THEM for e in mine)):
        return []
    number = said.clause_of(named[0].start)
    clause = said.clauses[number]
    here = replace(act, start=clause.start, end=clause.end)
    return [Event(here, number, status, cue, named[0].keys, None, said.here(), span=(clause.start, clause.end))]
