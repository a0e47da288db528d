"""Clauses with no work of their own that speak of the last: 'same again', 'the hot I've not', 'that wants doing'."""

from __future__ import annotations

import re
from dataclasses import replace

from notes.model import Status
from notes.reading.clauses import WAITING, Clause, says_which, things_listed
from notes.reading.event import Event
from notes.reading.mentions import DAYS
from notes.reading.nominal import is_size
from notes.reading.places import bits
from notes.reading.said import Said
from notes.reading.things import in_phrase
from notes.reading.which_pipes import other_pipes, the_other
from notes.reading.wordlists import pattern, words

_FUTURE = pattern("in-the-future")
_ALL_THAT = pattern("all-that")
_SAME_AGAIN = pattern("same-again")
_SO_HAS = pattern("so-has")
_WANTS_DOING = pattern("wants-doing")
_WAY_WORDS = words("way-words")
_DOING_IT = re.compile(r"\b(doing|do) (it|that|them|those)\b")


def short_for(said: Said, number: int, events: list[Event]) -> list[Event]:
    """What clause `number` says of the work told before it, in this sentence or the last."""
    last = events[-1] if events else None
    told_last = last or said.scene.told_before
    if told := _short_no(said, number) or doing_it(said, number, told_last):
        return told
    if told := _pipes_first(said, number, events):
        return told
    if told := _so_has(said, number, told_last):
        return told
    if last is None:
        return _of_last_sentence(said, number)
    if last.clause >= number:
        return []
    for way in _WAYS:
        if told := way(said, number, last):
            return told
    return []


def _of_last_sentence(said: Said, number: int) -> list[Event]:
    if not said.scene.recent:
        return _all_that(said, number)
    last = said.scene.recent[-1]
    told = _all_that(said, number)
    wanted = last.status is Status.TO_DO and said.clauses[number].lead in ("and", "plus")
    told = told or (order_too(said, number, last) if wanted else [])
    after = said.clauses[number + 1].lead if number + 1 < len(said.clauses) else ""
    if number == 0 and after in _REASONS:
        # 'The hot's clipped. The cold isn't, because I ran out'
        told = told or _so_too(said, number, last)
    later = [a for a in said.acts if a.start >= said.clauses[number].end]
    ends = all(a.action in ("cap", "leave") or a.form in ("noun", "notdone", "ing") for a in later)
    if told or (later and not (ends and _sized_anew(said, number))):
        # 'same idea on the underfloor, four loops laid': told in its own words
        return told
    if told := _same_again(said, number, last) or _not_there(said, number, last) or _so_too(said, number, last):
        return told
    again = bool({"again", "over"} & set(said.norms(said.clauses[number].start, said.clauses[number].end)))
    # 'Flushed the flow. It wants doing again.'
    return _wants_doing(said, number, last) if again and not said.named(said.clauses[number]) else []


_REASONS = frozenset(("because", "so", "but", "though", "although", "till", "until"))


def _again(said: Said, last: Event, number: int, status: Status, cue: str, at: tuple[int, int] | None = None) -> Event:
    """The last event once more in clause `number`, its work at nodes `at`."""
    clause = said.clauses[number]
    start, end = at or (clause.start, clause.end)
    act = replace(last.act, start=start, end=end)
    return Event(act, number, status, cue, last.keys, None, last.rooms, span=(clause.start, clause.end))


def _text(said: Said, clause: Clause) -> str:
    return said.joined(clause.start, clause.end)


def _short_no(said: Said, number: int) -> list[Event]:
    """'because I haven't': the work last spoken of, even as a condition, is not done."""
    clause = said.clauses[number]
    words = [n for n in said.norms(clause.start, clause.end) if n not in WAITING]
    # 'because I ain't'
    have = ("have", "has", "is") if words[:1] in (["i"], ["we"]) else ("have", "has")
    if len(words) not in (3, 4) or words[1] not in have:
        return []
    if words[-1] not in ("not", "yet") or "not" not in words:
        return []
    seen = [a for a in said.acts if a.end <= clause.start]
    keys = said.scene.group
    if not seen or seen[-1].on != "pipe" or not keys:
        return []
    act = replace(seen[-1], start=clause.start, end=clause.end)
    span = (said.clauses[max(0, number - 1)].start, clause.end)
    return [Event(act, number, Status.NOT_DONE, "not", keys, None, said.here(), span=span)]


def doing_it(said: Said, number: int, last: Event | None) -> list[Event]:
    """'Walter's doing it Monday': the last work, to be done."""
    words = _text(said, said.clauses[number])
    undone = last is not None and last.status is Status.NOT_DONE and " not " not in words
    waits = undone and any(way.search(words) for way in (_WILL_DO_IT, _DO_IT))
    waits = waits or (undone and bool(_COMES_FOR.search(words)))
    waits = waits or (undone and last is not None and last.piped and bool(_FOR_THEN.search(words)))
    if last is None or not (waits or (_DOING_IT.search(words) and _FUTURE.search(words))):
        return []
    return [_again(said, last, number, Status.TO_DO, "future-time")]


_WILL_DO_IT = re.compile(
    r"\b(will|going to|shall|need to|have to|must|got to|want to) (do|sort|see to|get to|get round to|finish|get) "
    r"(it|that|them|those|this)\b"
)


_DO_IT = re.compile(r"^(please |just |so |kindly )*(do|sort|get|finish|see to) (it|that|them|those|this)\b")
"""'and do that before the panel goes on', after what was said not to be done."""
_COMES_FOR = re.compile(
    r"\b(coming|comes|is in|due|booked|back|here|out) (\S+ ){0,4}(for|to do|about|to see to) (that|it|them)$"
)
"""'the lad's coming Thursday for that'."""
_FOR_THEN = re.compile(
    r"^(that|it|they|those|both|them|which) ?(one |two |lot |will )?(is|are|'s|be)? ?(all )?(a job |down |due |left )*"
    rf"(for |on )?({'|'.join(DAYS)}|tomorrow|next week|the morning|next|later)\b"
)
"""'..., that's for Thursday'."""


def _pipes_first(said: Said, number: int, events: list[Event]) -> list[Event]:
    """'I've run the cold and capped it, the hot I'll do Monday': the main work, on these."""
    clause = said.clauses[number]
    named = said.named(clause)
    if not named or clause.question or clause.lead in WAITING:
        return []
    told = _WILL_DO.fullmatch(said.joined(named[-1].end, clause.end))
    done = [e for e in events or said.scene.recent if e.piped and e.status is Status.DONE]
    if told is None or not done:
        return []
    main = next((e for e in done if e.action not in _ENDS), done[-1])
    status = Status.DONE if told["done"] else Status.TO_DO
    event = _again(said, main, number, status, "again" if told["done"] else "future-time", (clause.end - 1, clause.end))
    event.keys = tuple(k for g in named for k in g.keys)
    event.rooms = said.here() if _room_named(said, clause) else main.rooms
    return [event]


_WILL_DO = re.compile(
    r"(?:i|we|he|she|they|\w+) (?:(?:will|can|shall|must|have to|need to|want to|am|is|are|'s) "
    r"(?:do|be doing|doing|get done|sort|finish|get to)"
    r"(?: (?:it|that|them|those))?|(?P<done>have done|did|has done))\b(?: (?!not)\S+){0,4}"
)
_ENDS = frozenset(("cap", "leave", "clip", "photograph"))


def _all_that(said: Said, number: int) -> list[Event]:
    """'All that wants doing': what was just said not to be done."""
    if not _ALL_THAT.search(_text(said, said.clauses[number])):
        return []
    undone = [e for e in said.scene.recent if e.status is Status.NOT_DONE]
    return [_again(said, e, number, Status.TO_DO, "wants doing") for e in undone]


def _same_again(said: Said, number: int, last: Event) -> list[Event]:
    """'and the cold, same again': the last work with its pressure and time, on other pipes."""
    clause, before = said.clauses[number], said.clauses[max(0, number - 1)]
    if _text(said, clause) in _ALL_SAME and len(said.clauses) == 1 and said.here() not in (last.rooms, (None,)):
        # 'Hall. Rad's hung. Landing. Same.'
        return [replace(_again(said, last, number, last.status, "again"), rooms=said.here(), like=last)]
    if not _SAME_AGAIN.search(_text(said, clause)) or not last.piped or last.status is not Status.DONE:
        return []
    on = said.mentioned(clause)
    near = on or [g for g in said.groups if before.start <= g.start < clause.end and not g.referred]
    group = [g for g in near if g.start > last.act.end]
    if not near and number and last.rooms != said.here() and said.here() != (None,) and _room_alone(said, number - 1):
        # 'kitchen, hot's capped. Hall, the same'
        there = _again(said, last, number, last.status, "again")
        there.rooms, there.span, there.like = said.here(), (before.start, clause.end), last
        return [there]
    if not near and said.here() != last.rooms and _room_named(said, clause):
        # 'same in the utility'
        event = _again(said, last, number, last.status, "again")
        event.rooms, event.like = said.here(), last
        return [event]
    if not group and (things := [i for i in said.items(clause) if not in_phrase(said, i)]):
        # 'and the basin just the same'
        event = _again(said, last, number, last.status, "again")
        event.serves, event.like = said.words(things[0], things[0] + 1), last
        return [event] if last.action != "test" and clause.end - clause.start <= 6 else []
    if not group or (set(group[-1].keys) == set(last.keys) and last.rooms == said.here()):
        return []
    event = _again(said, last, number, last.status, "again")
    if last.action not in ("run", "tee", "test") and _sized_anew(said, number):
        event.act = replace(event.act, action="run", form="done")
    event.keys, event.rooms, event.span, event.like = group[-1].keys, said.here(), (before.start, clause.end), last
    return [event]


_ALL_SAME = frozenset(("same", "the same", "same again", "same here", "same again here", "ditto", "likewise"))


def _room_alone(said: Said, number: int) -> bool:
    clause = said.clauses[number]
    return clause.end - clause.start <= 3 and said.row[clause.end - 1].kind in ("room", "head")


def _sized_anew(said: Said, number: int) -> bool:
    """'hot the same, fifteen copper along the beam': a size of its own says that it runs the same way."""
    spans = [said.clauses[number], *(c for c in said.clauses[number + 1 : number + 2] if not c.lead)]
    sized = (c for c in spans if any(is_size(said.row, i) for i in range(c.start, c.end)))
    return any(all(a.form in ("ing", "noun", "base") for a in said.acts_in(c)) for c in sized)


def forgot(said: Said, number: int, last: Event | None) -> list[Event]:
    """'lagged the flow, forgot the return'."""
    clause = said.clauses[number]
    named = said.mentioned(clause)
    told = _text(said, clause)
    ran_out = number > 0 and bool(_RAN_OUT.match(f"{_text(said, said.clauses[number - 1])} {told}"))
    left_out = bool(_FORGOT.match(told) or _RAN_OUT.match(told) or ran_out)
    if last is None or not named or not last.piped or not left_out or named[-1].end != clause.end:
        return []
    return [replace(_again(said, last, number, Status.NOT_DONE, "forgot"), keys=named[-1].keys)]


_RAN_OUT = re.compile(
    r"(but )?(i |we |he |they )?(have |has )?(just )?(ran|run) out( of \S+)?"
    r"( before (i|we|he|they) (got|could get|did|had got) to| before| for) "
)
_FORGOT = re.compile(r"(i |we |he |they )?(have |has )?(clean |just )?(forgot|forgotten|missed|left out|skipped)\b")


def _with_it(said: Said, number: int, last: Event) -> list[Event]:
    """'old tank's out, and the overflow with it'."""
    clause = said.clauses[number]
    named, things = said.mentioned(clause), said.items(clause)
    ends = said.norms(max(clause.start, clause.end - 2), clause.end) in (["with", "it"], ["with", "them"])
    if not ends or last.action not in ("remove", "fit", "cover") or not (named or things):
        return []
    event = _again(said, last, number, last.status, "again")
    event.keys = named[-1].keys if named else (said.row[things[-1]].keys[0],)
    return [event]


def _another_on(said: Said, number: int, last: Event) -> list[Event]:
    """'a cap on the gas and another on the oil'."""
    clause = said.clauses[number]
    named = said.mentioned(clause)
    if clause.lead != "and" or not last.piped or not named or named[-1].end != clause.end:
        return []
    if not _ANOTHER_ON.fullmatch(said.joined(clause.start, named[0].start).strip()):
        return []
    return [replace(_again(said, last, number, last.status, "again"), keys=named[-1].keys)]


_ANOTHER_ON = re.compile(r"(another|one|the same|two more)( one)? (on|in|for|to)( the| my| that| his)?")


def _another_to(said: Said, number: int, last: Event) -> list[Event]:
    """'a fifteen teed out of it to the sink and another to the dishwasher'."""
    clause = said.clauses[number]
    if last.action != "tee" or said.mentioned(clause) or not _ANOTHER_TO.match(_text(said, clause)):
        return []
    return [_again(said, last, number, last.status, "again")]


_ANOTHER_TO = re.compile(
    r"(and |then )?(another|a second|one more|a third)( one| tee)?( off it)? (to|for|down to|up to|over to) "
)


def order_too(said: Said, number: int, last: Event | None) -> list[Event]:
    """'..., a bag of clips, and the valves for it': one more thing to order; 'four rads came, and two pumps'."""
    clause = said.clauses[number]
    if last is None or last.action != "order" or clause.question:
        return []
    joined = clause.lead in ("and", "plus", "then")
    things = bare_things(said, clause)
    definite = bool(things) and bool(_DEFINITE & set(said.norms(clause.start, things[0])))
    if not things or (definite and not (joined and said.norms(things[-1] + 1, things[-1] + 2) == ["for"])):
        return []
    amount = _amount(said, clause, things[0])
    if not (amount if last.status is not Status.TO_DO else joined or (amount and not clause.lead)):
        return []
    return [_thing_again(said, number, last, i) for i in things]


def _thing_again(said: Said, number: int, last: Event, i: int) -> Event:
    event = _again(said, last, number, last.status, "again", (i, i + 1))
    event.keys = said.row[i].keys[:1]
    return event


def bare_things(said: Said, clause: Clause) -> list[int]:
    """The nodes of the things in a clause that says nothing else: 'a trap and a bag of clips for the loft'."""
    things = [i for i in said.items(clause) if not in_phrase(said, i) and not says_which(said.row, i, clause.end)]
    if len(things) > 1 and things not in things_listed(said.row, clause.start, clause.end):
        return []
    ahead = said.row[clause.start : things[0]] if things else []
    if not things or len(ahead) > _LONG_LIST or any(n.norm in _TELLING | _TURNED for n in ahead):
        return []
    after = things[-1] + 1
    while after < clause.end and said.row[after].kind in ("qty", "material"):
        # 'twenty elbows fifteen mil'
        after += 1
    return things if _FOR_WHAT.fullmatch(said.joined(after, clause.end)) else []


def _amount(said: Said, clause: Clause, thing: int) -> bool:
    return any(n.qty is not None or n.norm in _AMOUNTS for n in said.row[clause.start : thing])


_DEFINITE = frozenset(("the", "that", "his", "those"))
_LONG_LIST = 5
_AMOUNTS = frozenset("a an another some more few couple bag box pair roll length set half".split())
_FOR_WHAT = re.compile(
    r"((as well|too|please|and all|while \S+ \S+ \S+|while \S+ \S+) ?)*((for|to go|in|off|from|with) .*)?"
)


def _sized(said: Said, number: int, last: Event) -> list[int]:
    """Sizes in a clause joined on that names no pipes of its own."""
    clause = said.clauses[number]
    if clause.lead not in ("and", "then", "plus") or said.named(clause):
        return []
    return [i for i in range(clause.start, clause.end) if i not in said.scene.void and is_size(said.row, i)]


def _next_size(said: Said, number: int, last: Event) -> list[Event]:
    """'and fifteen for the dishwasher', 'then twenty-two at the top'."""
    clause, sized = said.clauses[number], _sized(said, number, last)
    if not sized or last.action not in ("tee", "run") or not last.piped:
        return []
    if clause.lead != "then" and "for" not in said.norms(clause.start, clause.end):
        return []
    return [_again(said, last, number, last.status, "again", (sized[0], sized[0] + 1))]


def _next_stretch(said: Said, number: int, last: Event) -> list[Event]:
    """'and in fifteen up to the loft', 'below the tundish it's twenty-eight': the run goes on in another size."""
    clause, sized = said.clauses[number], _sized(said, number, last) or _sized_beyond(said, number)
    if not sized or last.action != "run":
        return []
    if not any(b.kind in ("from", "to", "place") for b in bits(said.row, clause.start, clause.end)):
        return []
    return [_again(said, last, number, last.status, "again", (sized[0], sized[0] + 1))]


def _sized_beyond(said: Said, number: int) -> list[int]:
    """The size in a clause that begins 'below the tundish', 'after the valve', 'from there'."""
    clause = said.clauses[number]
    if said.norm(clause.start) not in _BEYOND or said.named(clause):
        return []
    return [i for i in range(clause.start, clause.end) if i not in said.scene.void and is_size(said.row, i)]


_BEYOND = frozenset(("below", "after", "beyond", "past", "from", "above"))


def _next_way(said: Said, number: int, last: Event) -> list[Event]:
    """'all three teed into one and out through the floor': a way from where the pipes were joined."""
    clause = said.clauses[number]
    if last.action not in ("tee", "connect", "join") or not last.piped or last.status is not Status.DONE:
        return []
    if clause.lead not in ("and", "then") or said.norm(clause.start) not in _WAY_WORDS or said.named(clause):
        return []
    if not any(b.kind in ("to", "place") for b in bits(said.row, clause.start, clause.end)):
        return []
    event = _again(said, last, number, Status.DONE, "again", (clause.start, clause.start + 1))
    event.act = replace(event.act, action="run", form="done")
    return [event]


def _so_has(said: Said, number: int, last: Event | None) -> list[Event]:
    """'and neither has the cold', 'so is the return': the last work, the same on these pipes."""
    clause = said.clauses[number]
    group = [g.keys for g in said.mentioned(clause)]
    if last is not None and not last.piped:
        # 'so is the bath'
        group = [said.row[i].keys[:1] for i in said.items(clause)]
    text = f"{clause.lead} " * (clause.lead == "so") + _text(said, clause)
    if last is None or not group or not _SO_HAS.search(text):
        return []
    event = _again(said, last, number, last.status, "again")
    event.keys, event.rooms = group[0], said.here()
    return [event]


def _so_too(said: Said, number: int, last: Event) -> list[Event]:
    """'The hot is as well', 'the other rad isn't', 'return wants doing too': the last work, on others of its kind."""
    clause = said.clauses[number]
    found = [(g.keys, g.end) for g in said.named(clause)[:1]] if last.piped else _thing_first(said, clause)
    if not found and (at := the_other(said, clause)) and (others := other_pipes(said) if last.piped else last.keys):
        found = [(others, at)]
    if not found and (at := _one_there(said, clause)):
        found = [(last.keys, at)]
    if not found or clause.question or clause.lead in WAITING:
        return []
    keys, end = found[0]
    if end == clause.end and clause.lead in ("and", "plus") and len(said.clauses) == 1 and end - clause.start <= 3:
        # 'Capped the hot. And the cold.'
        return [replace(_again(said, last, number, last.status, "again"), keys=keys)]
    tail, ahead = said.joined(end, clause.end), set(said.norms(clause.start, end))
    status = next((status for status, way in _SO if way.fullmatch(tail)), None)
    if last.action in ("ask", "decide") and tail and said.norm(clause.end - 1) in DAYS:
        # 'ask about the gas. The oil's Thursday'
        return []
    if status is None or (ahead & _TURNED) or (last.status is Status.DONE) < (status is Status.DONE):
        return []
    event = _again(said, last, number, status, "so too", (clause.end - 1, clause.end))
    event.keys, event.rooms = keys, said.here() if _room_named(said, clause) else last.rooms
    return [event]


def _one_there(said: Said, clause: Clause) -> int:
    """The node after 'the bathroom one'; else 0."""
    ones = [i for i in range(clause.start + 1, clause.end) if said.norm(i) in ("one", "ones")]
    if ones and said.row[ones[0] - 1].kind == "room":
        return ones[0] + 1
    ahead = range(ones[0] + 2, min(ones[0] + 4, clause.end)) if ones and said.norm(ones[0] - 1) == "the" else ()
    return next((i + 1 for i in ahead if said.row[i].kind == "room"), 0)


def _not_there(said: Said, number: int, last: Event) -> list[Event]:
    """'tested in the kitchen. It's not in the utility': the last work, elsewhere not done."""
    clause = said.clauses[number]
    if last.status is Status.DONE and _there_not_yet(said, clause):
        event = _again(said, last, number, Status.NOT_DONE, "not")
        event.rooms = said.here() if _room_named(said, clause) else last.rooms
        return [event]
    if not _NOT_THERE.match(_text(said, clause)) or said.mentioned(clause) or said.items(clause):
        return []
    if clause.question or not _room_named(said, clause) or said.here() == last.rooms:
        return []
    event = _again(said, last, number, Status.NOT_DONE, "not")
    event.rooms = said.here()
    return [event]


def _there_not_yet(said: Said, clause: Clause) -> bool:
    """'Mastic round it, first and second. Ground not yet.', 'Kitchen not yet'."""
    told = ["ROOM" if n.kind in ("room", "head") else n.norm for n in said.row[clause.start : clause.end]]
    return bool(_THERE_NOT_YET.fullmatch(" ".join(told)))


_THERE_NOT_YET = re.compile(
    r"(and |but )?(in |up |down |on |at )*(the )?"
    r"(ROOM|(ground|first|second|third|top|bottom|middle|upper|lower)( floor| flat| landing)?)( floor)?"
    r" (is |'s )?not( done)?( yet| so far| as yet)"
)
_NOT_THERE = re.compile(
    r"(and |but )?((it|they|that|both) )?((is|are|'s|has|have) )?not (yet )?(been )?(done )?(in|at|up|down|over|the)\b"
)


def _thing_first(said: Said, clause: Clause) -> list[tuple[tuple[str, ...], int]]:
    found = [i for i in said.items(clause)[:1] if not in_phrase(said, i)]
    # 'the unions for it haven't'
    its = bool(found) and said.norms(found[0] + 1, found[0] + 3) in (["for", "it"], ["for", "them"])
    return [(said.row[i].keys[:1], i + (3 if its else 1)) for i in found]


def _room_named(said: Said, clause: Clause) -> bool:
    return any(n.kind == "room" for n in said.row[clause.start : clause.end])


_SO = (
    (Status.NOT_DONE, pattern("so-not")),
    (Status.TO_DO, pattern("so-to-do")),
    (Status.DONE, pattern("so-done")),
)
_TURNED = frozenset(("not", "no", "think", "if", "might", "off", "for"))


def _wants_doing(said: Said, number: int, last: Event) -> list[Event]:
    """'the cold still to do', 'and that wants doing'."""
    clause = said.clauses[number]
    if not last.piped or not _WANTS_DOING.search(_text(said, clause)):
        return []
    group = said.named(clause)
    event = _again(said, last, number, Status.TO_DO, "to be done", (clause.end - 1, clause.end))
    event.keys = group[0].keys if group else last.keys
    event.rooms = said.here() if _room_named(said, clause) else event.rooms
    return [event]


def _but_not_thing(said: Said, number: int, last: Event) -> list[Event]:
    """'fitted the bath but not the basin', 'but not about the basin'."""
    clause = said.clauses[number]
    things = said.items(clause)
    opens = said.norm(clause.start) == "not" and clause.lead in ("but", "")
    if last.piped or not opens or len(things) != 1 or not things[0] == clause.end - 1 <= clause.start + 3:
        return []
    status = Status.TO_DO if last.action == "decide" else Status.NOT_DONE
    event = _again(said, last, number, status, "not", (clause.start, clause.start + 1))
    event.keys = said.row[things[0]].keys[:1]
    return [event]


def _and_out(said: Said, number: int, last: Event) -> list[Event]:
    """'the cylinder's drained and out', 'drained but not out yet', 'flushed and back on the wall'."""
    told = _OUT.fullmatch(_text(said, said.clauses[number]))
    if last.piped or last.action not in _BEFORE_IT_GOES or last.status is not Status.DONE or not told:
        return []
    status = Status.NOT_DONE if told["not"] else Status.DONE
    event = _again(said, last, number, status, "and out")
    event.act = replace(event.act, action="fit" if told["back"] else "remove", on="item")
    return [event]


_BEFORE_IT_GOES = frozenset(("drain", "isolate", "flush", "fill"))
_OUT = re.compile(
    r"(?:and |but )*(?P<not>not )?(?:now |all |both |well |already )*"
    r"(?:(?P<back>back (?:on|in|up))|out|away|gone|skipped|off|in the skip)"
    r"(?: (?:the|of|its|their|that|there|here|wall|walls|bracket|brackets|house|building|way|skip|yet|now|already))*"
)


def _and_there(said: Said, number: int, last: Event) -> list[Event]:
    """'capped the hot in the kitchen and the cold in the bathroom': the verb is said once."""
    clause = said.clauses[number]
    group = said.named(clause)
    if clause.lead in ("", "and") and last.clause == number - 1 and _THE_ONE_IN.match(_text(said, clause)):
        return _the_one_in(said, number, last)
    if len(group) != 1 or clause.lead not in ("", "and") or last.clause != number - 1 or not last.piped:
        return []
    first = said.clauses[last.clause]
    if last.status not in (Status.DONE, Status.TO_DO) or not any(g.start >= last.act.end for g in said.named(first)):
        return []
    ahead, tail = said.norms(clause.start, group[0].start), said.norms(group[0].end, clause.end)
    if not set(ahead) <= _POINTING or set(tail) & _TELLING or not tail or tail[0] not in _LEADS_ON:
        return []
    event = _again(said, last, number, last.status, "again", (group[0].start, group[0].end))
    event.keys, event.rooms = group[0].keys, said.here() if _room_named(said, clause) else last.rooms
    return [event]


def _the_one_in(said: Said, number: int, last: Event) -> list[Event]:
    """'hung the rad in the hall and the one in the kitchen'."""
    clause = said.clauses[number]
    if not _room_named(said, clause) or said.here() == last.rooms or clause.end - clause.start > 6:
        return []
    return [replace(_again(said, last, number, last.status, "again"), rooms=said.here())]


_THE_ONE_IN = re.compile(r"(the|that) ones? (in|at|up in|down in)\b")
_POINTING = frozenset(("the", "my", "his", "that"))
_TELLING = frozenset(("is", "'s", "are", "was", "has", "have", "wants", "needs", "to", "not", "will"))
_LEADS_ON = words("places") | words("way-words")


_WAYS = (
    _same_again, forgot, _with_it, _another_on, _another_to, order_too, _next_size, _next_stretch, _next_way,
    _wants_doing, _but_not_thing, _and_out, _and_there, _not_there, _so_too,
)  # fmt: skip
