"""What a speaker takes back: 'fifteen, no, hang on, sixteen', 'I said plastic and it's not'; verdicts pipe by pipe."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading.clauses import Clause
from notes.reading.event import Event
from notes.reading.mentions import Node
from notes.reading.nominal import is_size
from notes.reading.said import Said
from notes.reading.things import STRUCTURE
from notes.reading.wordlists import pattern

FAILED = pattern("failed")
_TAKEN_BACK = pattern("taken-back", "^(no |er |sorry |well |oh |wait |hang on |hold on |hang about )*", "$")
_SAID_BEFORE = pattern("said-before")
_CALLED_OFF = re.compile(r"^(no )?(scrub|ignore|forget|cancel|scratch|strike) (that|it)\b|wrong job")
_MOST_INCHES = 6
"""A greater number put in place of inches is in millimetres: 'inch and a quarter, no, thirty-five'."""
_CORRECTS = pattern("corrects")
_DENIES = pattern("denies", "^(no |well |but |and )*", "( now)?$")


def take_back(said: Said) -> None:
    """Note the clauses that take something back, and strike out the numbers that count no more."""
    said.taken_back = [n for n, c in enumerate(said.clauses) if n and _takes_back(said, c)]
    for number in said.taken_back:
        _strike_number(said, number)
    said.corrects = bool(_CORRECTS.search(said.joined(said.start, said.end)))
    for number, clause in enumerate(said.clauses):
        told = said.joined(clause.start, clause.end)
        if _SAID_BEFORE.search(told):
            # 'twenty-two, I said, Tuesday'
            start = said.clauses[number - 1].start if number == 1 and told in ("i said", "i told you") else clause.start
            said.scene.void.update(
                i for i in range(start, clause.end) if said.row[i].qty or said.row[i].kind == "material"
            )


def _takes_back(said: Said, clause: Clause) -> bool:
    told = said.unmarked(clause.start, clause.end)
    return bool(_TAKEN_BACK.match(told)) or _of_before(said, clause) or _between_sizes(said, clause)


def _between_sizes(said: Said, clause: Clause) -> bool:
    """'fifteen, daft as a brush me, sixteen': whatever was said between two sizes, the second stands for the first."""
    row, start, end = said.row, clause.start, clause.end
    if clause.lead or end - start > _MOST_BETWEEN or any(n.kind != "word" for n in row[start:end]):
        return False
    before, after = _last_said(row, start), _next_said(row, end)
    if _NOT_ANEW & set(said.norms(start, end)) or before < said.start or after >= said.end:
        return False
    next_one = row[after + 1 : after + 2]
    told_anew = not next_one or next_one[0].kind in ("mark", "material")
    return told_anew and is_size(row, before) and is_size(row, after)


_MOST_BETWEEN = 6
_NOT_ANEW = frozenset("and then to or by about roughly maybe plus both each all for from into".split())


def _last_said(row: Sequence[Node], i: int) -> int:
    """The node before i that is no mark, and no material after a number."""
    i -= 1
    while i > 0 and row[i].kind in ("mark", "material"):
        i -= 1
    return i


def _next_said(row: Sequence[Node], i: int) -> int:
    while i < len(row) and row[i].kind == "mark":
        i += 1
    return i


def _of_before(said: Said, clause: Clause) -> bool:
    """'I said it was capped by the door. It isn't, ...'."""
    if not _DENIES.match(said.unmarked(clause.start, clause.end)):
        return False
    return bool(_SAID_BEFORE.search(said.joined(said.start, clause.start)))


def _numbers(said: Said, parts: Iterable[Clause]) -> list[int]:
    return [i for c in parts for i in range(c.start, c.end) if said.row[i].qty]


def _strike_number(said: Said, number: int) -> None:
    before = _numbers(said, said.clauses[:number])
    said.scene.void.update(_numbers(said, said.clauses[number : number + 1]) if number + 1 < len(said.clauses) else ())
    after = [i for i in _numbers(said, said.clauses[number:]) if i not in said.scene.void]
    if not before or not after or before[-1] < said.clauses[max(number - 1, 0)].start:
        return
    said.scene.void.add(before[-1])
    if all(n.kind == "material" for i in (before[-1], after[0]) for n in said.row[i + 1 : i + 2] or [said.row[i]]):
        # 'twenty-two copper, what am I on about, twenty-two polybutylene'
        said.scene.void.add(before[-1] + 1)
    old, new = said.row[before[-1]].qty, said.row[after[0]].qty
    if old and new and old.unit and new.unit is None and not (old.unit == "inch" and new.value > _MOST_INCHES):
        # 'seven bar, no, seven and a half': the unit is said once
        said.row[after[0]] = replace(said.row[after[0]], qty=replace(new, unit=old.unit))


def in_taken_back(said: Said, i: int) -> bool:
    """Whether a node belongs to the words that take something back: their 'no' negates nothing."""
    return any(said.clauses[n].start <= i < said.clauses[n].end for n in said.taken_back)


def corrected(said: Said, events: list[Event]) -> list[Event]:
    """The events that stand after what was taken back is gone."""
    # 'no, I'm lying, twenty-two': none left lying
    events = [e for e in events if e.clause not in said.taken_back]
    for number in said.taken_back:
        later = [e for e in events if e.clause >= number]
        # 'caps on the lot, hot, cold, waste. Hang on, no, ...' takes back the work before the list
        since = min(number - 1, max((e.clause for e in events if e.clause < number), default=number))
        told_anew = any(_replaced(e, later, since) for e in events if e.clause < number)
        again = (told_anew and _of_before(said, said.clauses[number])) or _number_struck(said, number)
        if _denies(said, number) and not again:
            _deny_last(said, number, [e for e in events if e.clause < number])
        elif not later and _CALLED_OFF.search(said.joined(said.clauses[number].start, said.end)):
            events = [e for e in events if e.clause < number - 1]
        elif not later and _other_name(said, number, events):
            pass
        elif later:
            events = [e for e in events if e.clause >= number or not _replaced(e, later, since)]
    return [e for e in events if e.cue != "was-going-to" or not _done_otherwise(e, events)]


def _done_otherwise(event: Event, events: list[Event]) -> bool:
    """'I wanted to bring the hot up in the corner but there's a beam, so it's been brought up by the window'."""
    later = [e for e in events if e.start > event.start and e.status in (Status.DONE, Status.TO_DO)]
    return any(e.action == event.action and e.keys == event.keys for e in later)


def _other_name(said: Said, number: int, events: list[Event]) -> bool:
    """'capped the hot, no, sorry, the cold': a pipe or thing put in place of the last."""
    on = next((n for n in range(number + 1, len(said.clauses)) if n not in said.taken_back), None)
    after = said.clauses[on] if on is not None else None
    if not events or after is None or said.acts_in(after):
        return False
    last, named, things = events[-1], said.named(after), said.items(after)
    told = last.keys if last.piped else ()
    right = named[0].keys if last.piped and named and named[0].end == after.end else ()
    if not last.piped and len(things) == 1 and things[0] == after.end - 1:
        told, right = last.keys, said.row[things[0]].keys[:1]
        if right[0] in STRUCTURE and last.keys[0] not in STRUCTURE:
            # 'on the left wall, no, the right wall'
            return True
    if after.end - after.start > 4 or not told or not right or last.clause < number - 1:
        return False
    last.keys = right
    return True


def _denies(said: Said, number: int) -> bool:
    """'tested, no', 'capped it, no I've not': what was just said is not done."""
    short = said.clauses[number - 1]
    alone = said.joined(said.clauses[number].start, said.clauses[number].end) == "no" and short.end - short.start <= 2
    if alone and said.acts_in(short):
        return True
    if any(_only_marked(said, c) for c in said.clauses[number + 1 : number + 3]):
        return True
    return any(
        said.norm(c.end - 1) in ("not", "did") and c.end - c.start <= 4 for c in said.clauses[number : number + 2]
    )


def _only_marked(said: Said, clause: Clause) -> bool:
    """'I've drilled the floor, no, that's wrong, it's only marked'."""
    return clause.lead == "only" and bool(_MARKED.match(said.joined(clause.start, clause.end)))


_MARKED = re.compile(r"(the |been )*(mark|marked|marking|marks|measured|measuring|set out|setting out|planned)\b")


def _number_struck(said: Said, number: int) -> bool:
    """'dropped to fifteen, no I haven't, it's twenty-two': the size is denied, not the work."""
    short = said.clauses[number - 1]
    return any(i in said.scene.void for i in range(short.start, short.end))


def _deny_last(said: Said, number: int, earlier: list[Event]) -> None:
    if earlier:
        until = said.clauses[min(number + 1, len(said.clauses) - 1)]
        earlier[-1].status, earlier[-1].cue = Status.NOT_DONE, "put right"
        earlier[-1].span = (said.clauses[number].start, until.end)


def _replaced(event: Event, later: list[Event], since: int) -> bool:
    told = {k for e in later for k in e.keys}
    return event.clause >= since and bool(set(event.keys) & told) and event.action in {e.action for e in later}


def verdicts(said: Said, events: list[Event]) -> list[Event]:
    """'nine bar on hot, cold and return; cold held, but hot and return went down': a verdict for each."""
    out = list(events)
    for test in [e for e in events if e.action == "test" and e.status is Status.DONE and len(e.keys) > 1]:
        for number in range(test.clause, len(said.clauses)):
            if (verdict := _verdict(said, test, number)) is None:
                continue
            test.keys = tuple(k for k in test.keys if k not in verdict.keys)
            out = [e for e in out if e is test or e.clause != number or not set(e.keys) <= set(verdict.keys)]
            out.append(verdict)
    return [e for e in out if e.keys]


def _verdict(said: Said, test: Event, number: int) -> Event | None:
    """The failed test of some of the tested pipes, where clause `number` tells it."""
    clause = said.clauses[number]
    told = [g for g in said.mentioned(clause) if g.start > test.act.end and set(g.keys) < set(test.keys)]
    if not told or not FAILED.search(said.joined(clause.start, clause.end)):
        return None
    act = replace(test.act, start=told[-1].end, end=told[-1].end + 1)
    span = (clause.start, clause.end)
    return Event(act, number, Status.DONE, "verdict", told[-1].keys, None, test.rooms, span=span, like=test)
