"""From an action and the cues that reach it to an event: what is meant, its status, and its subject."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from notes.model import Status
from notes.reading import scope
from notes.reading.actions import Act
from notes.reading.answers import answered
from notes.reading.clauses import WAITING, Clause
from notes.reading.event import Event
from notes.reading.hanging import leave_hanging
from notes.reading.idle import idle
from notes.reading.idle_any import near_doubt
from notes.reading.meant import as_meant
from notes.reading.patterns import macro_words
from notes.reading.putright import in_taken_back
from notes.reading.said import Said
from notes.reading.subjects import subject_of
from notes.reading.tense import (
    ahead_in_present,
    being_done_ahead,
    denied_in_present,
    its_day,
    planned_in_present,
    told_in_present,
)
from notes.reading.things import STRUCTURE, thing_in_mind
from notes.reading.verdict import asked_kindly, verdict_on
from notes.reading.wordlists import pattern, words

_OPENING = words("opening")
_PLAIN = words("plain-base")
_PRESENTS, _STILL_AHEAD = words("presents"), pattern("still-ahead")
_TOLD = (Status.DONE, Status.NOT_DONE, Status.TO_DO)
_ONCE_PLANNED = pattern("once-planned")
_NEVER_FITTED = frozenset((*STRUCTURE, "insulation", "clips"))


def work_told(said: Said, act: Act, number: int) -> Event | None:
    """The event of an action in clause `number`, or None where its words tell no fact; the scene follows it."""
    clause = said.clauses[number]
    if clause.question and act.action not in ("ask", "order", "decide") and not _request(said, clause):
        return None
    status, cue = status_of(said, act, clause)
    if clause.lead == "till" and act.action in ("ask", "decide"):
        # 'we're stuck till she decides on the bath', '... till I've rung the builder about it'
        status, cue = Status.TO_DO, "till then"
    doubted = status is Status.UNSURE and near_doubt(said, clause)
    told = (
        doubted
        or _polite(said, number)
        or asked_kindly(said, clause, act.start)
        or _told_all_the_same(said, act, clause, cue, status)
    )
    if clause.lead in WAITING and not told:
        return None
    if status is None or (cue == "do-not" and _only_yet(said, act, number)):
        return None
    meant = as_meant(said, act, clause, status)
    planned = status in (Status.TO_DO, Status.DROPPED) and act.action == "run" and meant.action in ("remove", "fit")
    planned = planned or (act.form == "notdone" and act.action == "run" and meant.action == "fit")
    planned = planned or act.form == "dropped"
    if idle(said, act, clause) and not planned:
        return None
    if meant.action == "ask" and status is Status.UNSURE and said.norm(act.end - 1) in _SAYS:
        # 'he says it's capped, but I would not swear to it': the doubt is about the work
        return None
    if meant.action == "ask" and status is Status.DONE:
        if not _NO_ANSWER.search(said.joined(act.end, said.end)):
            answer = answered(said, meant, number, cue)
            said.scene.spoke = act if answer is None else None
            if answer is not None and not answer.piped:
                # 'asked her about the bath. She's thinking about it'
                said.scene.think_of(answer.keys[0])
            return answer
        status, cue = Status.TO_DO, "no answer"
    keys, serves = subject_of(said, meant, number)
    if not keys:
        leave_hanging(said, meant, status, cue)
    if not keys or (meant.action == "fit" and set(keys) & _NEVER_FITTED):
        return None
    event = Event(meant, number, status, cue, keys, serves, said.here(), span=(clause.start, clause.end))
    _follow(said, event)
    return event


_NO_ANSWER = pattern("no-answer")
_ANY_MORE = re.compile(r"\b((?<!the )(?<!just )(?<!for )(?<!right )now|after all|any ?more|any longer)$")
_JUST_NOW = re.compile(r"\b(now|as we speak|as i speak|at the (minute|moment))$")
_FUTURE = pattern("in-the-future")
_GOT_TO = pattern("got-to", after="( \\S+)?$")
_SAYS = frozenset(("says", "said", "reckons"))


def _only_yet(said: Said, act: Act, number: int) -> bool:
    """'don't board that wall yet', '... till it's tested': nothing is called off."""
    after = said.clauses[number + 1].lead if number + 1 < len(said.clauses) else ""
    return "yet" in said.norms(act.end, said.clauses[number].end) or after in ("till", "until", "before", "unless")


def _request(said: Said, clause: Clause) -> bool:
    """'will you put a cap on that cold?' asks for work, it asks nothing."""
    opened = [n for n in said.norms(clause.start, clause.start + 4) if n not in _OPENING]
    return (
        opened[:1] != []
        and opened[0] in _MODALS
        and opened[1:2] == ["you"]
        and "if" not in said.norms(clause.start, clause.end)
    )


_MODALS = frozenset(("can", "could", "will", "would"))


def status_of(said: Said, act: Act, clause: Clause) -> tuple[Status | None, str]:
    """The status of an action under the cues that reach it, None for no fact, and the rule that decided."""
    if (like := _joined_on(said, act, clause)) is not None:
        status, cue = status_of(said, *like)
        if status in (Status.TO_DO, Status.UNSURE):
            return status, cue
    present = told_in_present(said, act, clause)
    act = replace(act, form="future") if present else act
    governing = [c for c in said.governing(act, clause) if not in_taken_back(said, c.start)]
    if act.form == "future":
        governing = [c for c in governing if c.cue.status != "future" or its_day(said, c, clause)]
    if act.action == "ask" and act.form == "done":
        # 'told him the gas isn't tested': what was told is denied, not the telling
        governing = [c for c in governing if c.start < act.start or c.cue.status != "not done"]
    before = said.norms(max(said.start, act.start - 2), act.start)
    if act.form == "base" and (before == ["had", "to"] or (before[-1:] == ["did"] and not clause.question)):
        # 'I had to knock the cold off', 'I did cap it', 'Did lag it before it went in'
        act, governing = replace(act, form="done"), [c for c in governing if c.cue.status != "to do"]
    ahead = [n for n in said.row[clause.start : act.start] if n.kind != "mark"]
    opening = all(n.norm in _OPENING for n in ahead)
    nobody = act.start > clause.start and said.norm(act.start - 1) in ("nobody", "one")
    if act.action == "leave" and opening and said.norm(act.start) == "leave" and not governing:
        return Status.TO_DO, "instruction"
    if (told := verdict_on(said, act, clause)) is not None:
        return told, "verdict"
    if denied_in_present(said, act, clause):
        return Status.NOT_DONE, "denied"
    if _wanted_too(said, act, clause):
        return Status.TO_DO, "wanted too"
    status, cue = scope.decide(act, governing, opening and not _third_person(said, act), nobody)
    if _is_to_go(said, act) and (status is Status.DONE or _off_before(said, act, status, governing)):
        return Status.TO_DO, "going-to"
    if status is None and act.form == "base" and said.norm(act.start - 1) in _SAYS and act.end < clause.end:
        # 'the tiler says move the basin'
        return Status.TO_DO, "instruction"
    if status is Status.DONE and _is_coming_out(said, act, clause):
        return Status.TO_DO, "progressive"
    if cue == "instruction" and _goes_on(said, act, clause):
        return Status.DONE, "goes on"
    if status in _TOLD and act.action in ("run", "fit") and _ONCE_PLANNED.search(said.joined(said.start, said.end)):
        return Status.DROPPED, "once planned"
    coming = (
        act.form in ("ing", "base", "noun")
        or said.norm(act.start).endswith("ing")
        or said.norm(act.start - 1) in ("getting", "being", "be", "get")
    )
    if status is Status.NOT_DONE and coming and _ANY_MORE.search(said.joined(act.end, clause.end)):
        return Status.DROPPED, "any more"
    if status is Status.DONE and opening and said.norm(act.start) in _SAME_IN_BOTH and _dated(said, clause):
        return Status.TO_DO, "future-time"
    if status is Status.DONE and opening and said.norm(act.start) in _PLAIN:
        return Status.TO_DO, "instruction"
    if act.form == "ing" and cue in ("no cue", "progressive") and _JUST_NOW.search(said.joined(act.end, clause.end)):
        return Status.DONE, "being done"
    if act.form == "ing" and status is None and _way_of(said, act, clause):
        return Status.DONE, "way"
    if act.form == "ing" and status is None and _GOT_TO.search(said.joined(clause.start, act.start)):
        return Status.DONE, "got to it"
    if act.form == "ing" and status is None and _after_doing(said, act, clause):
        return Status.DONE, "after doing it"
    planned = status is None and act.form == "base" and said.norm(act.start - 1) in ("i", "we")
    planned = planned and bool(_FUTURE.search(said.joined(clause.start, clause.end)))
    if planned or (status is None and planned_in_present(said, act, said.clause_of(act.start))):
        return Status.TO_DO, "future-time"
    ahead_yet = act.form == "done" and status is Status.DONE
    ahead_yet = ahead_yet and (ahead_in_present(said, act, clause) or being_done_ahead(said, act, clause))
    if ahead_yet or (status in (Status.DONE, None) and _still_ahead(said, act)):
        return Status.TO_DO, "future-time"
    return status, cue


def _after_doing(said: Said, act: Act, clause: Clause) -> bool:
    """'after flushing the cold I filled it': what came next is told as done."""
    number = said.clause_of(clause.start) + 1
    if clause.lead != "after" or said.norm(act.start - 1) != "after" or number >= len(said.clauses):
        return False
    after = said.clauses[number]
    return said.norm(after.start) in ("i", "we") and any(a.form == "done" for a in said.acts_in(after)[:1])


def _wanted_too(said: Said, act: Act, clause: Clause) -> bool:
    """'they want testing, and a picture of each': the verb is said once."""
    noun = act.action == "photograph" and said.norm(act.start) in _PHOTOS and clause.lead in ("and", "plus")
    alone = set(said.norms(clause.start, act.start)) <= {"a", "some", "then", "the"}
    return noun and alone and said.worked is not None and said.worked.status is Status.TO_DO


_PHOTOS = macro_words("PHOTO")
_SAME_IN_BOTH = frozenset(("cut", "put", "set", "shut", "let"))
_YOU = re.compile(r"((when|if|once) )?you (can|get|have|are|'ve|'re|come|go|want|like)\b")


def _dated(said: Said, clause: Clause) -> bool:
    """'cut it out next week', 'put it in when you can'."""
    number = said.clause_of(clause.start) + 1
    after = said.clauses[number] if number < len(said.clauses) else clause
    if after.lead in ("when", "if", "once") and _YOU.match(said.joined(after.start, after.end)):
        return True
    if number < len(said.clauses) and after.end - after.start < 4 and after.lead == "" and not said.acts_in(after):
        # 'it's coming up through the floor, tomorrow morning'
        clause = replace(clause, end=after.end)
    return any(c.cue.id == "future-time" and clause.start <= c.start < clause.end for c in said.cues)


def _joined_on(said: Said, act: Act, clause: Clause) -> tuple[Act, Clause] | None:
    """'the waste wants running and clipping': the work before it, in the same form, where 'and' joins the two alone."""
    number = said.clause_of(act.start)
    if not number or clause.lead != "and" or act.start != clause.start or act.end != clause.end:
        return None
    before = said.clauses[number - 1]
    acts = said.acts_in(before)
    alike = bool(acts) and acts[-1].end == before.end and acts[-1].form in (act.form, "todo")
    return (acts[-1], before) if alike else None


def _way_of(said: Said, act: Act, clause: Clause) -> bool:
    """'the hot is twenty-two copper going up to the galley': how a pipe runs."""
    if act.action != "run" or not any(g.end <= act.start for g in said.named(clause)):
        return False
    return any(n.kind in ("qty", "material") for n in said.row[max(clause.start, act.start - 3) : act.start])


_WAYS_TO_COME = frozenset(("out", "off", "down", "up", "in", "through"))


def _is_coming_out(said: Said, act: Act, clause: Clause) -> bool:
    """'the valve's no good, so it's coming out', 'the return's coming out Monday': still to be done."""
    coming = said.norm(act.start) == "coming" and said.norm(act.end - 1) in _WAYS_TO_COME
    it = act.start - 2 >= clause.start and said.norm(act.start - 2) in ("it", "they", "that", "one", "ones")
    being = said.norm(act.start - 1) in ("'s", "is", "are")
    dated = (it or bool(said.named(clause))) and _dated(said, clause)
    gone = said.norm(act.end - 1) in ("out", "off", "down")
    return coming and being and (dated or (gone and it and bool(thing_in_mind(said)) and not said.groups))


def _goes_on(said: Said, act: Act, clause: Clause) -> bool:
    """'flow and return go along the wall and tee off to each': the present goes on, nobody is told to."""
    number = said.clause_of(act.start)
    if clause.lead not in ("", "and", "then") or not number or act.start != clause.start:
        return False
    before = said.clauses[number - 1]
    acts = [a for a in said.acts_in(before) if said.norm(a.start) in _GOING]
    return bool(acts) and any(g.end <= acts[-1].start for g in said.named(before))


_GOING = frozenset(("go", "run", "come", "drop", "rise", "carry", "cross", "follow", "turn", "head", "climb"))


def _is_to_go(said: Said, act: Act) -> bool:
    """'it's to go in the soil'."""
    return act.start > said.start and said.norm(act.start - 1) == "to" and said.norm(act.start) in ("go", "come")


def _off_before(said: Said, act: Act, status: Status | None, governing: Sequence[scope.Found]) -> bool:
    """'he was taking it through the wall, not any more, it's to go in the soil': what was called off is the first."""
    off = [c for c in governing if c.cue.status == Status.DROPPED]
    if status is not Status.DROPPED or not off:
        return False
    return off[-1].end <= act.start and any(a.end <= off[0].start for a in said.acts)


def _third_person(said: Said, act: Act) -> bool:
    """'..., runs clear of the steps' tells, it asks nobody."""
    word = said.norm(act.start)
    return word.endswith("s") and not word.endswith("ss")


_HAVE = frozenset(("have", "has", "had", "'d"))


def _still_ahead(said: Said, act: Act) -> bool:
    """'the fourth goes up Monday', 'comes out next week': the present with a time right after it."""
    present = any(n in _PRESENTS for n in said.norms(act.start, act.end)) and act.form in ("done", "base", "future")
    # 'I have come up through the floor' is past
    present = present and not _HAVE & set(said.norms(max(said.start, act.start - 3), act.end))
    # what is closed up or moved may stand between the verb and its time
    stop = next((i for i in range(act.end, said.end) if said.row[i].kind == "mark"), said.end)
    return present and any(_STILL_AHEAD.search(said.joined(i, min(i + 4, stop))) for i in range(act.end, stop))


def _polite(said: Said, number: int) -> bool:
    """'I should be obliged if somebody would order one'."""
    before = said.clauses[number - 1] if number else None
    return before is not None and said.norm(before.end - 1) in _OBLIGED


_OBLIGED = frozenset(("obliged", "grateful", "glad", "pleased", "nice", "kind", "good", "great"))


def _told_all_the_same(said: Said, act: Act, clause: Clause, cue: str, status: Status | None) -> bool:
    """A clause of time that tells: 'before anybody tested it', 'while some get picked up', 'till he decides'."""
    if clause.lead == "before" and act.action == "cover" and act.form == "done" and status is Status.DONE:
        # 'took a photo before they closed it in'; not 'before it gets boarded'
        past = said.worked is not None and said.worked.status is Status.DONE
        return past and not _COMING & set(said.norms(clause.start, act.end))
    if clause.lead in _PERFECT and status is Status.DONE and (_HAD & set(said.norms(clause.start, act.start))):
        # 'once I had drained it I took the pump off'
        return True
    if clause.lead == "after" and cue == "after doing it":
        return True
    if clause.lead == "before":
        missed = act.action not in ("cover", "run", "fit", "fill") or said.norm(act.start - 1) == "could"
        return cue in ("before-anyone", "not") and missed
    somebody = _SOMEBODY & set(said.norms(clause.start, act.end))
    if clause.lead == "till" and (act.action in ("ask", "decide") or (act.action == "order" and somebody)):
        # 'temporary valves until somebody picks up the new ones'
        return True
    return clause.lead == "while" and act.action in ("order", "ask", "decide") and status is Status.TO_DO


_SOMEBODY = frozenset("somebody someone anybody anyone".split())
_PERFECT, _HAD = frozenset(("after", "once", "when")), frozenset(("had", "'d"))
_COMING = frozenset("is are 's gets get getting be being goes go".split())


def _follow(said: Said, event: Event) -> None:
    """What is worked on is what 'it' and 'they' mean next."""
    scene = said.scene
    if not event.piped:
        scene.think_of(event.keys[0])
    else:
        scene.last = ("pipe", "")
        scene.group, scene.serves = event.keys, event.serves
        scene.name(event.keys)
    said.worked = event
