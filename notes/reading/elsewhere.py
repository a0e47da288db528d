"""The last work, said of another room in short: 'same for the hall', 'did the hall as well', 'the hall's to come'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading.clauses import WAITING
from notes.reading.event import Event
from notes.reading.mentions import NAME_KINDS
from notes.reading.rooms import spots
from notes.reading.said import Said
from notes.reading.whereabouts import WIDE
from notes.reading.wordlists import pattern

_WHOLE = "(?:(?:and|but|plus|so|then|well|though) )*"
_STATUS = {name: pattern(f"elsewhere-{name}", _WHOLE, r"\Z") for name in ("same", "to-do", "not", "done")}
_SAME = frozenset(("same", "the same", "all the same", "just the same"))
_NOWHERE = frozenset(("order", "ask", "decide"))


def elsewhere(said: Said, number: int, events: Sequence[Event]) -> list[Event]:
    """What clause `number` says of a room and nothing else: the work told last, done there or still to be done."""
    clause = said.clauses[number]
    if number and said.joined(clause.start, clause.end) in _SAME and clause.start - said.clauses[number - 1].start < 4:
        # 'Hall, the same'
        clause = replace(clause, start=said.clauses[number - 1].start)
    before = [e for e in events if e.clause < number] or said.scene.recent
    if not before or clause.question or clause.lead in WAITING or before[-1].action in _NOWHERE:
        return []
    found = spots(said.row, clause.start, clause.end, said.scene.room, said.rooms, said.start)
    if len(found) != 1 or len(found[0].rooms) != 1 or before[-1].rooms == found[0].rooms or _tells_more(said, number):
        return []
    words = [
        "R" if i == found[0].node else said.norm(i) for i in range(clause.start, clause.end) if said.norm(i) != ","
    ]
    if clause.lead in ("and", "plus") and number == len(said.clauses) - 1:
        words.insert(0, clause.lead)
    last, text = before[-1], " ".join(words)
    status = _status(text, last.status)
    if status is None or (words[0] in ("and", "plus") and last.action not in WIDE):
        # 'capped in the hall and the linen cupboard' may be one place
        return []
    all_of_it = _STATUS["same"].match(text) is not None and last.status is Status.DONE
    told = [
        e for e in before
        if e.status is last.status and e.rooms == last.rooms and (all_of_it or e.keys == last.keys)
        and e.action not in _NOWHERE
    ]  # fmt: skip
    return [_there(said, number, e, found[0].rooms, status) for e in told or [last]]


def _tells_more(said: Said, number: int) -> bool:
    """Whether the clause names a pipe or thing, or tells of work; or the next one goes on with it."""
    clause = said.clauses[number]
    if said.acts_in(clause) or any(n.kind in NAME_KINDS for n in said.row[clause.start : clause.end]):
        return True
    after = said.clauses[number + 1 : number + 2]
    return bool(after) and not after[0].lead and bool(said.acts_in(after[0]) or said.mentioned(after[0]))


def _status(text: str, last: Status) -> Status | None:
    for name, status in (("same", last), ("to-do", Status.TO_DO), ("not", Status.NOT_DONE), ("done", Status.DONE)):
        if _STATUS[name].match(text):
            return None if status is Status.NOT_DONE and last in (Status.TO_DO, Status.DROPPED) else status
    return None


def _there(said: Said, number: int, told: Event, rooms: tuple[str, ...], status: Status) -> Event:
    clause = said.clauses[number]
    act = replace(told.act, start=clause.start, end=clause.end)
    like = told if status is told.status else None
    span = (clause.start, clause.end)
    return Event(act, number, status, "elsewhere", told.keys, None, rooms, span=span, like=like)
