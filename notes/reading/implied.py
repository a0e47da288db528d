"""What is told with no word of work: 'soil vent, four inch, up through the tiles', 'the towel rail is off the job'."""

from __future__ import annotations

import re
from collections.abc import Sequence

from notes.model import Status
from notes.reading import scope
from notes.reading.actions import Act
from notes.reading.clauses import WAITING
from notes.reading.event import Event
from notes.reading.idle import so_as_to
from notes.reading.mentions import PIPE_KINDS
from notes.reading.nominal import is_size
from notes.reading.places import bits
from notes.reading.said import Said
from notes.reading.scene import Group
from notes.reading.stretches import before_it, heading_before, stretches, told_of_nothing
from notes.reading.things import DETERMINERS, STRUCTURE, in_phrase
from notes.reading.which_pipes import pipes_for
from notes.reading.wordlists import pattern, words

_WAY_WORDS = words("way-words")
_OPENING = words("opening")
_UNFIT = pattern("unfit")
_BEYOND = pattern("beyond")
_PLANNED = pattern("planned-bare")
_FAULT = pattern("fault")
_WAY_OPENS = _WAY_WORDS | {"into"}
_ON_PAPER = pattern("on-paper")
_ONCE_PLANNED = pattern("once-planned")
_SAID = pattern("said-before")
_WILL_BE = pattern(
    "will-be",
    "^(, )?((to|for|off|from) ((the|my|his|her|that|this) \\S+( \\S+)?|it|them|him|her|that|this|those) )?"
    "(that |it |they |this )?(all |both )?",
)


def implied(said: Said, events: Sequence[Event]) -> list[Event]:
    """Runs told by their size, material or way alone, and things called off."""
    runs: list[Event] = []
    told = {k for e in events for k in e.keys}
    for group in said.groups:
        anew = any(rule(said, group, events) for rule in (_way_first, _must_go, _planned_anew, _there_is_one))
        if set(group.keys) & told and not anew:
            continue
        if any(rule(said, group, events) for rule in (_holes_for, _old_and_gone, _fitted_on, _heads_next, _only_named)):
            continue
        if (run := _run(said, group, events)) is not None:
            told |= set(group.keys)
            runs += [run, *_further(said, group, run, events)]
    still = all(e.action in ("leave", "cap", "test") for e in events)
    if still and events and not runs and _SAID.search(said.joined(said.start, events[0].start)):
        # 'I said twenty-two, well it's twenty, and they're still open'
        return _put_right(said)
    if not runs and not events:
        return _put_right(said) or _called_off(said) or stretches(said) or _way_alone(said)
    return runs + _called_off_beside(said, [*events, *runs])


def _way_alone(said: Said) -> list[Event]:
    """'The boiler's discharge. Out through the wall, down to the ground': the way of pipes that a heading named."""
    opens = said.norms(said.start, min(said.start + 2, said.end))
    if any(not g.referred for g in said.groups) or opens[0] not in _WAY_OPENS or opens[-1] not in _WAY_ON:
        return []
    before = said.scene.told_before
    # 'Condensate. Meant to come outside, scrapped that. Into the soil now, the morn.'
    instead = before is not None and before.status is Status.DROPPED and before.keys == said.scene.group
    if not (heading_before(said) or instead) or not said.scene.group:
        return []
    act = Act("run", "done", "pipe", said.start, said.start + 2)
    status, cue = scope.decide(act, said.governing(act, said.clauses[0]), False)
    if instead and status is Status.DONE and any(c.cue.id == "future-time" for c in said.cues):
        status = Status.TO_DO
    if status is None or _PLANNED.search(said.joined(said.start, said.end)):
        return []
    span = (said.start, said.end)
    return [Event(act, 0, status, f"way, {cue}", said.scene.group, said.scene.serves, said.here(), span=span)]


_WAY_ON = frozenset("the a to through from into under over along across behind down up by out round".split())


def _further(said: Said, group: Group, run: Event, events: Sequence[Event]) -> list[Event]:
    """'fifteen to the tundish, and twenty-two from the tundish out through the wall': a second stretch."""
    for number, clause in enumerate(said.clauses):
        if number <= run.clause or clause.lead not in ("and", "then") or said.mentioned(clause):
            continue
        if any(e.clause == number for e in events):
            continue
        sized = [i for i in range(clause.start, clause.end) if is_size(said.row, i) and i not in said.scene.void]
        if sized and any(b.kind == "from" for b in bits(said.row, clause.start, clause.end)):
            act, span = Act("run", "done", "pipe", sized[0], sized[0] + 1), (clause.start, clause.end)
            return [Event(act, number, run.status, "again", group.keys, None, said.here(), span=span)]
    return _one_each(said, group, run)


def _one_each(said: Said, group: Group, run: Event) -> list[Event]:
    """'Wastes, both to the stack: bath inch and a half, basin inch and a quarter': a stretch for each thing."""
    sizes = [
        (number, clause)
        for number, clause in enumerate(said.clauses)
        if clause.start > group.end
        and said.row[clause.start].kind == "item"
        and clause.end - clause.start > 1
        and all(is_size(said.row, i) or said.row[i].kind == "material" for i in range(clause.start + 1, clause.end))
    ]
    return [
        Event(
            Act("run", "done", "pipe", c.start, c.end), number, run.status, "one each", group.keys,
            said.words(c.start, c.start + 1), said.here(), span=(c.start, c.end),
        )
        for number, c in sizes[1:]
    ]  # fmt: skip


def _old_and_gone(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'the old gas to the fire's dead, cut back and capped': which pipe, no run."""
    old = {"old", "existing", "dead"} & set(said.norms(max(said.start, group.start - 2), group.start))
    gone = any(e.action in ("remove", "cap", "isolate") and set(e.keys) & set(group.keys) for e in events)
    return bool(old) and gone


def _holes_for(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'drilled four joists for the cold, twenty mil holes': the size is that of the holes."""
    ahead = said.norms(max(said.start, group.start - 3), group.start)
    return "for" in ahead and any(e.action in ("drill", "notch") and e.start < group.start for e in events)


def _fitted_on(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'put the isolator in on the cold to the toilet', 'the pump's in, on the return': which pipe, no run."""
    number, ahead = said.clause_of(group.start), said.norms(max(said.start, group.start - 2), group.start)
    led = bool(ahead) and (ahead[-1] in _ON or (ahead[-1] in DETERMINERS and ahead[0] in _ON))
    own = said.clauses[number].start < group.start - len(ahead)
    near = (number,) if own else (number, number - 1)
    return led and any(e.action in ("fit", "remove") and e.clause in near and e.start < group.start for e in events)


_ON = frozenset(("on", "onto", "into", "in"))


def _heads_next(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'Heating to the cottage. I've laid flow and return in the trench': a heading, told of in the next sentence."""
    led = group.end < said.end and said.norm(group.end) in ("to", "for")
    alone = not events and led and set(said.norms(said.start, group.start)) <= _OPENING | DETERMINERS | {","}
    if not alone or said.end - group.end > _HEADING or _sized(said, group.end, said.end):
        return False
    end = next((i for i in range(said.end + 1, len(said.row)) if said.norm(i) in _STOPS), len(said.row))
    own = {k for n in said.row[group.start : group.end] for k in n.keys}
    return any(n.norm in _OF_IT or (n.kind in PIPE_KINDS and own & set(n.keys)) for n in said.row[said.end + 1 : end])


_HEADING = 5
"""Nodes after its pipe that a heading has no more of: 'to the back kitchen'."""
_STOPS = frozenset((".", "?", "!"))
_OF_IT = frozenset(("it", "them", "they", "both"))


def _put_right(said: Said) -> list[Event]:
    """'I told you twenty-two multilayer, well it's twenty': the pipe last worked on, in its right size or material."""
    keys = said.groups[-1].keys if said.groups else said.scene.group
    told = [i for i in range(said.start, said.end) if i not in said.scene.void]
    given = [i for i in told if is_size(said.row, i) or said.row[i].kind == "material"]
    if not said.corrects or not keys or not given:
        return []
    act = Act("run", "done", "pipe", given[0], given[0] + 1)
    span = (said.start, said.end)
    status = Status.UNSURE if any(c.cue.status == Status.UNSURE for c in said.cues) else Status.DONE
    return [Event(act, said.clause_of(given[0]), status, "put right", keys, None, said.here(), span=span)]


_NOT_NEW = re.compile(
    r"\bused to\b|\bstill (live|feeding|serving|in use)\b"
    r"|\b(?:staying|stopping|stays|(?:i|we) (?:'m|am|'re|are) keeping)\b(?! open| off)"
)
"""A pipe that was there before: 'the soil stack's staying, four inch cast'."""


def _run(said: Said, group: Group, events: Sequence[Event]) -> Event | None:
    number = said.clause_of(group.start)
    clause = said.clauses[number]
    passing = group.referred and not _size_next(said, group) and not _gone_off(said, group)
    if passing or clause.question or clause.lead in WAITING:
        return None
    stop = min([o.start for o in said.groups if o.start > group.start] + [said.end])
    planned = bool(_PLANNED.search(said.joined(said.start, said.end)) or _WILL_BE.match(said.joined(group.end, stop)))
    only = group.end < said.end and said.norm(group.end) == "only"
    # 'the hot I do not worry about' calls nothing off
    off = any(c.cue.id != "do-not" for c in said.off())
    if not _tells(said, group, stop) and (not off or only) and not planned:
        return None
    if _NOT_NEW.search(said.joined(group.end, said.end if _old(said, group) else clause.end)) or so_as_to(
        said, clause, group.start
    ):
        return None
    if _FAULT.search(said.joined(group.end, clause.end)) and not _sized(said, group.end, clause.end):
        # 'the hot to the bath's weeping at the elbow'
        return None
    act = Act("run", "done", "pipe", group.start, group.end)
    status, cue = scope.decide(act, said.governing(act, clause), False)
    if planned and status is Status.DONE:
        status, cue = Status.TO_DO, "future-time"
    if status is Status.DONE and not events and any(c.cue.id == "doubt" for c in said.cues):
        # 'discharge from the valve, I'd say it's twenty-two ... but I wouldn't put money on it'
        status, cue = Status.UNSURE, "doubt"
    if status is not None and _ONCE_PLANNED.search(said.joined(said.start, said.end)):
        status, cue = Status.DROPPED, "once planned"
    if status is None:
        return None
    if status is Status.DONE and _any_such(said, group, stop):
        return None
    serves = group.serves or said.headed
    rooms = said.there(number, events)
    return Event(act, number, status, f"implied, {cue}", group.keys, serves, rooms, span=(group.start, stop))


def _gone_off(said: Said, group: Group) -> bool:
    """'she's gone off the cold to the yard': what is called off, right behind the words."""
    ends = [c.end for c in said.off() if c.end <= group.start and said.norm(c.end - 1) in _OFF_WHAT]
    between = said.norms(ends[-1], group.start) if ends else []
    return bool(ends) and all(n in _WHICH for n in between)


_WHICH = DETERMINERS | {"new", "second", "other", "extra", "idea", "of"}


def _old(said: Said, group: Group) -> bool:
    return bool({"old", "existing"} & set(said.norms(max(said.start, group.start - 2), group.start)))


def _any_such(said: Said, group: Group, stop: int) -> bool:
    """'a soil pipe has to breathe': of any such pipe, where no size or material is told."""
    if group.start == said.start or said.norm(group.start - 1) not in ("a", "an", "any", "every"):
        return False
    return not _sized(said, said.start, stop)


def _sized(said: Said, start: int, end: int) -> bool:
    return any(said.row[i].kind == "material" or is_size(said.row, i) for i in range(start, end))


def _size_next(said: Said, group: Group) -> bool:
    """'scraped the paint off the basin hot, that's fifteen': even of a pipe named in passing."""
    after = [n for n in said.row[group.end : min(group.end + 4, said.end)] if n.kind != "mark"]
    pointed = [n.norm for n in after[:2]] in (["that", "'s"], ["that", "is"], ["it", "'s"], ["it", "is"])
    return pointed and len(after) > 2 and after[2].qty is not None


def _tells(said: Said, group: Group, stop: int) -> bool:
    """Whether a size, a material, a start or an end is said of the pipes."""
    row = said.row
    first = group.start
    if first - 1 > said.start and "for" in said.norms(first - 2, first):
        # 'a twenty-two alongside for the hot return'
        first = max(said.clauses[said.clause_of(first)].start, first - 6)
    for i in range(first, stop):
        if i not in said.scene.void and (row[i].kind == "material" or is_size(row, i)):
            return True
    if group.end + 1 < stop and said.norm(group.end) in _ALONG and row[group.end + 1].kind != "mark":
        # 'hot and cold up the wall'
        return True
    # 'gas for the hob' only says which, 'no gas for the hob' tells
    kinds = ("to", "from", "for") if any(c.cue.status != "nil" for c in said.cues) else ("to", "from")
    return any(b.kind in kinds and _next_said(said, group, b.start) for b in bits(row, group.end, stop))


_ALONG = frozenset("up down across along through".split())


def _next_said(said: Said, group: Group, i: int) -> bool:
    """Whether node i is said of the pipes: in their clause, or in one that follows with no 'because' or 'then'."""
    own, its = said.clause_of(group.start), said.clauses[said.clause_of(i)]
    ahead = said.row[its.start : i]
    if its.start > said.clauses[own].start and any(n.kind == "word" and n.norm in _SOMEBODY_ELSE for n in ahead):
        # 'a valve on the cold, since there's no room for it'
        return False
    return all(c.lead in ("", "and") or c.start > i for c in said.clauses[said.clause_of(group.start) + 1 :])


_SOMEBODY_ELSE = words("agents") | frozenset("it that there this which according thanks the a an 's is are was".split())


def _must_go(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'gas to it's in fifteen, it wants changing': what is there is told as well as what is wanted."""
    mine = [e for e in events if set(e.keys) & set(group.keys)]
    if not mine or not _UNFIT.search(said.joined(group.end, said.end)):
        return False
    return all(e.action == "run" and e.status is Status.TO_DO and e.start > group.end + 2 for e in mine)


def _planned_anew(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'I've capped the flow and return, and Monday it's flow and return across the bedroom'."""
    clause = said.clauses[said.clause_of(group.start)]
    if any(said.clauses[e.clause] == clause and set(e.keys) & set(group.keys) for e in events):
        return False
    return clause.start < group.start and bool(_PLANNED.match(said.joined(clause.start, clause.end)))


def _there_is_one(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'there's one more fifteen, cold, for the washer, which is capped': that it is there, and then what was done."""
    first = next((c for c in said.clauses if said.norm(c.start) == "there" and c.start < group.start), None)
    if first is None or said.norm(first.start + 1) not in _IS or group.start - first.start > _SOON:
        return False
    ahead = set(said.norms(first.start, group.start))
    mine = [e for e in events if set(e.keys) & set(group.keys)]
    later = all(e.clause > said.clause_of(group.start) and e.action in _ENDS for e in mine)
    return later and _sized(said, first.start, group.end + 1) and not ahead & _THERE_BEFORE


_IS = frozenset(("is", "'s", "are"))
_SOON = 8
_ENDS = frozenset(("cap", "leave", "connect"))
_THERE_BEFORE = frozenset(("old", "existing", "no", "not", "lead", "was", "always"))


def _way_first(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """A way told before any work on the pipe: 'relief, fifteen, out through the wall, but it's still open'."""
    mine = [e for e in events if set(e.keys) & set(group.keys)]
    first = min((_begins(said, e) for e in mine), default=said.end)
    if first <= group.end or _run_told(said, group, mine) or _which(said, group, mine) or _put_first(said, group):
        return False
    joined = all(e.action == "connect" for e in mine)
    ways = bits(said.row, _after_heading(said, group), first)
    if said.norm(group.end) == ":" and any(b.kind == "from" and said.norm(b.start - 1) in _IN_FROM for b in ways):
        # 'Soil: four inch, in from the pan, not connected'
        return True
    sized = any(is_size(said.row, i) for i in range(group.end, said.clauses[said.clause_of(group.start)].end))
    if sized and said.norm(group.end) in ("up", "down", "across", "over", "along", "through"):
        # 'hot and cold up to it in fifteen, tested'
        return True
    return any(
        (b.kind == "to" and not joined) or (b.kind == "place" and said.norm(b.start) in _WAY_WORDS) for b in ways
    )


_IN_FROM = frozenset("in over across down up out through along , inch".split())


def _after_heading(said: Said, group: Group) -> int:
    """Where more than a name is told of pipes: after the colon of 'Cold to toilet: fifteen, left open'."""
    colon = next((i for i in range(group.end, min(group.end + 5, said.end)) if said.norm(i) == ":"), None)
    return group.end if colon is None else colon


def _begins(said: Said, event: Event) -> int:
    """Where the words of an event begin: 'up through the floor with a bung in' tells a way first."""
    start = said.clauses[event.clause].start
    return event.start if said.norm(start) in _WAY_WORDS else start


def _which(said: Said, group: Group, mine: Sequence[Event]) -> bool:
    """'the cold to the cylinder, lag it', 'the cold to the tank, insulated': which pipe, for work on it."""
    pointed = group.start > said.start and said.norm(group.start - 1) in ("the", "that")
    led = group.end < said.end and said.norm(group.end) in ("to", "from", "for")
    on_it = all(e.action in ("insulate", "test", "clip", "cover", "photograph") for e in mine)
    return pointed and led and on_it


def _put_first(said: Said, group: Group) -> bool:
    """'Cold to the sink, Danny might have capped it': which pipe is spoken of, and only then what was done."""
    number = said.clause_of(group.start)
    clause = said.clauses[number]
    if number + 1 >= len(said.clauses) or said.norm(group.end) not in ("to", "for", "from"):
        return False
    after, ahead = said.clauses[number + 1], set(said.norms(clause.start, group.start))
    if after.lead or not ahead <= _OPENING | DETERMINERS or _sized(said, clause.start, clause.end):
        return False
    if _WAY_WORDS & set(said.norms(group.end + 1, clause.end)):
        # 'Hot to the basin up the stud wall, I capped it in there'
        return False
    return bool(_SPOKEN_OF.search(said.joined(after.start, after.end)))


_SPOKEN_OF = re.compile(r"^(that|it|they|those|these) |(?<!\bof )\b(it|that|them|those)\b")


def _only_named(said: Said, group: Group, events: Sequence[Event]) -> bool:
    """'The hot to the bidet, I've not been able to get at it': which pipe is spoken of, and nothing of it."""
    if events or _sized(said, group.end, said.end) or not _put_first(said, group):
        return False
    after = said.clauses[said.clause_of(group.start) + 1]
    return said.norm(after.start) in ("i", "we", "nobody")


_NOTHING_DONE = re.compile(r"\b(nothing|nowt) (done|doing|started)\b")
"""'waste for the bath, nothing done': no way so far."""


def _run_told(said: Said, group: Group, mine: Sequence[Event]) -> bool:
    rest = said.joined(group.end, said.end)
    beyond = bool(_BEYOND.search(rest)) and not _NOTHING_DONE.search(rest)
    return any(e.action == "run" and not (beyond and e.status is Status.NOT_DONE) for e in mine)


def _called_off(said: Said) -> list[Event]:
    """A thing called off with no other word of work: 'the towel rail is off the job'."""
    off = [c for c in said.off() if c.cue.id != "do-not"]
    if not off:
        return _none_after_all(said)
    if planned := _planned_before(said, off[0]):
        return planned
    # 'the bidet, forget it' and 'forget the bidet'
    near = (*range(said.start, off[0].start), *range(off[0].end, min(off[0].end + 3, said.end)))
    named = [i for i in near if said.row[i].kind == "item"]
    # 'they've gone off the idea of a bath', 'gone right off the rad'
    idea = off[0].end if said.norm(off[0].end - 1) in _OFF_WHAT else said.end
    things = [i for i in named if idea <= i or not in_phrase(said, i)]
    # 'not bothering with the outside tap'
    things = things or [i for i in near if said.row[i].kind == "item" and said.norm(off[0].end) == "with"]
    if not things or said.row[things[0]].keys[0] in STRUCTURE:
        return []
    return [_not_fitted(said, things[0], off[0], (said.start, said.end))]


_OFF_WHAT = frozenset(("of", "off", "on", "having", "about", "over", "the"))


def _not_fitted(said: Said, i: int, off: scope.Found, span: tuple[int, int]) -> Event:
    """The thing at node i, called off by the words `off`."""
    act, keys = Act("fit", "done", "item", i, i + 1), said.row[i].keys
    return Event(act, said.clause_of(i), Status.DROPPED, off.cue.id, keys, None, said.here(), span=span)


def _called_off_beside(said: Said, events: Sequence[Event]) -> list[Event]:
    """'..., and the bath's not happening': a thing called off in a clause of its own, beside other work."""
    told = {k for e in events for k in e.keys}
    out: list[Event] = []
    for cue in said.off():
        number = said.clause_of(cue.start)
        clause = said.clauses[number]
        if cue.cue.id == "do-not" or said.mentioned(clause) or any(e.clause == number for e in events):
            continue
        if said.norm(cue.end - 1) in ("for", "of") and cue.end < said.end and said.norm(cue.end) in _ONE:
            # 'strike out the condensate, as that boiler has no call for one'
            continue
        things = [i for i in said.items(clause) if not in_phrase(said, i) and said.row[i].keys[0] not in STRUCTURE]
        if len(things) == 1 and not set(said.row[things[0]].keys) & told:
            out.append(_not_fitted(said, things[0], cue, (clause.start, clause.end)))
            told |= set(out[-1].keys)
    return out


_ONE = frozenset(("one", "it", "them", "any", "that"))


def _planned_before(said: Said, off: scope.Found) -> list[Event]:
    """'The hall was to have underfloor too. Kindly strike that out': pipes that the sentence before only named."""
    keys, near = said.scene.group, said.norms(off.start, min(off.end + 2, said.end))
    pointed = {"that", "it", "those", "them"} & set(near)
    # 'Bin it, three combis': what is named after says why
    ahead = range(said.start, off.start)
    named = any(g.start < off.start for g in said.groups) or any(
        said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE for i in ahead
    )
    if not pointed or named or not told_of_nothing(said):
        return []
    before = range(before_it(said), said.start)
    things = [i for i in before if said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE]
    if not any(said.row[i].kind in PIPE_KINDS for i in before):
        # 'The drawing's got a towel rail in here. Bin it.'
        on_paper = len(things) == 1 and _ON_PAPER.search(said.joined(before.start, before.stop))
        return [_not_fitted(said, things[0], off, (said.start, said.end))] if on_paper else []
    if not keys:
        return []
    act = Act("run", "done", "pipe", off.start, off.end)
    number, span = said.clause_of(off.start), (said.start, said.end)
    return [Event(act, number, Status.DROPPED, off.cue.id, keys, said.scene.serves, said.here(), span=span)]


def _none_after_all(said: Said) -> list[Event]:
    """'no bath in here after all', 'it's electric, so no gas wanted in here': a thing or pipe that was planned."""
    for number, clause in enumerate(said.clauses):
        named = [i for i in range(clause.start, min(clause.start + 6, clause.end)) if said.row[i].kind in _NAMED]
        ends = (clause.end, said.end) if number == 0 else (clause.end,)
        after_all = named and any(_AFTER_ALL.search(said.joined(clause.start, end)) for end in ends)
        if not after_all or "no" not in said.norms(clause.start, named[0]):
            continue
        i, piped = named[0], said.row[named[0]].kind != "item"
        groups = [g for g in said.groups if g.start <= i < g.end]
        if piped and not groups:
            continue
        act = Act("run" if piped else "fit", "done", "pipe" if piped else "item", i, i + 1)
        keys, span = groups[0].keys if piped else said.row[i].keys, (clause.start, clause.end)
        return [Event(act, number, Status.DROPPED, "after all", keys, None, said.here(), span=span)]
    return []


_NAMED = ("item", "service", "pair")
_AFTER_ALL = pattern("after-all")


_STANDING = re.compile(
    r"\b(pressure|mains|main) ('s|is|are|was|comes in at|of) (about |around |only |a good )?\S+ ?\S* at the\b"
)
"""'pressure's three and a half bar at the stop tap' is what the street gives, no test."""


def bare_test(said: Said, events: Sequence[Event]) -> list[Event]:
    """A pressure with no verb: 'twelve bar, one hour, the main, steady'."""
    if _STANDING.search(said.joined(said.start, said.end)):
        return []
    bars = [i for i in range(said.start, said.end) if (q := said.row[i].qty) and q.unit in ("bar", "millibar")]
    if bars and any(e.action == "test" for e in events):
        # 'hot ten bar, cold ten bar'
        done = {said.clause_of(i) for e in events if e.action == "test" for i in (e.start, e.act.end - 1)}
        tested = {k for e in events if e.action == "test" for k in e.keys}
        bars = [i for i in bars if said.clause_of(i) not in done and _untested_here(said, i, tested)]
    if not bars or any(e.action == "fill" for e in events):
        return []
    act = Act("test", "done", "pipe", bars[0], bars[0] + 1)
    number = said.clause_of(bars[0])
    clause = said.clauses[number]
    status, cue = scope.decide(act, said.governing(act, clause), False)
    before = [e for e in said.scene.recent if e.action == "test" and e.status is Status.DONE]
    if status is Status.NOT_DONE and before:
        # 'Gave it four bar. Ten minutes later there wasn't four bar.'
        for event in before:
            event.slots["failed"] = True
        return []
    keys, serves = pipes_for(said, act, clause)
    if status is None or not keys:
        return []
    test = Event(act, number, status, cue, keys, serves, said.here(), span=(clause.start, clause.end))
    return [test, *bare_test(said, [*events, test])]


def _untested_here(said: Said, i: int, tested: set[str]) -> bool:
    """Whether the clause of the pressure at node i names pipes of its own that no test was told of."""
    named = said.named(said.clauses[said.clause_of(i)])
    return bool(named) and not set(named[0].keys) & tested
