"""What stands at the end of a pipe: the thing it serves, what 'it' is, what it was connected to."""

from __future__ import annotations

import re
from collections.abc import Sequence

from notes.model import Status
from notes.reading.clauses import sentence_before
from notes.reading.event import Event
from notes.reading.mentions import PIPE_KINDS, Node
from notes.reading.nominal import DRAINS
from notes.reading.places import Bit
from notes.reading.said import Said
from notes.reading.things import STRUCTURE
from notes.reading.whose import first_told
from notes.reading.wordlists import words

_NO_END, _NO_JOINT = words("loose"), words("no-joint")
_FED = {thing.replace("_", " ") for thing in words("fed")}


def serves(said: Said, event: Event, events: Sequence[Event], found: Sequence[Bit]) -> None:
    """The thing at the end of the pipe: named before it, after 'for', or the thing that 'it' is."""
    named, at_it = event.serves or _of_thing(said, event) or _served(said, found), _served_it(said, event, events)
    drain = len(event.keys) == 1 and bool(set(event.keys) & DRAINS)
    lead = _lead(said, event) if at_it else ""
    if lead == "off":
        # 'the cylinder's in, discharge off it run to the yard'
        event.slots.setdefault("from_", at_it or "")
        at_it = None
        if event.action == "connect":
            if end := _where_run(event, events):
                event.slots.setdefault("to", end)
            return
    if drain and at_it and lead != "to":
        # 'the basin's on, its waste is run', 'waste for it'
        named, at_it = named or at_it, None
    if event.action == "connect":
        _connected(said, event, events, at_it, named, drain)
        return
    slot = "from_" if drain and not (at_it and not named) else "to"
    thing = named or at_it
    if thing and not event.slots.get(slot) and _ends_there(said, event, events):
        event.slots[slot] = thing


def _connected(
    said: Said, event: Event, events: Sequence[Event], at_it: str | None, named: str | None, drain: bool
) -> None:
    """What a pipe was connected to, and what a drain comes from."""
    if event.slots.get("to") in _EACH:
        # 'the soil's on to each'
        del event.slots["to"]
    if drain and named:
        event.slots.setdefault("from_", named)
    if "to" in event.slots:
        return
    end = at_it or _on_to(said, event) or _worked_on(said, event) or (None if drain else named)
    end = end or _where_run(event, events)
    if not end and event.status is Status.DONE and not (drain and named):
        end = _last_thing(said, event) or (None if drain else _told_before(said, event))
    if end:
        event.slots["to"] = end


_EACH = frozenset(("each", "every", "both", "all"))


def _where_run(event: Event, events: Sequence[Event]) -> str | None:
    """'run to the stack and connected': it is connected where its run was said to go."""
    runs = [e for e in events if e.action == "run" and e.start < event.start and set(event.keys) <= set(e.keys)]
    end = runs[-1].reaches if runs else None
    return end if end and end.split()[-1].lower() not in _NO_JOINT else None


def _worked_on(said: Said, event: Event) -> str | None:
    """'I've connected the big rad, flow and return': what is connected is named after the verb."""
    row, act = said.row, event.act
    stop = min(said.end, act.end + _NEAR)
    for i in range(act.start, stop):
        if row[i].kind == "mark" or row[i].kind in PIPE_KINDS or row[i].norm in _LEADING:
            return None
        if row[i].kind == "item":
            free = row[i].keys[0] not in STRUCTURE and row[i].keys[0] not in _NO_END
            alone = i + 1 >= said.end or row[i + 1].kind not in (*PIPE_KINDS, "item")
            return said.words(_named_from(said, i, act.start), i + 1) if free and alone and i > act.start else None
    return None


_NEAR = 4
_LEADING = frozenset("to on onto in into at by with from off for under behind and".split())


def _named_from(said: Said, i: int, first: int) -> int:
    """Where the name of the thing at node i begins: at its article, if there is one after node `first`."""
    articles = [j for j in range(first, i) if said.norm(j) in ("the", "that", "this", "a", "an", "all", "both")]
    return articles[0] if articles else i


def _told_before(said: Said, event: Event) -> str | None:
    """'Cylinder's in. Cold in and hot out are twenty-two, both connected.': the thing that the sentence before set."""
    start = sentence_before(said.row, said.start)
    set_there = [e for e in said.scene.recent if start <= e.start < said.start and e.status is Status.DONE]
    if not set_there or any(e.piped or e.action not in ("fit", "order", "move") for e in set_there):
        return None
    key = set_there[-1].keys[0]
    if key in _NO_END or key in STRUCTURE or key not in _FED or said.items(said.clauses[event.clause]):
        return None
    at = [i for i in range(start, said.start) if said.row[i].kind == "item" and said.row[i].keys[0] == key]
    return said.text[said.row[at[-1]].start : said.row[at[-1]].end] if at else None


def _state(said: Said, event: Event) -> bool:
    """'bath hot and cold's still capped'."""
    return event.status is Status.DONE and bool(
        {"'s", "is", "are"} & set(said.norms(max(said.start, event.start - 3), event.start))
    )


def _ends_there(said: Said, event: Event, events: Sequence[Event]) -> bool:
    """Whether what a pipe serves is where this piece of it ends."""
    if event.action in ("run", "tee"):
        return True
    told = event.action == "leave" or (
        event.action == "cap" and (event.slots.get("size_mm") or event.slots.get("place") or _state(said, event))
    )
    return bool(told) and first_told(event, events)


def _served(said: Said, found: Sequence[Bit]) -> str | None:
    for b in found:
        if b.kind == "for" and any(n.kind in ("item", "room", "head") for n in said.row[b.start : b.end]):
            return said.words(b.start + 1, b.end)
    return None


def _of_thing(said: Said, event: Event) -> str | None:
    """'the waste of the shower is two inch': whose pipe it is."""
    ends = [g.end for g in said.groups if set(event.keys) <= set(g.keys) and g.end + 1 < said.end]
    at = next((i for i in ends if said.norm(i) == "of"), None)
    if at is None:
        return None
    thing = at + 2 if said.norm(at + 1) in ("the", "that", "this") and at + 2 < said.end else at + 1
    named = said.row[thing].kind == "item" and said.row[thing].keys[0] in _FED
    return said.words(at + 1, thing + 1) if named else None


def _served_it(said: Said, event: Event, events: Sequence[Event]) -> str | None:
    """'flow and return to it', 'its cold feed': the thing last named before."""
    groups = [g for g in said.groups if set(event.keys) <= set(g.keys) and g.start <= event.act.end]
    if not groups:
        return None
    group = groups[-1]
    if not _lead(said, event):
        return None
    # 'the valve's fitted for the shower and the cold's connected to it'
    fitted = [e.keys[0] for e in events if not e.piped and e.start < group.start and e.action in ("fit", "order")]
    loose = fitted[-1] if fitted and fitted[-1] in _NO_END and fitted[-1] not in STRUCTURE else None
    for i in range(group.start - 1, -1, -1):
        node = said.row[i]
        if node.kind in ("room", "head"):
            return None
        if node.kind == "item" and (node.keys[0] not in _NO_END if loose is None else node.keys[0] == loose):
            return said.text[node.start : node.end]
    return None


def _lead(said: Said, event: Event) -> str:
    """How words point at a thing: 'its' pipe, a pipe 'off' it, 'for' it, 'to' it: 'connected to it', 'dropped by the
    door for it'; '' where they do not."""
    groups = [g for g in said.groups if set(event.keys) <= set(g.keys) and g.start <= event.act.end]
    if not groups:
        return ""
    if said.norm(groups[-1].start - 1) == "its":
        return "its"
    end, stop = groups[-1].end, min(event.act.end + 2, said.end)
    off = end + 1 if said.norms(end, end + 2) == ["out", "of"] else end
    if off + 1 < said.end and _at_it(said, off, ("off", "from", "of")) and said.norm(off + 1) in _ONE_THING:
        return "off"
    if event.action == "connect" and any(_at_it(said, i, ("to", "onto")) for i in range(event.act.start, stop)):
        return "to"
    if end + 1 < said.end and _at_it(said, end, ("to", "for")):
        return said.norm(end)
    if event.action not in ("run", "tee"):
        return ""
    clause = said.clauses[event.clause]
    if any(_at_it(said, i, ("for",)) for i in range(event.start, clause.end)):
        return "for"
    return "to" if any(_at_it(said, i, ("to", "onto")) for i in range(max(event.start, end), clause.end)) else ""


def _at_it(said: Said, i: int, leads: Sequence[str]) -> bool:
    if i + 1 >= said.end or said.norm(i) not in leads:
        return False
    alone = i + 2 >= said.end or said.row[i + 2].kind not in ("item", "room", "head")
    many = said.joined(i + 1, min(i + 5, said.end))
    return said.norm(i + 1) in _IT or (said.norm(i + 1) == "that" and alone) or bool(_MANY.match(many))


_ONE_THING = frozenset(("it", "him", "her", "that", "them"))
_MANY = re.compile(
    r"(all|both|each|every one|the pair|the two|the three)( of (it|them|'em|both))?( ,| \.|$| in\b| and\b| now\b)"
)
_IT = frozenset(("it", "them", "him", "her", "both", "'un", "un", "'en"))


def _on_to(said: Said, event: Event) -> str | None:
    """The end named inside the words of work: 'on to the coil'."""
    row, act = said.row, event.act
    things = [i for i in range(act.start, act.end) if row[i].kind == "item" or row[i].norm == "coil"]
    if not things or not set(said.norms(act.start, things[-1])) & {"to", "onto", "on"}:
        return None
    at = things[-1]
    return said.words(at - 1 if said.norm(at - 1) in ("the", "a", "its") else at, at + 1)


def _last_thing(said: Said, event: Event) -> str | None:
    """The last thing named before in the sentence: 'the rad's on, flow and return connected'."""
    row = said.row
    things = [i for i in range(said.start, event.act.end) if row[i].kind == "item" and row[i].keys[0] not in _NO_END]
    if not things:
        return None
    return said.words(_name_start(said, things[-1]), things[-1] + 1)


def _name_start(said: Said, at: int) -> int:
    """Where the name of a thing begins: 'that rad', 'the flats' boiler', 'Pot wash sink' as a heading."""
    first = at
    while first > said.start and (said.row[first - 1].kind in ("room", "head") or said.norm(first - 1) in ("'s", "'")):
        first -= 1
    if first == at and at - said.start <= 3 and all(_plain(n) for n in said.row[said.start : at]):
        return said.start
    return first - 1 if first > said.start and said.norm(first - 1) in ("the", "that", "this") else first


_SAYS_MORE = frozenset("it them i we he she they is 's are was has have not up down due yet still".split())
_NO_NAME = words("place-leads") | _SAYS_MORE | {"new", "old", "same"}


def _plain(node: Node) -> bool:
    return node.kind == "word" and node.norm.isalpha() and node.norm not in _NO_NAME
