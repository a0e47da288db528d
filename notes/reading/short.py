"""Clauses that say the last work of other pipes or things, no more: 'same with the cold', 'not the basin yet'."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading.clauses import WAITING, Clause
from notes.reading.event import Event
from notes.reading.nominal import is_size
from notes.reading.said import Said
from notes.reading.things import DETERMINERS, STRUCTURE, in_phrase
from notes.reading.which_pipes import one_of_several
from notes.reading.wordlists import pattern

_NEEDS_ONE = pattern("short-one")
_HAS_ONE = frozenset(("sleeve", "seal", "cap", "fit"))
"""Work told by the thing that it takes: a sleeve, a collar, a cap, a valve."""
_WHOLE = "(?:(?:and|but|plus|then|so|well|mind|though) )*"
_SAME, _NOT, _TO_DO, _DONE = (
    pattern(f"short-{name}", _WHOLE, r"(?:\Z)") for name in ("same", "not", "to-do", "done")
)  # fmt: skip
_NO_MORE_OF = frozenset(("order", "ask", "decide"))
"""A thing named after these may be anything."""


def in_short(said: Said, number: int, events: Sequence[Event]) -> list[Event]:
    """What clause `number` says of the work told last, in its sentence or the last one that told any."""
    clause = said.clauses[number]
    before = [e for e in events if e.clause < number] or said.scene.recent
    doubted = _wondered(said, number)
    if not before or clause.question or (clause.lead in WAITING and not doubted):
        return []
    last = before[-1]
    if last.piped and last.status is Status.DONE and _not_beyond(said, clause):
        return [_of(said, clause, number, e, e.keys, Status.NOT_DONE) for e in _together(before, last)]
    missing = last.status is Status.NOT_DONE and last.action in _HAS_ONE
    if missing and _NEEDS_ONE.fullmatch(said.joined(clause.start, clause.end)):
        # 'no sleeve on the gas, I'll put one on'
        return [_of(said, clause, number, last, last.keys, Status.TO_DO)]
    keys, text = _as_short(said, clause, last)
    if not keys and number:
        # 'the cold, same': named in a clause of its own
        keys, text = _as_short(said, said.clauses[number - 1], last)
        text = f"X {said.joined(clause.start, clause.end)}" if _ALONE.fullmatch(text) else ""
    if not keys or (set(keys) & set(last.keys) and not text.endswith(_ONE)):
        return []
    text = text.removesuffix(_ONE)
    status = Status.UNSURE if doubted and _IS_SO.fullmatch(text) else _status(said, number, last, text)
    if status is None:
        return []
    return [_of(said, clause, number, e, keys, status) for e in _together(before, last)]


def _wondered(said: Said, number: int) -> bool:
    """'I'm not sure if the hot is': whether a clause is what the clause before it doubts."""
    if said.clauses[number].lead != "if" or not number:
        return False
    before = said.clauses[number - 1]
    return any(c.cue.status == Status.UNSURE and c.end == before.end for c in said.cues)


def _not_beyond(said: Said, clause: Clause) -> bool:
    """'beyond it they are not', 'but not past the door', 'in the loft neither is': not done there."""
    return bool(_BEYOND.match(said.joined(clause.start, clause.end))) and not said.mentioned(clause)


def _status(said: Said, number: int, last: Event, text: str) -> Status | None:
    clause = said.clauses[number]
    joined = clause.lead in ("and", "plus", "then") and number == len(said.clauses) - 1
    if _SAME.match(text) or (joined and text == "X"):
        if _told_anew(said, number):
            return None
        return None if last.action in _NO_MORE_OF and text == "X" else last.status
    if _NOT.match(text) and last.action not in _NO_MORE_OF and (last.piped or not _OWNS_NONE.search(text)):
        return Status.NOT_DONE if last.status in (Status.DONE, Status.UNSURE) else None
    if _TO_DO.match(text):
        return Status.TO_DO
    return Status.DONE if _DONE.match(text) and last.status in (Status.DONE, Status.NOT_DONE) else None


def _told_anew(said: Said, number: int) -> bool:
    """'hot the same, fifteen along the beam', 'the same on the underfloor, four loops laid': in words of its own."""
    if number + 1 == len(said.clauses):
        return False
    after = said.clauses[number + 1]
    sized = any(is_size(said.row, i) for i in range(after.start, after.end))
    return sized or (after.lead in ("", "but") and bool(said.acts_in(after)))


def _together(before: Sequence[Event], last: Event) -> list[Event]:
    """'Capped and tested the hot': work told together of the same pipes."""
    return [e for e in before if e.keys == last.keys and e.status is last.status and e.rooms == last.rooms]


def _of(said: Said, clause: Clause, number: int, told: Event, keys: tuple[str, ...], status: Status) -> Event:
    act = replace(told.act, start=clause.start, end=clause.end)
    rooms = said.here() if any(n.kind in ("room", "head") for n in said.row[clause.start : clause.end]) else told.rooms
    like = told if status is told.status else None
    return Event(act, number, status, "in short", keys, None, rooms, span=(clause.start, clause.end), like=like)


def _as_short(said: Said, clause: Clause, last: Event) -> tuple[tuple[str, ...], str]:
    """The pipes or things of a clause, and its words with X for them: 'same with X'."""
    others = one_of_several(said, clause.start, clause.end) if last.piped and not said.mentioned(clause) else None
    if others:
        keys, start, end = others
    elif last.piped and len(last.keys) == 1 and not said.mentioned(clause) and (one := _the_one(said, clause)):
        return last.keys, f"X {said.joined(one, clause.end)}{_ONE}"
    elif last.piped:
        groups = said.mentioned(clause)
        if len(groups) != 1:
            return (), ""
        keys, start, end = groups[0].keys, groups[0].start, groups[0].end
    else:
        things = [i for i in said.items(clause) if said.row[i].keys[0] not in STRUCTURE]
        if len(things) != 1 or (in_phrase(said, things[0]) and said.norm(things[0] - 2) not in _WITH):
            return (), ""
        keys, start, end = said.row[things[0]].keys[:1], things[0], things[0] + 1
    while start > clause.start and said.norm(start - 1) in DETERMINERS:
        start -= 1
    return keys, " ".join([*said.norms(clause.start, start), "X", *said.norms(end, clause.end)])


def _the_one(said: Said, clause: Clause) -> int:
    """The node after 'the basin one', where the last work was on such a pipe of another thing; else 0."""
    stop = min(clause.start + 4, clause.end)
    ones = [i for i in range(clause.start + 1, stop) if said.norm(i) in ("one", "ones")]
    return ones[0] + 1 if ones and said.row[ones[0] - 1].kind == "item" else 0


_ONE = " (one)"
_IS_SO = re.compile("(if )?X (is|are|'s|was|were|has|have)( been)?( not)?( done)?( or not)?")
_OWNS_NONE = re.compile(r" (none|nothing|without)\b")
"""'the basin has its trap, the bath has none': another thing than what has it."""
_BEYOND = pattern("not-beyond", _WHOLE, r"\Z")
_ALONE = re.compile("(as for |and |then )*X")
_WITH = frozenset(("with", "for", "to", "on", "as"))
