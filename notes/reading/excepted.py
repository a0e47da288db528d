"""Exceptions: 'all lagged bar the cold', 'everything except the gas is tested', 'nothing's capped but the waste'."""

from __future__ import annotations

from dataclasses import replace

from notes.model import Status
from notes.reading.event import Event
from notes.reading.said import Said
from notes.reading.scene import Group
from notes.reading.things import DETERMINERS
from notes.reading.wordlists import pattern, words

_BAR = pattern("except", after="$")
_ALL = words("everything") | {"every", "them"}
_OTHERWISE = {Status.DONE: Status.NOT_DONE, Status.NOT_DONE: Status.DONE}


def note_excepted(said: Said) -> None:
    """Pipes that are excepted are not those that the clause tells of."""
    for group in said.groups:
        group.referred = group.referred or _is_excepted(said, group)


def _is_excepted(said: Said, group: Group) -> bool:
    i = group.start
    while i > said.start and said.norm(i - 1) in DETERMINERS:
        i -= 1
    if said.norms(i, i + 2)[:1] == ["that"] and i + 1 < group.start:
        # 'apart from that the gas is sealed' excepts no gas
        return False
    ahead = said.norms(max(said.start, i - 3), i)
    if not _BAR.search(" ".join(ahead)):
        return False
    # 'but the cold' needs an 'all' before it, and nothing more said of the cold
    ends = group.end >= said.end or said.row[group.end].kind == "mark" or said.norm(group.end) == "yet"
    before = said.norms(max(said.start, i - 8), i)
    return ahead[-1] != "but" or (ends and bool(_ALL & set(before)))


def excepted(said: Said, events: list[Event]) -> list[Event]:
    """The events with the contrary told of the pipes that were excepted."""
    out = list(events)
    for group in said.groups:
        if not _is_excepted(said, group):
            continue
        work = [a for a in said.acts if a.on == "pipe" and (a.end <= group.start or a.start >= group.end)]
        before = [a for a in work if a.end <= group.start]
        if not work:
            continue
        act = before[-1] if before else work[0]
        mine = [e for e in out if e.start == act.start]
        status = mine[-1].status if mine else Status.DONE
        if status not in _OTHERWISE or (not mine and act.form != "done"):
            continue
        for event in mine:
            event.keys = tuple(k for k in event.keys if k not in group.keys)
        number = said.clause_of(group.start)
        at, span = replace(act, start=group.start, end=group.end), (said.clauses[number].start, group.end)
        rest = Event(at, number, _OTHERWISE[status], "excepted", group.keys, None, said.here(), span=span)
        out = [e for e in out if e.keys and not (e.clause == number and e.keys == group.keys)] + [rest]
    return out
