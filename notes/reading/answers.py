"""Who is to be asked what, and who has answered: kept in mind from memo to memo."""

from __future__ import annotations

import re
from collections.abc import Sequence

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.matter import TIMBER, UNDECIDED, told_next
from notes.reading.mentions import Node
from notes.reading.patterns import macro_words
from notes.reading.pipes import PEOPLE
from notes.reading.said import Said
from notes.reading.stretches import headed_pipes
from notes.reading.wordlists import pattern, words

_UNSAID = words("unsaid")


def _telling(nodes: Sequence[Node]) -> set[str]:
    """The words that tell by whom, and of what, somebody is asked."""
    return {w for n in nodes for w in n.norm.split("_")} - _UNSAID


def answered(said: Said, act: Act, number: int, cue: str) -> Event | None:
    """Somebody was asked or told: what it was about is said here, or in an earlier memo to the same person."""
    clause = said.clauses[number]
    keys, rooms = _answer_about(said, act, number), said.here()
    if not keys:
        question = _asked_before(said, act, number)
        if question is None and not (keys := _verdict_on(said, number) or _told_that(said, act, number)):
            keys, rooms = _just_said(said, act, number)
            if not keys:
                return None
        if question is not None:
            keys, rooms = question[2], (question[1],) if question[1] else rooms
    return Event(act, number, Status.DONE, cue, keys, None, rooms, span=(clause.start, clause.end))


def _verdict_on(said: Said, number: int) -> tuple[str, ...]:
    """'Rang the council, and the meter's fine where it is': what the answer was about, told next."""
    for clause in said.clauses[number + 1 :]:
        things = [said.row[i].keys for i in said.items(clause)] + [g.keys for g in said.named(clause)]
        if things and _AGREED & set(said.norms(clause.start, clause.end)):
            return things[0]
    return ()


def _just_said(said: Said, act: Act, number: int) -> tuple[tuple[str, ...], tuple[str | None, ...]]:
    """'The joist's been notched. I've told the builder': told of what was just said."""
    clause = said.clauses[number]
    rest = said.norms(act.end, clause.end)
    named = [i for i, n in enumerate(rest) if n in _SOMEBODY]
    known = bool(named) or bool(_SOMEBODY & set(said.norms(clause.start, act.end)))
    to_whom = named[-1] + 1 if named else 0
    about_it = len(rest) <= _SHORT and _ABOUT_IT.search(" ".join(rest))
    told = _TOLD_ALREADY.fullmatch(" ".join(["", *rest[to_whom:]])) if known else about_it
    # 'photographed the notch and asked what he wants doing'
    asked_what = _asks_what(said, number, rest) and (said.worked is not None or bool(said.groups))
    if not about_it and not ((told or asked_what) and _TELLS & set(said.norms(act.start, act.end))):
        return (), said.here()
    if "asked" in said.norms(act.start, act.end) and not asked_what and number + 1 < len(said.clauses):
        # 'he's asked her, the sink's stopping': the answer follows
        return (), said.here()
    pipes = [g for g in said.groups if g.end <= act.start]
    if said.worked is None and pipes:
        return pipes[-1].keys, said.here()
    before = said.told_last
    headed = headed_pipes(said) or (() if before is not None else said.scene.group)
    if headed:
        # 'The main. I've had the water people on the phone about it.'
        return headed, said.here()
    return (before.keys, before.rooms) if before is not None else ((), said.here())


def answer_follows(said: Said, spoke: Act | None, events: Sequence[Event]) -> list[Event]:
    """'Spoke to the architect. Joist's all right as it is, she reckons': of what, told in the next sentence."""
    if spoke is None or not said.clauses or said.clauses[0].question or any(e.action == "ask" for e in events):
        return []
    words = set(said.norms(spoke.start, spoke.end))
    verdict = not events and _AGREED & set(said.norms(said.start, said.end)) and not _TELLS & words
    rang_back = "back" in words and all(e.status is Status.TO_DO for e in events)
    things = [said.row[i].keys[:1] for c in said.clauses for i in said.items(c)]
    told = [g.keys for g in said.groups] + things
    if not told or not (verdict or rang_back):
        return []
    act, span = Act("ask", "done", "any", said.start, said.start + 1), (said.start, said.end)
    return [Event(act, 0, Status.DONE, "answer", told[0], None, said.here(), span=span)]


def _asks_what(said: Said, number: int, rest: Sequence[str]) -> bool:
    """'asked what he wants doing', 'asked the drainage man if that's allowed'."""
    following = said.clauses[number + 1].lead if number + 1 < len(said.clauses) else ""
    return bool(_WHAT & {*rest[:1], following})


_SOMEBODY = macro_words("PEOPLE", "COVERERS") | {"he", "she", "they", "him", "her", "them"}
_ABOUT_IT = re.compile(r"\b(about|of) (it|that|this|them|those|both)$")
_WHAT = frozenset(("what", "which", "how", "where", "if", "whether"))
_SHORT = 5
_TELLS = frozenset(("told", "informed", "notified", "advised", "warned", "asked"))
_TOLD_ALREADY = pattern("told-already")


def _told_that(said: Said, act: Act, number: int) -> tuple[str, ...]:
    """'told the lads, nobody touches the stop tap'; 'rang the oil lad' with nothing more: of the oil."""
    told = bool(_TELLS & set(said.norms(act.start, act.end))) and said.row[act.end - 1].norm not in ("no", "so")
    return (told_next(said, number) if told else ()) or _their_trade(said, act, number)


def _their_trade(said: Said, act: Act, number: int) -> tuple[str, ...]:
    """'rang the oil lad' with nothing more: of the oil."""
    named = said.mentioned(said.clauses[number])
    return named[-1].keys if named and not _says(said, act) else ()


_AGREED = words("agreed")


def _says(said: Said, act: Act) -> bool:
    return said.norm(act.end - 1) in ("says", "said", "reckons", "wants")


def _answer_about(said: Said, act: Act, number: int) -> tuple[str, ...]:
    clause = said.clauses[number]
    if _says(said, act):
        return ()
    about = [i for i in range(act.end, clause.end) if said.norm(i) == "about"]
    if about and (told := [i for i in said.items(clause) if i > about[0]]) and not said.groups_after(about[0], clause):
        return said.row[told[0]].keys[:1]
    # 'spoke to the gas people': who, not of what
    if named := [g for g in said.mentioned(clause) if g.end >= said.end or said.norm(g.end) not in PEOPLE]:
        return named[-1].keys
    if TIMBER & set(said.norms(act.start, clause.end)):
        return ("joist",)
    things = said.items(clause)
    return (said.row[things[-1]].keys[0],) if things else ()


def _asked_before(said: Said, act: Act, number: int) -> tuple[str, str | None, tuple[str, ...]] | None:
    """The last question that shares a telling word, with its room and subject; it is open no more."""
    if _says(said, act):
        near = said.row[max(said.clauses[number].start, act.start - 3) : act.end]
    else:
        near = said.row[said.start : said.end]
    told = _telling(near)
    for question in reversed(said.scene.asked):
        if set(question[0].split()) & told:
            said.scene.asked.remove(question)
            return question
    return None


def keep_in_mind(said: Said, events: Sequence[Event]) -> None:
    """Keep sizes and materials as names of their pipes, and questions until they are answered."""
    for event in events:
        for slot in ("size_mm", "material"):
            if event.piped and (value := event.slots.get(slot)):
                name = f"{value:g}" if isinstance(value, float | int) else str(value)
                said.scene.sized[name] = event.keys
        if event.action == "ask" and event.status is Status.TO_DO:
            asked = _telling([n for n in said.row[said.start : said.end] if n.kind in ("word", "service")])
            said.scene.asked.append((" ".join(sorted(asked)), event.rooms[0], event.keys))
        if event.action == "decide":
            said.scene.asked = [q for q in said.scene.asked if q != (UNDECIDED, event.rooms[0], event.keys)]
        if event.action == "decide" and event.status is Status.TO_DO:
            said.scene.asked.append((UNDECIDED, event.rooms[0], event.keys))
