"""Who or what is worked on: the subject of an action, by what it is usually done to."""

from __future__ import annotations

import re
from itertools import pairwise

from notes.reading.actions import Act
from notes.reading.clauses import WAITING, Clause, listed
from notes.reading.pipes import PEOPLE
from notes.reading.said import Said
from notes.reading.things import STRUCTURE, free_items, in_phrase, item_for, mere_place, serving
from notes.reading.which_pipes import NOBODY, Subject, named_later, pipes_for, the_other
from notes.reading.wordlists import words

_THEM = words("them")
_STANDS_FOR = _THEM | {"one", "ones"}
_LOOSE = words("loose")
_STOPS = frozenset(("plug", "bung", "blank", "cap", "caps", "stop_end", "stop_ends", "plugs", "blanks", "bungs", "tee"))
_TOLD_LEADS = words("told-leads")
_PIPE_ENDS = words("ends-of-pipes")
_POINTED = frozenset(("that", "the", "my", "her", "his", "our", "their", "a", "an", "which", "what"))
_HOLE_IN = re.compile(r"\bholes? (in|through|for it in|out of|into) (the|that|this|her|his|their|a) (\w+ )?$")
_AGES = frozenset(("old", "existing", "new", "other", "big", "little", "whole"))
_MASONRY = frozenset(("stone", "brick", "block", "masonry", "stonework", "brickwork", "blockwork", "cob", "concrete"))
_NOTCHES = frozenset(("notch", "notches"))
TIMBER = frozenset(("notch", "notches", "hole", "holes"))
"""What is in a joist, and stands for it."""
_CORED = frozenset(("core", "cored", "cores", "coring"))
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
        return _asked(said, act, number, item) if act.action in ("ask", "decide") else _either(said, act, clause, item)
    return _pipe(said, act, clause, item)


def _key(said: Said, i: int) -> Subject:
    return (said.row[i].keys[0],), None


def _thing_in_mind(said: Said) -> str:
    last = said.scene.last
    return last[1] if last and last[0] == "item" else ""


def _joist(said: Said, act: Act, clause: Clause) -> Subject:
    """Holes are in joists, but for cores through a floor or wall, and 'the hole in the wall'."""
    through = [i for i in said.items(clause) if said.row[i].keys[0] in ("floor", "wall")]
    cored = [i for i in through if not mere_place(said, i) and said.norm(act.start).startswith("cor")]
    holed = [i for i in through if _HOLE_IN.search(said.joined(act.start, i) + " ")]
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
        return _key(said, jointed)
    keys, serves = pipes_for(said, act, clause)
    if said.named(clause):
        return keys, serves
    norms = set(said.norms(clause.start, clause.end))
    lagged = [i for i in free_items(said, clause) if i < act.start and said.row[i].keys[0] in _LAGGED]
    if act.action == "insulate" and lagged and not in_phrase(said, lagged[-1]):
        return _key(said, lagged[-1])
    if norms & _PIPE_ENDS:
        return keys or _tails(said, item), serves
    if act.action == "photograph" and _NOTCHES & set(said.norms(act.end, act.end + 4)):
        return ("joist",), None
    if act.action == "photograph" and item is not None and act.start < item <= act.end + 2:
        return _key(said, item)
    if act.action in ("fill", "drain", "flush") and "system" in norms:
        return _HEAT, None
    if act.action == "connect" and _by_name_next(said, act) and (found := named_later(said, act, clause)):
        return found
    pronoun = any(n in _THEM for n in said.norms(clause.start, min(act.end + 2, clause.end)))
    if (pronoun or _of_thing_just_told(said, act, clause)) and (meant := _it(said, act)) is not None:
        return meant
    if item is not None and (filled := _vessel(said, act, item, pronoun)):
        return filled
    plumbed = act.action == "connect" and item is not None and item < act.start and not in_phrase(said, item)
    if not keys and plumbed and item is not None and said.row[item].keys[0] not in (*_LOOSE, *STRUCTURE):
        # 'the toilet isn't plumbed in': no pipe is known of
        return _key(said, item)
    return keys, serves


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
    return bool(ahead) and ahead[0].start - act.end <= 2 and not any(g.end <= act.start for g in said.groups)


def _of_thing_just_told(said: Said, act: Act, clause: Clause) -> bool:
    """'the manifold's on the wall, not piped': of the thing, though nothing stands for it."""
    ahead = set(said.norms(clause.start, act.start))
    told = said.worked or (said.scene.recent[-1] if said.scene.recent else None)
    return act.action == "connect" and told is not None and not told.piped and ahead <= _BARE and bool(ahead)


_BARE = frozenset(("not", "yet", "still", "to", "be"))
_HEAT = ("heating flow", "heating return")
_WARM = ("radiator", "towel rail")
_USUAL = dict.fromkeys(_WARM, _HEAT) | dict.fromkeys(("basin", "bath", "sink", "shower"), ("hot", "cold"))
"""The pipes of a thing's tails where nothing else was said of them (common practice, no source)."""


def _tails(said: Said, item: int | None) -> tuple[str, ...]:
    """The pipes that 'the shower tails' are: those known in the room that such a thing takes."""
    known = [k for k in said.scene.known.get(said.scene.room or "", ()) if k in _WET]
    thing = said.row[item].keys[0] if item is not None else _thing_in_mind(said)
    meant = [k for k in known if k.startswith("heating") == (thing in _WARM)]
    return tuple(meant or (known if item is None else ())) or _USUAL.get(thing, ())


def _it(said: Said, act: Act) -> Subject | None:
    """'connected it' after a thing was named: the thing, not its pipes; 'it comes up' of a thing tells of no pipe."""
    thing = _thing_in_mind(said)
    if not thing:
        return None
    many = {"both", "they", "them"} & set(said.norms(max(said.start, act.start - 4), act.start))
    if many and act.action == "connect":
        pair = _tails(said, None) if thing not in ("radiator", "towel rail") else _HEAT
        return (pair, None) if pair else None
    if act.action in ("connect", "fill", "drain", "commission") and thing not in _LOOSE:
        return (thing,), None
    return NOBODY if act.action in ("run", "leave") and not said.groups else None


def _vessel(said: Said, act: Act, item: int, pronoun: bool) -> Subject | None:
    """'cylinder is drained', 'filled the tank': a thing that holds water."""
    key = said.row[item].keys[0]
    free = item < act.start and not in_phrase(said, item)
    alone = not any(g.end <= act.start and not g.referred for g in said.groups)
    holds = key not in ("fitting", "valve", *STRUCTURE) and act.action in ("fill", "drain", "isolate", "flush")
    if not pronoun and holds and free and alone:
        return (key,), None
    between = said.row[act.end : item]
    after = item >= act.end and all(n.norm in _POINTED or n.kind == "qty" or n.norm in _AGES for n in between)
    return ((key,), None) if after and act.action in ("fill", "drain") else None


# -- things -----------------------------------------------------------------------------------------------------


def _thing(said: Said, act: Act, number: int, item: int | None) -> Subject:
    clause = said.clauses[number]
    mine = said.named(clause)
    if act.action in ("fit", "remove", "order") and set(said.norms(act.start, act.end)) & _STOPS:
        return ("fitting",), None
    if act.action == "remove" and mine and (item is None or all(g.start < item for g in mine)):
        return mine[0].keys, None
    if act.action == "fit" and (of_which := _which_is(said, number)) is not None:
        return _key(said, of_which)
    inside = set(said.norms(act.start, act.end))
    if act.action == "remove" and inside & {"it", "them"} and item is not None and item >= act.end:
        # 'cut it back to the meter'
        item = None
    if item is not None:
        return _things_listed(said, act, clause, item) or _key(said, item)
    if act.action == "order" and (more := _more_of(said, clause)) is not None:
        return _key(said, more)
    if act.action == "order" and any(n.qty and n.qty.plural for n in said.row[clause.start : clause.end]):
        # 'need six fifteens'
        return ("fitting",), None
    if act.action == "order" and said.norm(act.end - 1) == "tee":
        # 'pick us up a fifteen tee': elsewhere the word is work
        return ("fitting",), None
    thing = _thing_in_mind(said) or (said.scene.thing if act.action == "order" else "")
    if act.action == "order" and thing in STRUCTURE:
        return NOBODY
    if act.action == "remove" and (things := _listed_next(said, number)):
        return things, None
    if act.action == "remove" and _another_thing(said, act):
        return NOBODY
    if act.action == "remove":
        return ((thing,), None) if thing and not mine else pipes_for(said, act, clause)
    pronoun = any(n in _STANDS_FOR for n in said.norms(clause.start, clause.end)) or the_other(said, clause)
    if thing and (pronoun or number):
        return (thing,), None
    if said.headed and act.action in ("fit", "order"):
        heads = [n for n in said.row[said.start : said.end] if n.kind == "item"]
        return (heads[0].keys[0],), None
    return NOBODY


def _listed_next(said: Said, number: int) -> tuple[str, ...]:
    """'the old gear's out, bath, basin, toilet': things that the next clauses only name."""
    if said.named(said.clauses[number]):
        return ()
    things: list[str] = []
    for clause in said.clauses[number + 1 :]:
        rest = [n for n in said.row[clause.start : clause.end] if n.norm not in _POINTED and n.norm not in _AGES]
        if clause.lead not in ("", "and") or len(rest) != 1 or rest[0].kind != "item":
            break
        things += rest[0].keys
    return tuple(dict.fromkeys(things))


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
    return any(a.norm in _POINTED - {"that"} and b.kind == "word" and b.norm not in _OURS for a, b in pairwise(row))


_OURS = frozenset(
    "lot whole old pipe pipes pipework tails ends end run line length rest one two skip bin tip van way wall".split()
)
"""Pipes by another name, and where things go that are taken out."""


def _more_of(said: Said, clause: Clause) -> int | None:
    """'ran out of elbows, can you order six more'."""
    if not _MORE & set(said.norms(clause.start, clause.end)):
        return None
    named = range(said.start, clause.start)
    short = [i for i in named if said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE]
    return short[-1] if short else None


_MORE = frozenset(("more", "another", "some", "them", "those"))


def _things_listed(said: Said, act: Act, clause: Clause, item: int) -> Subject | None:
    """'bath and toilet are out'."""
    if act.action not in ("remove", "fit", "order"):
        return None
    listing = next((g for g in listed(said.row, clause.start, clause.end, lambda n: n.kind == "item") if item in g), [])
    if len(listing) < 2 or "and" not in said.norms(listing[0], listing[-1]):
        return None
    return tuple(dict.fromkeys(said.row[i].keys[0] for i in listing)), None


def _hole_told(said: Said, act: Act) -> int | None:
    """'there's a hole in the slab, two hundred mil, and that'll want fire stopping'."""
    holes = [i for i in range(said.start, act.start) if said.norm(i) in ("hole", "gap", "holes", "gaps")]
    after = range(holes[0], min(holes[0] + 6, act.start)) if holes else range(0)
    return next((i for i in after if said.row[i].kind == "item" and said.row[i].keys[0] in ("wall", "floor")), None)


# -- either -----------------------------------------------------------------------------------------------------


def _asked(said: Said, act: Act, number: int, item: int | None) -> Subject:
    """What somebody is asked, or has to decide: named after it, told next, or before it."""
    clause = said.clauses[number]
    in_clause = [g for g in said.mentioned(clause) if not _somebody(said, g.end)]
    about = _about(said, act, clause)
    if (whether := _whether(said, act)) is not None:
        return _key(said, whether)
    if _unknown_matter(said, act):
        return NOBODY
    if after := [g for g in in_clause if g.start >= about]:
        return after[0].keys, None
    waits = next((i for i in range(act.end, clause.end) if said.norm(i) in WAITING), clause.end)
    if later := [i for i in said.items(clause) if about <= i < waits and not _no_matter(said, i)]:
        later = [i for i in later if said.row[i].keys[0] not in STRUCTURE] or later
        if act.action == "decide":
            # 'can't settle on a tap for the sink': the tap
            later = [i for i in later if not in_phrase(said, i)] or later
        return _matter(said, later[-1])
    if TIMBER & set(said.norms(about, clause.end)):
        return ("joist",), None
    item = item if item is not None and item < waits and not _somebody(said, item + 1) else None
    if act.action == "ask" and (told := told_next(said, number)):
        return told, None
    theirs = [i for i in said.items(clause) if _somebody(said, i + 1)]
    if act.action == "ask" and theirs and not _ABOUT & set(said.norms(act.end, clause.end)):
        # 'ask the tank supplier for his certificate'
        return _matter(said, theirs[0])
    if act.action == "decide" and item is None and (told := told_next(said, number, chosen=True)):
        return told, None
    thing = None if item is not None and _where_only(said, item) else item
    if thing is not None and act.action == "decide":
        return _key(said, thing)
    if in_clause:
        return in_clause[-1].keys, None
    if thing is not None:
        return _matter(said, thing)
    earlier = [
        i for i in range(said.start, act.start)
        if said.row[i].kind == "item" and not in_phrase(said, i) and not _where_only(said, i)
    ]  # fmt: skip
    if earlier:
        return _key(said, earlier[-1])
    if act.action == "decide" and (undecided := _still_open(said, act)):
        return undecided, None
    if key := _thing_in_mind(said):
        return (key,), None
    named = [i for i in range(said.start, act.start) if said.row[i].kind == "item" and not mere_place(said, i)]
    if named and act.action == "decide":
        # 'she's on about a stove instead of the radiator, and she's to make her mind up'
        return _key(said, named[-1])
    return pipes_for(said, act, clause)


def _unknown_matter(said: Said, act: Act) -> bool:
    """'he can't settle where the hose point goes': of nothing that is known here."""
    for i in range(max(said.start, act.end - 1), said.end - 2):
        if said.norm(i) in _WHERE and said.norm(i + 1) in _POINTED:
            verb = next((j for j in range(i + 2, min(i + 6, said.end)) if said.norm(j) in _STANDS), i + 2)
            return verb > i + 2 and all(n.kind == "word" for n in said.row[i + 2 : verb])
    return False


_WHERE = frozenset(("where", "which", "whether", "if", "how"))
_STANDS = frozenset(("goes", "go", "is", "'s", "are", "will", "wants", "sits", "should", "stands", "can", "comes"))


def _still_open(said: Said, act: Act) -> tuple[str, ...]:
    """'so that's decided': what a decision was last awaited on, in this room."""
    if act.form not in ("done", "state"):
        return ()
    waits = [q for q in said.scene.asked if q[0] == UNDECIDED and q[1] in (said.scene.room, None)]
    return waits[-1][2] if waits else ()


UNDECIDED = "?"
"""Kept for who was asked, where a decision is awaited."""


def _whether(said: Said, act: Act) -> int | None:
    """'can't decide if she wants one rad or two', 'whether the basin's on a stand or the wall, she can't say'."""
    asked = [i for i in range(said.start, said.end) if said.norm(i) in ("if", "whether")]
    if act.action != "decide" or not asked:
        return None
    start, end = (asked[-1], said.end) if asked[-1] >= act.start else (asked[-1], act.start)
    things = [i for i in range(start, end) if said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE]
    return things[0] if things and not any(start <= g.start < end for g in said.groups) else None


def _where_only(said: Said, i: int) -> bool:
    """'she doesn't know which wall' asks where."""
    return mere_place(said, i) or (said.row[i].keys[0] in STRUCTURE and said.norm(i - 1) in ("which", "what", "whose"))


def _no_matter(said: Said, i: int) -> bool:
    """Where it is asked of, or who: 'ring the tank people'."""
    return _where_only(said, i) or _somebody(said, i + 1)


def _somebody(said: Said, after: int) -> bool:
    """'ring the gas board': who is asked, not of what."""
    return after < said.end and said.norm(after) in PEOPLE


_ABOUT = frozenset(("about", "of", "if", "whether", "regarding", "concerning"))


def _about(said: Said, act: Act, clause: Clause) -> int:
    """Where what somebody is asked of begins: after 'about', else right after the asking."""
    told = [i for i in range(act.end, clause.end) if said.norm(i) in _ABOUT]
    return told[0] if told else act.end


def _matter(said: Said, i: int) -> Subject:
    """The thing that is asked about: a flue is the boiler's."""
    return (("boiler",), None) if said.norm(i) in _OF_BOILER else _key(said, i)


_FINDS = frozenset(("see", "find", "check", "say", "get"))
_OF_BOILER = words("of-boiler")


def told_next(said: Said, number: int, chosen: bool = False) -> tuple[str, ...]:
    """What somebody is told or asked, or has chosen, where it follows in clauses of its own."""
    for clause in said.clauses[number + 1 :]:
        asks = clause.lead == "and" and (
            said.norm(clause.start) in _FINDS or any(a.action == "ask" for a in said.acts_in(clause))
        )
        if clause.lead and clause.lead not in _TOLD_LEADS and not asks:
            break
        if named := said.mentioned(clause):
            return named[0].keys
        if TIMBER & set(said.norms(clause.start, clause.end)):
            return ("joist",)
        things = [
            i for i in said.items(clause) if (said.norm(i - 1) in _POINTED or chosen) and not _where_only(said, i)
        ]
        if clause.lead in ("before", "till", "until", "once", "after"):
            # 'he ought to be told before the floor goes down'
            things = [i for i in things if said.row[i].keys[0] not in STRUCTURE]
        if things:
            return _matter(said, things[0])[0]
    return ()


def _either(said: Said, act: Act, clause: Clause, item: int | None) -> Subject:
    """Sealing and moving are done to pipes or things."""
    in_clause = said.mentioned(clause)
    holes = act.action == "seal" and bool({"hole", "gap", "holes", "gaps"} & set(said.norms(clause.start, act.start)))
    walls = [i for i in said.items(clause) if said.row[i].keys[0] in ("wall", "floor")]
    if holes and walls:
        return _key(said, walls[0])
    if holes and not in_clause and _MASONRY & set(said.norms(clause.start, act.start)):
        return ("wall",), None
    if act.action == "seal" and not in_clause and (hole := _hole_told(said, act)) is not None:
        return _key(said, hole)
    if act.action == "seal":
        direct = [g for g in in_clause if not g.referred or said.norm(g.start - 1) in ("round", "the")]
        if direct:
            return direct[0].keys, None
    direct = [g for g in in_clause if not g.referred]
    thing = _thing_in_mind(said)
    if act.action == "move" and thing and item is not None and item > act.end and in_phrase(said, item):
        # 'they want it moved to the back wall'
        return (thing,), None
    if item is not None and not (direct and in_phrase(said, item)):
        return _key(said, item)
    if in_clause:
        return (direct or in_clause)[-1].keys, None
    if (act.action != "seal" or _thing_in_mind(said) == "sleeve") and (thing := _thing_in_mind(said)):
        return (thing,), None
    return pipes_for(said, act, clause)
