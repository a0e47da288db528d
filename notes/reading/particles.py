"""A heading and one word on it: 'Soil. In, four inch.', 'Cylinder. Out, gone.'.

Also after a clause that only names: 'Hot and cold, in. Waste, not yet.' Pure.
"""

from __future__ import annotations

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.event import Event
from notes.reading.mentions import NAME_KINDS, PIPE_KINDS
from notes.reading.said import Said
from notes.reading.stretches import before_it, headed_pipes, told_of_nothing
from notes.reading.things import STRUCTURE
from notes.reading.wordlists import pattern

_IN, _UP, _OUT, _NOT = (pattern(f"bare-{name}", "", r"\Z") for name in ("in", "up", "out", "not"))
_NAMES = frozenset("the my that his her old new and both a , now next then again".split())


def on_heading(said: Said, number: int) -> list[Event]:
    """What a clause of one or two words says of the pipes or thing that stand alone before it."""
    clause = said.clauses[number]
    text = said.joined(clause.start, clause.end)
    if clause.question or not any(way.match(text) for way in (_IN, _UP, _OUT, _NOT)):
        return []
    pipes, thing = _alone_before(said, number)
    if not pipes and not thing:
        return []
    act = Act(_work(text, pipes), "done", "pipe" if pipes else "item", clause.start, clause.end)
    if act.action == "":
        return []
    status = Status.NOT_DONE if _NOT.match(text) else Status.DONE
    keys = pipes or (thing,)
    return [Event(act, number, status, "on heading", keys, None, said.here(), span=(clause.start, clause.end))]


def _work(text: str, pipes: tuple[str, ...]) -> str:
    if pipes:
        return "run" if _IN.match(text) or _NOT.match(text) else ""
    return "remove" if _OUT.match(text) else "fit"


def _alone_before(said: Said, number: int) -> tuple[tuple[str, ...], str]:
    """The pipes, or the thing, that the clause or the sentence before only names."""
    if number:
        before = said.clauses[number - 1]
        if said.acts_in(before):
            # 'Lagging, not yet': work named, no thing
            return (), ""
        named = said.named(before)
        pipes = named[0].keys if len(named) == 1 else ()
        return (pipes, _thing(said, before.start, before.end)) if _only_names(said, before) else ((), "")
    start, end = before_it(said), max(0, said.start - 1)
    if not told_of_nothing(said) or end - start > _HEADING:
        return (), ""
    return headed_pipes(said), _thing(said, start, end)


_HEADING = 4
"""Nodes that the heading of a thing takes at most."""


def _only_names(said: Said, clause: Clause) -> bool:
    return all(n.kind in NAME_KINDS or n.norm in _NAMES for n in said.row[clause.start : clause.end])


def _thing(said: Said, start: int, end: int) -> str:
    """The one thing that nodes `start:end` name beside no pipe; else ''."""
    row = said.row[start:end]
    if any(n.kind in PIPE_KINDS or (n.kind == "word" and n.norm not in _NAMES) for n in row):
        return ""
    things = [n.keys[0] for n in row if n.kind == "item" and n.keys[0] not in STRUCTURE]
    return things[0] if len(things) == 1 else ""
