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
        rooms = said.there(number, events)
        rest = Event(at, number, _OTHERWISE[status], "excepted", group.keys, None, rooms, span=span)
        out = [e for e in out if e.keys and not (e.clause == number and e.keys == group.keys)] + [rest]
    return out + _part_left_out(said, out)


def _part_left_out(said: Said, events: list[Event]) -> list[Event]:
    """'lagged bar the last metre', 'clipped except behind the bath': a stretch that is still to do."""
    told = [e for e in events if e.action in _BY_THE_METRE and e.status is Status.DONE and e.piped]
    if len(told) != 1:
        return []
    start = told[0].act.end
    stop = min(
        [g.start for g in said.groups if g.start >= start] + [e.start for e in events if e.start > start] + [said.end]
    )
    if not (found := _PART.search(said.joined(start, stop))):
        return []
    at = start + found.string[: found.start()].count(" ")
    act, number = replace(told[0].act, start=at, end=at + 1), said.clause_of(at)
    span = (at, said.clauses[said.clause_of(stop - 1)].end)
    return [Event(act, number, Status.NOT_DONE, "excepted", told[0].keys, None, told[0].rooms, span=span)]


_BY_THE_METRE = frozenset(("insulate", "clip"))
_PART = pattern("except-part")
