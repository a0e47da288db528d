"""Who or what is worked on: the subject of an action, by what it is usually done to."""

from __future__ import annotations

import re
from itertools import pairwise

from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.matter import matter_of
from notes.reading.said import Said
from notes.reading.scene import Group
from notes.reading.things import (
    POINTED,
    STRUCTURE,
    free_items,
    in_phrase,
    item_for,
    key_of,
    mere_place,
    serving,
    thing_in_mind,
    things_in_mind,
    things_with,
)  # fmt: skip
from notes.reading.which_pipes import NOBODY, Subject, named_later, pipes_for, the_other
from notes.reading.wordlists import words

_THEM = words("them")
_STANDS_FOR = _THEM | {"one", "ones"}
_LOOSE = words("loose")
_STOPS = frozenset(("plug", "bung", "blank", "cap", "caps", "stop_end", "stop_ends", "plugs", "blanks", "bungs", "tee"))
_PIPE_ENDS = words("ends-of-pipes")
_HOLE_IN = re.compile(r"\bholes? (in|through|for it in|out of|into) ((the|that|this|her|his|their|a) (\w+ )?)?$")
_RIGHT_AFTER = re.compile(r"((right |straight )?through )?(the|that|this|his|a)( [a-z]+)?")
_TIMBER = frozenset(("joist", "joists", "timber", "stud", "studs"))
_AGES = frozenset(("old", "existing", "new", "other", "big", "little", "whole"))
_MASONRY = frozenset(("stone", "brick", "block", "masonry", "stonework", "brickwork", "blockwork", "cob", "concrete"))
_HOLES = frozenset(("hole", "gap", "holes", "gaps"))
_BUILT = frozenset(("wall", "floor"))
_NOTCHES = frozenset(("notch", "notches"))
_CORED = frozenset(("core", "cored", "cores", "coring"))
_STARTED = frozenset(("boiler", "pump", "cylinder", "appliance", "radiator", "manifold"))
_LAGGED = frozenset(("tank", "cylinder", "vessel", "header"))
_WET = frozenset(("hot", "cold", "heating flow", "heating return"))


def subject_of(said: Said, act: Act, number: int) -> Subject:
    """The services or the item that an action in clause `number` is done to; nobody where the words don't tell."""
    clause = said.clauses[number]
    if act.on == "joist":
        return _joist(said, act, clause)
    item = item_for(said, act, clause)
    if act.on == "item":
        return _thing(said, act, number, item)
    if act.on == "any":
        return (
            matter_of(said, act, number, item) if act.action in ("ask", "decide") else _either(said, act, clause, item)
        )
    return _pipe(said, act, clause, item)


def _joist(said: Said, act: Act, clause: Clause) -> Subject:
    """Holes are in joists, but for cores through a floor or wall, and 'the hole in the wall'."""
    through = [i for i in said.items(clause) if said.row[i].keys[0] in ("floor", "wall")]
    cored = [i for i in through if not mere_place(said, i) and said.norm(act.start).startswith("cor")]
    holed = [i for i in through if _HOLE_IN.search(said.joined(act.start, i) + " ")]
    if not holed and not _TIMBER & set(said.norms(clause.start, clause.end)):
        # 'drilled through the back wall'
        holed = [i for i in through if _RIGHT_AFTER.fullmatch(said.joined(act.end, i).strip())]
    if act.action == "drill" and (cored or holed):
        return said.row[(cored or holed)[0]].keys, None
    if act.action == "drill" and _CORED & set(said.norms(max(clause.start, act.start - 3), clause.end)):
        # cores are cut through masonry: what was named before it, else a wall
        told = [k for i in range(said.start, act.start) for k in said.row[i].keys[:1] if k in STRUCTURE]
        return (told[-1] if told else "wall",), None
    return ("joist",), None


# -- pipes ------------------------------------------------------------------------------------------------------


def _pipe(said: Said, act: Act, clause: Clause, item: int | None) -> Subject:
    if (jointed := _joint_of(said, act)) is not None:
        return key_of(said, jointed)
    keys, serves = pipes_for(said, act, clause)
    if act.action in ("run", "connect") and _safety_valve(said, act, clause):
        return ("discharge",), None
    if said.named(clause):
        return keys, serves
    norms = set(said.norms(clause.start, clause.end))
    lagged = [i for i in free_items(said, clause) if i <= act.start and said.row[i].keys[0] in _LAGGED]
    if act.action == "insulate" and lagged and not in_phrase(said, lagged[-1]):
        return key_of(said, lagged[-1])
    if norms & _PIPE_ENDS:
        return keys or _tails(said, item), serves
    if act.action == "leave" and not keys and _PIPE_ENDS & set(said.norms(said.start, clause.start)):
        # 'there's a pair of tails for the basin, fifteen, poking through'
        return _tails(said, next((i for i in range(said.start, act.start) if said.row[i].kind == "item"), None)), serves
    if act.action == "photograph" and _NOTCHES & set(said.norms(act.end, act.end + 4)):
        return ("joist",), None
    if act.action == "photograph" and item is not None and act.start < item <= act.end + 2:
        return things_with(said, clause, item)
    if act.action in ("fill", "drain", "flush") and "system" in norms:
        return _HEAT, None
    if act.action == "connect" and _by_name_next(said, act) and (found := named_later(said, act, clause)):
        return found
    pronoun = any(n in _THEM for n in said.norms(clause.start, min(act.end + 2, clause.end)))
    if (pronoun or _of_thing_just_told(said, act, clause)) and (meant := _it(said, act, clause)) is not None:
        return meant
    if item is not None and (filled := _vessel(said, act, clause, item, pronoun)):
        return filled
    inside = item is not None and act.start < item < act.end - 1
    after = item is not None and act.end + 1 == item and said.norm(act.end) in POINTED
    if act.action == "connect" and item is not None and (inside or after):
        # 'I'll connect the manifold', 'plumbed the bath in'
        loose = said.row[item].keys[0] in (*_LOOSE, *STRUCTURE)
        return (keys, serves) if loose else things_with(said, clause, item)
    plumbed = act.action == "connect" and item is not None and item < act.start and not in_phrase(said, item)
    if not keys and plumbed and item is not None and said.row[item].keys[0] not in (*_LOOSE, *STRUCTURE):
        # 'the toilet isn't plumbed in': no pipe is known of
        return key_of(said, item)
    if not keys and act.action == "connect" and _and_connected(said, act, clause):
        return things_in_mind(said, act, clause), None
    return keys, serves


def _and_connected(said: Said, act: Act, clause: Clause) -> bool:
    """'the pump's fitted and connected'."""
    told = said.worked
    joined = clause.lead == "and" and act.start == clause.start and not said.mentioned(clause)
    return joined and told is not None and told.action == "fit" and thing_in_mind(said) not in (*_LOOSE, *STRUCTURE)


def _safety_valve(said: Said, act: Act, clause: Clause) -> bool:
    """'the safety valve's piped out to the drain': that pipe is its discharge."""
    valves = [i for i in said.items(clause) if i < act.start and said.norm(i) in _RELIEVES]
    return bool(valves) and not any(g.start < act.start for g in said.named(clause))


_RELIEVES = frozenset(("safety_valve", "relief_valve", "safety_valves", "relief_valves", "pressure_relief"))


def _joint_of(said: Said, act: Act) -> int | None:
    """'remade that header union', 'the union on the pump': a joint that is a thing's own."""
    if act.action != "join":
        return None
    for i in range(act.start, min(act.end + 4, said.end)):
        if said.norm(i) not in _JOINTS:
            continue
        own = [j for j in (i - 1, i + 2, i + 3) if said.start <= j < said.end and said.row[j].kind == "item"]
        of = [j for j in own if j < i or said.norm(i + 1) in ("on", "of")]
        mine = [j for j in of if said.row[j].keys[0] not in ("fitting", "valve", *STRUCTURE)]
        return next((j for j in mine if not serving(said, j)), None)
    return None


_JOINTS = frozenset(("union", "joint", "coupling", "connection", "unions", "joints"))


def _by_name_next(said: Said, act: Act) -> bool:
    """'the bath's in and it's connected, hot and cold': its pipes, straight after."""
    ahead = [g for g in said.groups if g.start >= act.end]
    near = bool(ahead) and set(said.norms(act.end, ahead[0].start)) <= _ON_BOTH_SIDES
    near = near or (bool(ahead) and _bare_next(said, act, ahead[0]))
    clause = said.clauses[said.clause_of(act.start)]
    thing = any(said.row[i].kind == "item" for i in range(clause.start, act.start))
    return near and (thing or not any(g.end <= act.start for g in said.groups))


def _bare_next(said: Said, act: Act, group: Group) -> bool:
    """'tied it in to the header, flow and return, twenty-eight copper': a clause of its own that only names them."""
    number = said.clause_of(act.start) + 1
    beside = said.clauses[number] if number < len(said.clauses) else None
    if beside is None or beside.start != group.start:
        return False
    return all(n.kind in ("qty", "material") or n.norm in _ON_BOTH_SIDES for n in said.row[group.end : beside.end])


_ON_BOTH_SIDES = frozenset(", it them that up now too all both sides ends the my".split())


def _of_thing_just_told(said: Said, act: Act, clause: Clause) -> bool:
    """'the manifold's on the wall, not piped': of the thing, though nothing stands for it."""
    ahead = set(said.norms(clause.start, act.start))
    told = said.told_last
    return act.action == "connect" and told is not None and not told.piped and ahead <= _BARE and bool(ahead)


_VERDICT_ON = frozenset("not yet still now already never all just is 's".split())
_BARE = frozenset("not yet still to be been has have had is are 's was were now also".split())
_HEAT = ("heating flow", "heating return")
_WARM = ("radiator", "towel rail")
_USUAL = dict.fromkeys(_WARM, _HEAT) | dict.fromkeys(("basin", "bath", "sink", "shower"), ("hot", "cold"))
"""The pipes of a thing's tails where nothing else was said of them (common practice, no source)."""


def _usual(said: Said, i: int) -> bool:
    return said.row[i].kind == "item" and said.row[i].keys[0] in _USUAL


def _tails(said: Said, item: int | None) -> tuple[str, ...]:
    """The pipes that 'the shower tails' are: those known in the room that such a thing takes."""
    if item is None or said.row[item].keys[0] not in _USUAL:
        # 'a pair gone down the wall for the rad'
        item = next((i for i in range(said.start, said.end) if _usual(said, i)), item)
    known = [k for k in said.scene.known.get(said.scene.room or "", ()) if k in _WET]
    worked = said.worked.keys[0] if said.worked is not None and said.worked.keys[0] in _USUAL else ""
    thing = said.row[item].keys[0] if item is not None else worked or thing_in_mind(said)
    meant = [k for k in known if k.startswith("heating") == (thing in _WARM)]
    return tuple(meant or (known if item is None else ())) or _USUAL.get(thing, ())


def _it(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'connected it' after a thing was named: the thing, not its pipes; 'it comes up' of a thing tells of no pipe."""
    thing = thing_in_mind(said)
    if not thing:
        return None
    things = things_in_mind(said, act, clause)
    many = {"both", "they", "them"} & set(said.norms(max(said.start, act.start - 4), act.end))
    if many and act.action == "connect" and len(things) == 1:
        pair = _tails(said, None) if thing not in _WARM else _HEAT
        return (pair, None) if pair else None
    if act.action in ("connect", "fill", "drain", "flush", "commission") and thing not in _LOOSE:
        return things, None
    return NOBODY if act.action in ("run", "leave") and not said.groups else None


def _vessel(said: Said, act: Act, clause: Clause, item: int, pronoun: bool) -> Subject | None:
    """'cylinder is drained', 'filled the tank': a thing that holds water."""
    key = said.row[item].keys[0]
    free = item < act.start and not in_phrase(said, item)
    alone = not any(g.end <= act.start for g in said.named(clause))
    holds = key not in ("fitting", "valve", "meter", *STRUCTURE) and act.action in ("fill", "drain", "isolate", "flush")
    if not pronoun and holds and free and alone:
        return (key,), None
    between = said.row[act.end : item]
    if holds and act.start < item < act.end:
        # 'drained the cylinder down'
        return (key,), None
    after = item >= act.end and all(n.norm in POINTED or n.kind == "qty" or n.norm in _AGES for n in between)
    return ((key,), None) if after and act.action in ("fill", "drain", "isolate", "flush") else None


# -- things -----------------------------------------------------------------------------------------------------


def _thing(said: Said, act: Act, number: int, item: int | None) -> Subject:
    clause = said.clauses[number]
    mine = said.named(clause)
    inside = set(said.norms(act.start, act.end))
    if act.action in ("fit", "remove", "order") and inside & _STOPS and act.form != "dropped":
        return ("fitting",), None
    if act.action == "remove" and (lent := _lent(said, act)) is not None:
        return key_of(said, lent)
    if act.action == "remove" and mine and (item is None or all(g.start < item for g in mine)):
        return mine[0].keys, None
    if act.action == "fit" and (of_which := _which_is(said, number)) is not None:
        return key_of(said, of_which)
    onward = item is not None and item >= act.end
    if onward and inside & {"it", "them", "him", "her"} and (act.action == "remove" or said.norm(act.end - 1) == "on"):
        # 'cut it back to the meter', 'I have it up on a bracket'
        item = None
    if onward and item is not None and in_phrase(said, item) and _pronoun_next(said, act):
        # 'fitted the one I had to the toilet'
        item = None
    if act.action == "order" and item is not None and item > act.start and _so_many_for(said, item):
        item = None
    if item is not None:
        return things_with(said, clause, item)
    alone = all(n.kind == "mark" for n in (*said.row[clause.start : act.start], *said.row[act.end : clause.end]))
    if act.action == "fit" and alone and (listed := _listed_next(said, number)):
        # 'Fitted: boiler, pump and vessel'
        return listed, None
    if act.action == "order" and (more := _more_of(said, clause)) is not None:
        return key_of(said, more)
    if act.action == "order" and any(n.qty and n.qty.plural for n in said.row[clause.start : clause.end]):
        # 'need six fifteens'
        return ("fitting",), None
    if act.action == "order" and said.norm(act.end - 1) == "tee":
        # 'pick us up a fifteen tee': elsewhere the word is work
        return ("fitting",), None
    thing = thing_in_mind(said) or (said.scene.thing if act.action == "order" or inside & _ORDINALS else "")
    if act.action == "commission" and thing not in _STARTED:
        # 'Pump, bolted down. Mains inlet and outlet made up. Not commissioned.'
        thing = said.scene.thing if said.scene.thing in _STARTED else ""
    if act.action == "order" and thing in STRUCTURE:
        return NOBODY
    if act.action == "remove":
        return _taken_out(said, act, number, thing)
    pronoun = any(n in _STANDS_FOR for n in said.norms(clause.start, clause.end)) or the_other(said, clause)
    pronoun = pronoun or _so_many(said, act, clause) or bool(inside & (_ORDINALS | _REPLACES))
    if act.action == "commission" and pronoun and not thing:
        # 'the boiler's up, flow and return are on it, and it wants commissioning'
        told = [k for i in range(said.start, act.start) for k in said.row[i].keys[:1] if k in _STARTED]
        thing = told[-1] if told else ""
    alone = all(n.norm in _VERDICT_ON for n in (*said.row[said.start : act.start], *said.row[act.end : said.end]))
    if thing and (pronoun or number or alone):
        # 'The pump. Not fitted.'
        return things_in_mind(said, act, clause) or (thing,), None
    if said.headed and act.action in ("fit", "order"):
        heads = [n for n in said.row[said.start : said.end] if n.kind == "item"]
        return (heads[0].keys[0],), None
    return NOBODY


_ORDINALS = frozenset(("first", "second", "third", "last"))
"""'Meters. Just the first hung.'"""
_REPLACES = frozenset(("replacement", "replacements"))


def _lent(said: Said, act: Act) -> int | None:
    """'hooked the hot up with a flexi, temporary, and that's to be out': the thing that is only there for now."""
    if not _THAT & set(said.norms(max(said.start, act.start - 3), act.end)):
        return None
    things = [i for i in range(said.start, act.start) if said.row[i].kind == "item"]
    near = [(i, said.joined(max(said.start, i - 3), min(i + 3, act.start))) for i in things]
    lent = [i for i, told in near if _FOR_NOW.search(told)]
    return lent[-1] if lent and said.row[lent[-1]].keys[0] not in STRUCTURE else None


_THAT = frozenset(("it", "that"))
_FOR_NOW = re.compile(r"\b(temp\b|temporar|loan\b|borrowed\b)")


def _so_many(said: Said, act: Act, clause: Clause) -> bool:
    """'nine hung', 'I've hung the six': of what was named before."""
    before, after = max(clause.start, act.start - 1), min(act.end + 2, clause.end)
    return any(said.row[i].tag == "Q-num" for i in (*range(before, act.start + 1), *range(act.end, after)))


def _so_many_for(said: Said, item: int) -> bool:
    """'I want three for the manifold': three of what was named before."""
    ahead = said.row[max(said.start, item - 3) : item]
    leads = [n for n in ahead if n.norm not in POINTED]
    many = len(leads) > 1 and (leads[-2].qty is not None or leads[-2].norm in ("one", "some", "more", "another"))
    return many and leads[-1].norm in ("for", "on", "to")


def _in_the_way(said: Said, act: Act) -> bool:
    """'The van's over the stop tap, I've asked her to move it', 'his wardrobe's against the rad': no thing of ours."""
    return bool(_STANDS_BY.search(said.joined(said.start, act.start)))


_STANDS_BY = re.compile(
    r"\b(car|van|lorry|truck|trailer|skip|digger|ladder|tower|wardrobe|dresser|bed|sofa|cooker|fridge|freezer|piano|desk"
    r"|table|cupboard|bench|shed|pallet|bin|bins|pile|heap) (is|'s|was) (still |parked |stood |sat |left |right )*"
    r"(over|against|across|on|in|by|beside|blocking)\b"
)


def _pronoun_next(said: Said, act: Act) -> bool:
    """'fitted it', 'moved the other one': what the work is done to stands right after it."""
    ahead = said.norms(act.end, min(act.end + 3, said.end))
    while ahead and ahead[0] in _AGES | {"the", "that"}:
        ahead = ahead[1:]
    return ahead[:1] != [] and ahead[0] in ("it", "them", "one", "ones")


def _taken_out(said: Said, act: Act, number: int, thing: str) -> Subject:
    """What is taken out where its words name none of our things: listed next, in mind, or pipes."""
    clause = said.clauses[number]
    if things := _listed_next(said, number):
        return things, None
    worked = said.worked
    if not thing and worked is not None and not worked.piped and "it" in said.norms(act.start, act.end):
        # 'stuck a tap on the cold, take it off when they've gone'
        return worked.keys, None
    if _another_thing(said, act):
        return NOBODY
    if thing and not said.named(clause):
        return things_in_mind(said, act, clause) or (thing,), None
    return pipes_for(said, act, clause)


def _listed_next(said: Said, number: int) -> tuple[str, ...]:
    """'the old gear's out, bath, basin, toilet': things that the next clauses only name."""
    if said.named(said.clauses[number]):
        return ()
    things: list[str] = []
    for clause in said.clauses[number + 1 :]:
        told = [n for n in said.row[clause.start : clause.end] if n.kind != "mark" and n.norm not in _LISTED_WITH]
        if clause.lead not in ("", "and") or not told or any(n.kind != "item" for n in told):
            break
        things += [n.keys[0] for n in told]
    return tuple(dict.fromkeys(things))


_LISTED_WITH = POINTED | _AGES | {"and", "both"}


def _which_is(said: Said, number: int) -> int | None:
    """'connected to the manifold, which is screwed to the wall': the thing that the clause before ends in."""
    clause = said.clauses[number]
    which = clause.lead == "which" and said.norm(clause.start) in ("is", "'s")
    if not number or not (which or said.norms(clause.start, clause.start + 2) in _RELATIVE):
        return None
    if any(said.row[i].keys[0] not in STRUCTURE for i in said.items(clause)):
        return None
    last = said.clauses[number - 1].end - 1
    return last if said.row[last].kind == "item" and said.row[last].keys[0] not in STRUCTURE else None


_RELATIVE = (["that", "'s"], ["that", "is"])


def _another_thing(said: Said, act: Act) -> bool:
    """'took the rag out': something named, that is none of ours."""
    row = said.row[act.start : act.end]
    return any(a.norm in _NAMED_BY and b.kind == "word" and b.norm not in _OURS for a, b in pairwise(row))


_NAMED_BY = POINTED - {"that"}
_OURS = frozenset(
    """
    lot whole old dead leg pipe pipes pipework tails ends end run line length rest one two skip bin tip van way wall
    """.split()
)
"""Pipes by another name, and where things go that are taken out."""


def _more_of(said: Said, clause: Clause) -> int | None:
    """'ran out of elbows, can you order six more'."""
    if not _MORE & set(said.norms(clause.start, clause.end)):
        return None
    named = range(said.start, clause.start)
    short = [i for i in named if said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE]
    return short[-1] if short else None


_MORE = frozenset(("more", "another", "some", "them", "those", "box", "bag", "roll", "pack", "packet"))


def _hole_told(said: Said, act: Act) -> int | None:
    """'there's a hole in the slab, two hundred mil, and that'll want fire stopping'."""
    holes = [i for i in range(said.start, act.start) if said.norm(i) in _HOLES]
    after = range(holes[0], min(holes[0] + 6, act.start)) if holes else range(0)
    return next((i for i in after if said.row[i].kind == "item" and said.row[i].keys[0] in ("wall", "floor")), None)


def _holes_told_before(said: Said, act: Act, clause: Clause) -> str:
    """'two big holes on the yard side, they'll want making good': the wall or floor they are in; else ''."""
    told = [i for i in range(said.start, clause.start) if said.norm(i) in _HOLES]
    theirs = bool(_THEIRS & set(said.norms(clause.start, act.end)))
    if not told or not theirs or said.items(clause) or any(g.start > told[-1] for g in said.groups):
        return ""
    inside = [k for i in range(told[-1], clause.start) for k in said.row[i].keys if k in ("wall", "floor")]
    return inside[0] if inside else "wall"


_FOAM = ("insulation",)
_THEIRS = frozenset(("they", "that", "it", "them", "those"))


# -- either -----------------------------------------------------------------------------------------------------


def _either(said: Said, act: Act, clause: Clause, item: int | None) -> Subject:
    """Sealing and moving are done to pipes or things."""
    in_clause = said.mentioned(clause)
    holes = act.action == "seal" and bool(_HOLES & set(said.norms(clause.start, act.start)))
    if act.action == "seal" and not in_clause and (wall := _holes_told_before(said, act, clause)):
        return (wall,), None
    drilled = said.worked if said.worked is not None and said.worked.action == "drill" else None
    gap = act.action == "seal" and bool(_HOLES & set(said.norms(clause.start, act.end)))
    if gap and not in_clause and not said.items(clause) and drilled is not None and drilled.keys[0] in _BUILT:
        # 'the floor's been cored, and the gap around is to be made good'
        return drilled.keys, None
    walls = [i for i in said.items(clause) if said.row[i].keys[0] in ("wall", "floor")]
    if holes and walls:
        return key_of(said, walls[0])
    if holes and not in_clause and _MASONRY & set(said.norms(clause.start, act.start)):
        return ("wall",), None
    if act.action == "seal" and not in_clause and (hole := _hole_told(said, act)) is not None:
        return key_of(said, hole)
    if act.action == "seal":
        direct = [g for g in in_clause if not g.referred or said.norm(g.start - 1) in ("round", "the")]
        if direct:
            return direct[0].keys, None
    direct = [g for g in in_clause if not g.referred]
    thing = thing_in_mind(said)
    if act.action == "move" and item is None and not in_clause and act.end + 1 < said.end:
        # 'since I moved the arm'
        own, moved = said.norm(act.end) in _NAMED_BY, said.row[act.end + 1]
        if own and moved.kind == "word" and moved.norm not in _OURS:
            return NOBODY
    if act.action == "move" and thing and item is not None and item > act.end and in_phrase(said, item):
        # 'they want it moved to the back wall'
        return (thing,), None
    if act.action == "move" and _pronoun_next(said, act) and _in_the_way(said, act):
        return NOBODY
    if act.action == "move" and thing and _pronoun_next(said, act):
        # 'I had to move it forty mil to clear the soil'
        return (thing,), None
    if act.action == "seal" and item is not None and (said.norm(item - 1) == "with" or said.row[item].keys == _FOAM):
        # 'it's been sealed with foam', 'foam both sides'
        item = None
    if (
        act.action == "move"
        and item is None
        and not in_clause
        and _PIPE_ENDS & set(said.norms(clause.start, act.start))
    ):
        # 'she wants the towel rail by the door, so the tails need moving'
        return _tails(said, None), None
    if item is not None and not (direct and in_phrase(said, item)):
        return things_with(said, clause, item) if act.action == "move" else key_of(said, item)
    if in_clause:
        return (direct or in_clause)[-1].keys, None
    if thing and (act.action != "seal" or thing == "sleeve"):
        return things_in_mind(said, act, clause), None
    return pipes_for(said, act, clause)
