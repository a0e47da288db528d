"""Where one is while a sentence is told: rooms entered, listed, or meant by their things."""

from __future__ import annotations

import re
from itertools import pairwise

from notes.reading.clauses import Clause
from notes.reading.event import Event
from notes.reading.mentions import NAME_KINDS, PIPE_KINDS
from notes.reading.patterns import macro_words
from notes.reading.rooms import Spot, side_by_side, spots
from notes.reading.said import Said
from notes.reading.wordlists import pattern, words

_PLANT, _PLANT_ROOMS = words("plant"), words("room-plant")
WIDE = frozenset(("test", "fill", "flush", "drain", "photograph"))
"""Work done to several rooms at once; the rooms may be named after it."""


def take_rooms(said: Said, number: int, clause: Clause) -> None:
    """Enter the room, or the rooms, that a clause names."""
    if not number:
        said.began = said.scene.room
        _in_there(said)
    found = _spots(said, number)
    setting = [s for s in found if s.part == "set" and len(s.rooms) == 1 and not _after_where(said, s, clause)]
    setting = [s for s in setting if not _still_this(said, s, number) and not _elsewhere(said, s, number)]
    if setting and _agenda(said, number):
        return
    if len(setting) > 1 and _on_foot(said, setting[0], setting[-1]):
        setting = setting[-1:]
    names = tuple(dict.fromkeys(s.rooms[0] for s in setting))
    here = names and said.joined(setting[-1].node + 1, setting[-1].node + 3) == "in here"
    if not names and number and _back_up_here(said, clause, number):
        said.scene.enter(said.began)
        return
    if names and said.scene.room and not here and (_in_here(said, clause) or _and_in_here(said, number)):
        said.whereabouts = tuple(dict.fromkeys((said.scene.room, *names)))
    elif len(names) > 1:
        said.whereabouts = names
        if said.scene.room not in names:
            said.scene.enter(names[0])
    elif names:
        _take_one(said, number, setting[0])
    elif there := [s for s in found if _where_it_is(said, s, clause)]:
        said.whereabouts = there[0].rooms
    elif headed := [s for s in found if len(s.rooms) == 1 and _heads(said, s)]:
        said.scene.enter(headed[0].rooms[0])
    elif own := [s for s in found if s.part == "own" and len(s.rooms) == 1 and not _not_its_room(said, s, clause)]:
        if said.scene.room is None:
            said.scene.enter(own[0].rooms[0])
        said.whereabouts = tuple(dict.fromkeys(s.rooms[0] for s in _listed(said, own)))


def _in_there(said: Said) -> None:
    """'In there the joiner has ...', 'In here it's bare': the room last spoken of, or the one told of before it."""
    looked_to, left = said.scene.looked_to, said.scene.left
    found = [s for n in range(len(said.clauses)) for s in _spots(said, n) if len(s.rooms) == 1]
    aside = [s.rooms[0] for s in found if s.part in ("own", "end")]
    by_the_way = found and found[-1].part == "set" and any(a.start < found[-1].node for a in said.acts)
    said.scene.looked_to = aside[-1] if aside and found[-1].part != "set" else None
    said.scene.left = said.scene.room if by_the_way else None
    opened = [n for n in said.norms(said.start, said.start + 4) if n not in ("and", "so", "now")][:2]
    if looked_to and opened == ["in", "there"] and said.norm(said.start + 2) not in _THERE_IS:
        said.scene.enter(looked_to)
    elif left and opened == ["in", "here"]:
        said.scene.enter(left)


def _back_up_here(said: Said, clause: Clause, number: int) -> bool:
    """'In the yard I've joined on, and up here it's connected': the work before was told of the other room."""
    if said.began in (None, said.scene.room) or clause.lead not in ("and", "but"):
        return False
    told = any(said.acts_in(c) for c in said.clauses[:number])
    return told and said.norms(clause.start, clause.start + 2) in (["up", "here"], ["down", "here"])


def _agenda(said: Said, number: int) -> bool:
    """'Kitchen, then the hall.': what a memo will tell of, and the first comes first."""
    if not number or number + 1 < len(said.clauses) or said.acts_told() or said.clauses[number].lead != "then":
        return False
    before = said.clauses[number - 1]
    words = [n for n in said.row[before.start : before.end] if n.kind not in ("room", "head", "mark")]
    named = len(words) < before.end - before.start
    return named and {n.norm for n in words} <= _FIRST


_FIRST = frozenset("the first in to begin start with".split())


def _heads(said: Said, spot: Spot) -> bool:
    """'Glasshouse overflow.': a sentence of no more than a room and its pipes, so the next one tells of them there."""
    rest = [n for n in said.row[said.start : said.end] if n.kind != "mark" and n.norm not in ("the", "and", "now")]
    return len(rest) > 1 and rest[0] is said.row[spot.node] and all(n.kind in NAME_KINDS for n in rest[1:])


def _not_its_room(said: Said, spot: Spot, clause: Clause) -> bool:
    if said.row[spot.node + 1].kind == "word" and _after_where(said, spot, clause):
        # 'over to where the riser starts', but 'where she wants the hall thermostat'
        return True
    return _served_from_here(said, spot, clause) or _under_heading(said, spot)


def _under_heading(said: Said, spot: Spot) -> bool:
    """'The hall, under the boards you've the lounge flow and return', '..., they say corridor stack': told here."""
    after = said.row[spot.node + 1]
    if after.kind not in PIPE_KINDS and after.norm != "stack":
        return False
    return any(
        s.part == "set" and s.rooms == (said.scene.room,)
        for n in range(said.clause_of(spot.node))
        for s in _spots(said, n)
    )


def _listed(said: Said, own: list[Spot]) -> list[Spot]:
    """The first, and what is named side by side with it: 'kitchen and hall rads'."""
    out = own[:1]
    for spot in own[1:]:
        if not side_by_side(said.row, out[-1].node, spot.node):
            break
        out.append(spot)
    return out


def _on_foot(said: Said, first: Spot, last: Spot) -> bool:
    """'Went through the kitchen to get to the cellar': only the last is where one is then."""
    between = said.norms(first.node + 1, last.node)
    past = bool(_PAST & set(said.norms(max(said.start, first.node - 2), first.node)))
    return (past and bool({"to", "into"} & set(between))) or between[:2] == ["to", "get"]


_PAST = frozenset(("through", "past", "via"))


def _elsewhere(said: Said, spot: Spot, number: int) -> bool:
    """'the joiner's in the hall', 'left my grips in the loft', 'not the kitchen, the utility': nobody goes there."""
    clause = said.clauses[number]
    ahead = said.norms(clause.start, spot.node)
    why = clause.lead == "because" or ahead[:1] in (["as"], ["since"])
    things = any(n.kind == "item" for n in said.row[clause.start : spot.node])
    if why and said.scene.room is not None and (things or (clause.lead == "because" and not said.acts_in(clause))):
        # 'as a boiler over the yard has no call for one', 'because the riser isn't ready for it'
        return True
    if said.scene.room and clause.lead in _WHEN and not said.mentioned(clause) and not _WE_ARE & set(ahead):
        # 'I'll do it once the hall's been tiled'
        return True
    if _only_told_of(said, spot, clause) or (said.scene.room is not None and _GOT_TO.search(" ".join(ahead))):
        return True
    denied = [n for n in ahead if n not in ("in", "the", "up", "down", "at")] == ["not"]
    if said.worked is None and denied and number + 1 < len(said.clauses):
        return True
    if ahead[:2] in (["i", "forgot"], ["i", "left"]):
        # 'I forgot my bender in the loft'
        ahead = ahead[1:]
    told = said.mentioned(clause) or said.acts_in(clause) or said.scene.room is None or _WE_ARE & set(ahead)
    return not told and not (things and not _SEEN & set(ahead)) and bool((_SEEN | _OTHERS) & set(ahead))


def _only_told_of(said: Said, spot: Spot, clause: Clause) -> bool:
    """'the boy is in the scullery', 'I shall do the hall on Monday', in a clause that tells of no pipe or thing."""
    if (
        said.scene.room is None
        or said.acts_in(clause)
        or any(n.kind in NAME_KINDS for n in said.row[clause.start : clause.end])
    ):
        return False
    words = ["R" if i == spot.node else said.norm(i) for i in range(clause.start, clause.end)]
    found = _OF_OTHERS.match(" ".join(words))
    return found is not None and len(found[0].split()) == spot.node - clause.start


_OF_OTHERS = pattern("room-of-others", "(?:", ")(?!\\S)")
_GOT_TO = re.compile(r"\b(till|until|when|once|before) (i|we|he|they) (get|can get|reach|come)\b")
"""'left open till I get to the hall'"""
_WHEN = frozenset("when while once before after until till unless".split())
_WE_ARE = frozenset(("i", "we", "us"))
_SEEN = frozenset("left forgot hear heard smell".split())
_OTHERS = macro_words("PEOPLE", "COVERERS")


def move_on(said: Said) -> None:
    """'Out of the back door into the yard.', 'Across the landing, surgery three.': one only goes there."""
    row = said.row[said.start : said.end]
    told = said.acts or any(n.kind not in ("word", "mark", "room", "head", "qty") and n.norm != "wall" for n in row)
    if told or any(n.norm in _SOMEBODY_DOES for n in row):
        return
    found = [s for n in range(len(said.clauses)) for s in _spots(said, n) if len(s.rooms) == 1]
    goes = any(n.norm in _GOING for n in row)
    if found and goes and found[-1].part in ("set", "end"):
        said.scene.enter(found[-1].rooms[0])


_GOING = words("way-words") | words("ways") | {"into", "onto", "next"}
_SOMEBODY_DOES = frozenset("is 's are was were has have had will he she they it that for not no".split())


def _take_one(said: Said, number: int, spot: Spot) -> None:
    if said.whereabouts and len(said.whereabouts) == 1:
        said.whereabouts = None
    if number and _list_goes_on(said, number, spot):
        said.whereabouts = (*(said.whereabouts or (said.scene.room,)), spot.rooms[0])
    else:
        said.scene.enter(spot.rooms[0])


def _in_here(said: Said, clause: Clause) -> bool:
    return any(said.norm(i) == "here" and said.norm(i - 1) == "in" for i in range(clause.start + 1, clause.end))


def _and_in_here(said: Said, number: int) -> bool:
    """'in the yard and in here alike': a clause on, the room one is in."""
    after = said.clauses[number + 1] if number + 1 < len(said.clauses) else None
    if after is None or after.lead != "and" or said.clauses[number].end - said.clauses[number].start > _SHORT:
        return False
    return said.norms(after.start, after.start + 2) in (["in", "here"], ["here", "alike"], ["here", "too"])


_SHORT = 5
"""Nodes of a clause that only names a room: 'and up in the yard'."""


def _after_where(said: Said, spot: Spot, clause: Clause) -> bool:
    """'where it goes into the loft' tells a place, not where one is."""
    return "where" in said.norms(clause.start, spot.node)


def _where_it_is(said: Said, spot: Spot, clause: Clause) -> bool:
    """'where it's out in the yard it's bare': what this sentence tells is there, though nobody moves."""
    opened = said.norms(clause.start, clause.start + 3)
    pointed = len(opened) == 3 and opened[0] == "where" and opened[1] in _IT and opened[2] in _IS
    return pointed and spot.part == "set" and len(spot.rooms) == 1 and spot.node - clause.start < 8


_IT, _IS = frozenset(("it", "they", "that")), frozenset(("'s", "is", "are", "comes", "runs", "goes"))


def _still_this(said: Said, spot: Spot, number: int) -> bool:
    """'Kitchen, half eight, first man in this yard': the sentence has said where one is."""
    if said.norm(spot.node - 1) not in ("this", "that") or said.scene.room is None:
        return False
    return any(s.part == "set" and len(s.rooms) == 1 for n in range(number) for s in _spots(said, n))


def _served_from_here(said: Said, spot: Spot, clause: Clause) -> bool:
    """'the cafe's boiler', told in the plant room: what serves a room seldom stands in it; 'the bar's hot, here'."""
    if said.scene.room is None:
        return False
    if _PLANT_ROOMS & set(said.norm(spot.node).split("_")):
        return False
    after = [n for n in said.row[spot.node + 1 : spot.node + 3] if n.norm != "'s"]
    return (bool(after) and after[0].kind == "item" and after[0].keys[0] in _PLANT) or "here" in said.norms(
        spot.node, clause.end
    )


def joined_rooms(said: Said, event: Event, number: int) -> tuple[str | None, ...]:
    """Rooms of an event in clause `number` whose list of rooms runs on into the next clause."""
    if number + 1 < len(said.clauses):
        for spot in _spots(said, number + 1):
            if spot.part == "set" and len(spot.rooms) == 1 and _list_goes_on(said, number + 1, spot):
                return tuple(dict.fromkeys((*event.rooms, spot.rooms[0])))
    return event.rooms


def _list_goes_on(said: Said, number: int, spot: Spot) -> bool:
    """'in here and in the main bathroom': a second room joined by 'and' straight after a first."""
    clause, before = said.clauses[number], said.clauses[number - 1]
    if clause.lead != "and" or spot.node - clause.start > 3:
        return False
    if {"here", "there"} & set(said.norms(before.end - 2, before.end)) or _this_room(said, before):
        return True
    told = [s for s in _spots(said, number - 1) if s.node >= before.end - 2]
    # 'in the cellar and in the cupboard, for an hour', but 'in the cellar, and in the cupboard I've capped it'
    alone = not said.acts_in(clause) and not said.mentioned(clause)
    return bool(told) and told[-1].part == "set" and (alone or said.norm(spot.node - 2) != "in")


def _this_room(said: Said, clause: Clause) -> bool:
    """'this room and the river room', 'this one and the hall'."""
    return said.joined(max(clause.start, clause.end - 2), clause.end) in ("this room", "this one")


def _spots(said: Said, number: int) -> list[Spot]:
    clause = said.clauses[number]
    return spots(said.row, clause.start, clause.end, said.scene.room, said.rooms, said.start)


def for_room(said: Said, event: Event, number: int) -> tuple[str | None, ...]:
    """'the thermostat for reception', 'clips for the riser': where a thing is wanted is its room."""
    if event.piped or event.action not in ("order", "decide", "fit", "ask"):
        return event.rooms
    if event.action == "fit" and event.keys[0] in _PLANT and said.scene.room:
        return event.rooms
    if event.action != "fit" and (named := _named_for(said, event, number)):
        return named
    for n in range(number, len(said.clauses)):
        for spot in _spots(said, n):
            before = said.norms(max(said.start, spot.node - 2), spot.node)
            if spot.part in ("end", "own") and "for" in before and len(spot.rooms) == 1:
                return spot.rooms
            about = event.action == "ask" and spot.part == "end" and "about" in before and len(spot.rooms) == 1
            if about and said.row[spot.node + 1 : spot.node + 2] and said.row[spot.node + 1].kind in NAME_KINDS:
                # 'the warden knows about the drying room thermostat'
                return spot.rooms
            if event.action == "ask" and spot.part == "own" and n > number and len(spot.rooms) == 1:
                # 'ring the tiler, tell him the bathroom's basin is going up'
                return spot.rooms
        ahead = said.acts_in(said.clauses[n + 1]) if n + 1 < len(said.clauses) else []
        if ahead and not (event.action == ahead[0].action == "ask"):
            break
    return event.rooms


def _named_for(said: Said, event: Event, number: int) -> tuple[str, ...]:
    """'Stat for the small bedroom, somebody ask where it's going': named with its room before."""
    for spot in (s for n in range(number) for s in _spots(said, n) if len(s.rooms) == 1):
        ahead = said.row[max(said.start, spot.node - 3) : spot.node]
        if "for" in (n.norm for n in ahead) and any(n.keys == event.keys for n in ahead):
            return spot.rooms
    return ()


def left_there(said: Said, event: Event, number: int) -> tuple[str | None, ...]:
    """'run as far as the corridor ceiling and left open there': the end of the run is the place of what follows.

    A cap or sleeve 'there' may be on this side of the wall: 'in there' or 'up there' is the other room for them.
    """
    if event.action in _ALONG:
        return event.rooms
    told = said.norms(event.act.start, said.clauses[number].end)
    after = pairwise([*told, ""])
    if event.action == "leave":
        told_there = any(w == "there" and then not in _THERE_IS for w, then in after)
    else:
        told_there = any(w in _IN_THERE and then == "there" for w, then in after)
    if not told_there:
        return event.rooms
    ends = [s for n in range(number) for s in _spots(said, n) if s.part in ("end", "own") and len(s.rooms) == 1]
    if not ends and said.scene.led_to and "in there" in " ".join(told):
        return (said.scene.led_to,)
    if ends and not _THIS_SIDE & set(said.norms(max(said.start, ends[-1].node - 4), ends[-1].node + 2)):
        return ends[-1].rooms
    return event.rooms


_IN_THERE = frozenset("in up down out over through".split())
_THERE_IS = frozenset(("'s", "is", "are", "was", "were"))
_THIS_SIDE = frozenset("of from off wall door doorway end".split())
_ALONG = frozenset(("run", "order", "ask", "decide", "flush", "fill", "drain"))


def note_way(said: Said, events: list[Event]) -> None:
    """Keep where a run was said to go: 'through to the hall. Capped it in there.'"""
    if events:
        ends = [s for n in range(len(said.clauses)) for s in _spots(said, n) if s.part == "end" and len(s.rooms) == 1]
        run = any(e.action == "run" for e in events)
        said.scene.led_to = ends[-1].rooms[0] if ends and run else None


def told_after(said: Said, events: list[Event]) -> None:
    """'Capped the cold, kitchen': the room said last, where none was known before."""
    room = said.scene.room
    for event in events:
        if room and _bare_room(said, event.clause + 1) and (event.rooms == (None,) or _pointed(said)):
            event.rooms = (room,)


def where_it_starts(said: Said, events: list[Event]) -> None:
    """'from the hall through to the kitchen it's in twenty-eight': a run told in no room is in the one it starts in."""
    for event in events:
        if event.rooms == (None,) and event.action == "run" and (start := _starts_in(said, event)):
            event.rooms = (start,)


def _starts_in(said: Said, event: Event) -> str | None:
    for spot in (s for s in _spots(said, event.clause) if s.part == "end" and len(s.rooms) == 1):
        if "from" in said.norms(max(said.start, spot.node - 2), spot.node):
            return spot.rooms[0]
    return None


def _pointed(said: Said) -> bool:
    """'..., clipped up high, that's the store': said of all of the sentence, wherever one was before."""
    last = said.clauses[-1]
    return said.norm(last.start) == "that" and said.norm(last.start + 1) in ("'s", "is")


def _bare_room(said: Said, first: int) -> bool:
    """Whether the sentence ends in a clause from `first` on that only names a room: 'that's in the kitchen'."""
    after = said.clauses[first:]
    if not after or any(said.acts_in(c) or said.mentioned(c) for c in after):
        return False
    words = [n.norm for n in said.row[after[-1].start : after[-1].end] if n.kind not in ("room", "head")]
    return len(words) < after[-1].end - after[-1].start and set(words) <= _THIS_IS


_THIS_IS = frozenset("this that 's is was in the here up down all".split())


_EVERYWHERE = re.compile(
    r"\bevery room\b|\b(anywhere|everywhere|throughout|all over)( in)? the (house|building|place)\b"
)


def spread(said: Said, events: list[Event]) -> None:
    """'tested it in the kitchen and the hall': work of that kind is done in all the rooms told."""
    if _EVERYWHERE.search(said.joined(said.start, said.end)):
        for event in events:
            event.rooms = (None,) if event.action in WIDE else event.rooms
    if said.whereabouts and len(said.whereabouts) > 1:
        for event in events:
            if event.action in WIDE and len(event.rooms) == 1:
                event.rooms = said.whereabouts
