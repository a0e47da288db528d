"""A heading's pipe told stretch by stretch: 'Rising main. As far as the landing, thirty-five. Twenty-eight above.'

Pure. A sentence that names no pipe and does no work, but tells a size and how far it goes, speaks of the pipes that
were named last.
"""

from __future__ import annotations

from notes.model import Status
from notes.reading import scope
from notes.reading.actions import Act
from notes.reading.clauses import WAITING, Clause
from notes.reading.event import Event
from notes.reading.mentions import PIPE_KINDS
from notes.reading.nominal import is_size
from notes.reading.said import Said
from notes.reading.things import STRUCTURE
from notes.reading.wordlists import pattern

_FAR, _ON, _MEASURED = pattern("stretch-first"), pattern("stretch-on"), pattern("measured")
_CUE = "stretch"
_LONGEST = 12
"""Nodes of a clause that tells a stretch."""


def stretches(said: Said) -> list[Event]:
    """A run for each size of a sentence that tells stretches of the pipes in mind."""
    before = said.scene.told_before
    on = before.keys if before is not None and before.cue.startswith(_CUE) else ()
    keys = headed_pipes(said) or on or said.scene.group or said.scene.glanced
    if (
        said.groups
        or not keys
        or not said.clauses
        or said.clauses[0].question
        or any(c.lead in WAITING for c in said.clauses)
    ):
        return []
    last = said.scene.last
    if last is not None and last[0] == "item" and last[1] not in STRUCTURE:
        return []
    sized = [n for n, c in enumerate(said.clauses) if _size(said, c) is not None]
    whole = said.unmarked(said.start, said.end)
    if not sized or not (_FAR.match(whole) or _ON.search(whole) or _measured(said)):
        return []
    return [run for n in sized if (run := _stretch(said, n, keys)) is not None]


def _measured(said: Said) -> bool:
    """'Put the calipers on the cold. Fifteen, that is.': a size alone, after a sentence that tells of measuring."""
    rest = [n for n in said.row[said.start : said.end] if n.kind not in ("qty", "material", "mark")]
    start = before_it(said)
    return all(n.norm in _IT_IS for n in rest) and bool(_MEASURED.search(said.unmarked(start, said.start)))


_IT_IS = frozenset("it that they is 's are all only just both of them mil".split())


def before_it(said: Said) -> int:
    """The node where the sentence before begins."""
    start = max(0, said.start - 1)
    while start > 0 and said.row[start - 1].norm not in (".", "?", "!"):
        start -= 1
    return start


def heading_before(said: Said) -> bool:
    """Whether the sentence before only names pipes: 'Rising main.', 'Gas now.'."""
    heading = [n for n in said.row[before_it(said) : max(0, said.start - 1)] if n.norm not in _TURNS]
    return 0 < len(heading) < _HEADING and heading[-1].kind in PIPE_KINDS and told_of_nothing(said)


_TURNS = frozenset("now next first then again ,".split())
_HEADING = 8
"""Nodes that a heading has fewer of."""


def headed_pipes(said: Said) -> tuple[str, ...]:
    """The pipes of a heading just before, even where the sentence enters a room; () where there is none."""
    return (said.scene.group or said.scene.past) if heading_before(said) else ()


def told_of_nothing(said: Said) -> bool:
    """Whether the sentence before told of no work: 'The drawing's got a hot return up here. Bin it.'."""
    start = before_it(said)
    return all(e.span[1] <= start for e in said.scene.recent)


def _size(said: Said, clause: Clause) -> int | None:
    told = [i for i in range(clause.start, clause.end) if is_size(said.row, i) and i not in said.scene.void]
    return told[0] if told and clause.end - clause.start <= _LONGEST else None


def _stretch(said: Said, number: int, keys: tuple[str, ...]) -> Event | None:
    clause = said.clauses[number]
    i = _size(said, clause)
    if i is None:
        return None
    act = Act("run", "done", "pipe", i, i + 1)
    status, cue = scope.decide(act, said.governing(act, clause), False)
    start = said.clauses[number - 1].start if number and _size(said, said.clauses[number - 1]) is None else clause.start
    if status is not Status.DONE:
        return None
    return Event(act, number, status, f"{_CUE}, {cue}", keys, None, said.here(), span=(start, clause.end))
