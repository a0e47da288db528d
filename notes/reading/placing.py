"""Where an event's pipe is, where it starts and where it ends, in the words that say it."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.ends import serves
from notes.reading.event import Event
from notes.reading.faults import fault_place
from notes.reading.mentions import PIPE_KINDS, Node
from notes.reading.places import OPENERS, Bit, bits
from notes.reading.said import Said
from notes.reading.things import DETERMINERS, STRUCTURE
from notes.reading.wordlists import words

_PLACELESS = frozenset(("test", "fill", "flush", "photograph", "ask", "order", "commission", "drain", "decide"))
_WAYLESS = frozenset(("clip", "sleeve", "insulate"))
"""Work along a pipe: where the pipe was said to go is its run's."""
_ENDLESS = frozenset(("sleeve", "remove"))
_HELD = frozenset(("fit", "clip"))
_LEADS = words("place-leads")
_WAY_WORDS = words("way-words")
_ON_ITS = words("possessors") - {"this"}


def places(said: Said, event: Event, events: Sequence[Event], start: int, end: int) -> None:
    """Set an event's place, start and end from nodes `start:end`."""
    if event.action in _PLACELESS or event.cue == "elsewhere":
        return
    found = _usable(said, event, events, start, end)
    if event.action in ("run", "tee"):
        found = [_as_start(said, b) for b in found]
    found = [_where_it_is(said, event, b, found) for b in found]
    if event.action == "remove":
        # 'stripped out the bath'
        found = [b for b in found if said.norm(b.start) != "out"]
    if event.action == "cap":
        # 'put a bung in the soil'
        found = [b for b in found if b.kind != "to" or said.norm(b.start) != "in"]
    if event.action == "join":
        # '22 to the wall and then drops to 15': the wall is where the run before it ends
        found = [b for b in found if b.kind != "to" or said.clause_of(b.start) == event.clause]
    after = [b for b in found if b.end > event.start]
    before = [b for b in found if b.end <= event.start]
    if place := _run_on(said, after) or _run_on(said, before):
        event.slots["place"] = said.words(_nears(said, event, place.start), place.end)
    for kind, slot in (("from", "from_"), ("to", "to")):
        if event.action in _ENDLESS or not (event.piped or event.action in _HELD | {"connect"}):
            break
        if event.action in _WAYLESS and not any(said.clause_of(b.start) == event.clause for b in found):
            break
        told = [b for b in after if b.kind == kind] or [b for b in before if b.kind == kind]
        if told and kind == "to" and event.action in _HELD and said.clause_of(told[0].start) == event.clause:
            # 'screwed to the wall', 'stapled down to the boards'
            event.slots.setdefault("place", said.words(told[0].start, told[0].end))
        elif told and (event.piped or event.action == "connect"):
            event.slots[slot] = told_end = said.words(told[0].start + 1, told[0].end)
            event.reaches = told_end if kind == "to" else None
    if event.action == "run" and "from_" not in event.slots:
        _from_to(said, event, start, end)
    if event.action == "fit" and "place" not in event.slots and (on := _fitted_on(said, event)):
        event.slots["place"] = on
    if "place" not in event.slots and (there := fault_place(said, event)):
        event.slots["place"] = there
    _same_place(said, event, start, end)
    _still_there(said, event, events)
    if event.action == "connect" and "to" not in event.slots:
        _joined_at(said, event, found)
    if event.piped:
        serves(said, event, events, found)


def _where_it_is(said: Said, event: Event, bit: Bit, found: Sequence[Bit]) -> Bit:
    """'moved to under the window', 'bath hot and cold run to under the window': a place, where the end is known."""
    after = said.norm(bit.start + 1)
    if bit.kind != "to" or after not in OPENERS or after in ("in", "where", "out"):
        return bit
    known = not event.piped or event.serves or any(b.kind == "for" for b in found)
    return Bit("place", bit.start + 1, bit.end) if known else bit


def _as_start(said: Said, bit: Bit) -> Bit:
    """'out of the header', 'teed out the twenty-two': where a run starts; 'out of the wall' is a place."""
    last = said.row[bit.end - 1]
    thing = (last.kind == "item" and last.keys[0] not in STRUCTURE) or last.norm in _OUTLETS or last.qty is not None
    if bit.kind != "place" or said.norm(bit.start) != "out" or not thing or bit.end - bit.start > _SHORT:
        return bit
    return Bit("from", bit.start + (said.norm(bit.start + 1) == "of"), bit.end)


_OUTLETS = frozenset(("top", "bottom"))


def _joined_at(said: Said, event: Event, found: Sequence[Bit]) -> None:
    """'connected at the manifold': what it is connected to."""
    at = next((b for b in found if b.kind == "place" and said.clause_of(b.start) == event.clause), None)
    if at is None or said.norm(at.start) != "at" or at.end - at.start > _SHORT:
        return
    last = said.row[at.end - 1]
    if (last.kind == "item" and last.keys[0] not in STRUCTURE) or last.norm in ("manhole", "coil", "stack"):
        event.slots["to"] = said.words(at.start + 1, at.end)
        if event.slots.get("place") == said.words(at.start, at.end):
            del event.slots["place"]


_SHORT = 4


def _nears(said: Said, event: Event, start: int) -> int:
    """Where a place begins: 'all along the ceiling', 'just inside the door', 'halfway up the wall'."""
    while start > said.start and _near(said, start - 1) and not event.start <= start - 1 < event.act.end:
        start -= 1
    return start


def _near(said: Said, i: int) -> bool:
    word, after = said.norm(i), said.norm(i + 1)
    if word == "all":
        # 'all along the ceiling', but 'capped them all at bench height'
        return after in _WAY_WORDS or after == "round"
    return word in _NEAR or (word in ("down", "up") and i > said.start and said.norm(i - 1) in ("low", "high"))


_NEAR = frozenset("just right halfway half-way well low high hard tight tucked straight close bang over".split())


def _from_to(said: Said, event: Event, start: int, end: int) -> None:
    """'..., gate to the yard, ...': a start and an end in words that say nothing else."""
    for number, clause in enumerate(said.clauses):
        if number <= event.clause or not start <= clause.start < end or said.acts_in(clause):
            continue
        at = next((i for i in range(clause.start, clause.end) if said.norm(i) == "to"), None)
        plain = at is not None and all(n.kind in _PLAIN for n in said.row[clause.start : clause.end])
        if at is None or not plain or not 1 <= at - clause.start <= 4 or not 1 <= clause.end - at - 1 <= 4:
            continue
        if not set(said.norms(clause.start, clause.end)) & _NO_STRETCH:
            event.slots["to"] = said.words(at + 1, clause.end)
            if said.norm(clause.start) not in OPENERS:
                event.slots["from_"] = said.words(clause.start, at)
            return


_PLAIN = frozenset(("word", "item", "room", "head"))
_NO_STRETCH = frozenset("it them i we he she they is 's are was has have not up down due yet still".split())


def _usable(said: Said, event: Event, events: Sequence[Event], start: int, end: int) -> list[Bit]:
    """The phrases of the window, but from other clauses only where they open the clause ('..., left of the window')."""
    busy = frozenset(i for e in events for i in range(e.start, e.act.end) if not _may_open(said, e, i))
    out: list[Bit] = []
    for bit in bits(said.row, start, end, busy):
        if _is_its(said, event, bit, out[-1].end if out else start):
            out.append(bit)
    return out


def _is_its(said: Said, event: Event, bit: Bit, last: int) -> bool:
    """A phrase of another clause counts where it opens it, or follows on one that does: 'from the gate to the yard'."""
    number = said.clause_of(bit.start)
    ahead = said.row[max(said.clauses[number].start, last) : bit.start]
    # 'the relief, fifteen copper to the tundish', 'bath waste, that's inch and a quarter to the stack'
    sized = event.action == "run" and event.cue != "again"
    if event.action == "fit" and not event.piped and number > event.clause and bit.kind == "place":
        # 'the cylinder's in, standing on the plinth', 'two rads hung, both under the windows'
        return said.norm(bit.start) != "where" and all(n.norm in _STANDING for n in ahead)
    leads = _LEADS | _IT_IS if sized and said.norm(bit.start) != "where" else _LEADS
    if number == event.clause or all(n.norm in leads or (sized and _tells_size(n)) for n in ahead):
        return True
    if event.cue == "again":
        return False
    return number < event.clause and (bit.kind != "place" or event.action == "run" or _beside_pipes(said, event, bit))


_STANDING = _LEADS | frozenset(
    "it they 's is are standing stood stands sat sitting sits hung hanging bolted screwed fixed both all each".split()
)
_IT_IS = frozenset("that it they 's is are in".split())


def _beside_pipes(said: Said, event: Event, bit: Bit) -> bool:
    """'the hot return above the door, the twenty-two, is still capped': where the pipe, or what it serves, is."""
    if event.action not in ("cap", "leave"):
        return False
    named = [g for g in said.groups if g.end == bit.start and set(g.keys) == set(event.keys)]
    headed = bit.start - said.start in (1, 2) and said.row[bit.start - 1].kind == "item"
    return bool(named) or headed


def _tells_size(node: Node) -> bool:
    return node.kind == "material" or node.qty is not None


def _may_open(said: Said, event: Event, i: int) -> bool:
    """Whether a word of the work itself may open a place: 'capped behind the bath'."""
    act = event.act
    if act.end - act.start > 2 and act.start < i < act.end - 1:
        return said.norm(i) not in ("left", "on", "up", "in")
    if event.action == "fit" and i == act.end - 1 and i + 1 < said.end and said.norm(i + 1) in _ON_ITS:
        # 'hung on the back wall', 'stood on its plinth'
        return True
    if event.action in _OF_ITS_VERB and i == act.end - 1 and said.norm(i) in _PARTICLES and _object_next(said, i + 1):
        return False
    return i == act.end - 1 and i != act.start and (i + 1 >= said.end or said.norm(i) not in ("on", "test"))


_OF_ITS_VERB = frozenset(("cap", "clip", "isolate", "insulate", "drain", "fill", "flush"))
_PARTICLES = frozenset(("up", "off", "down", "out", "through"))


def _object_next(said: Said, i: int) -> bool:
    """'turned off the oil', 'clipped up the waste': the particle is the verb's own and opens no place."""
    while i < said.end and said.norm(i) in DETERMINERS:
        i += 1
    return i < said.end and said.row[i].kind in PIPE_KINDS


def _run_on(said: Said, found: Sequence[Bit]) -> Bit | None:
    """The first place, run on to one that follows at once: 'behind the basin, about knee height', ', just under it'."""
    told = [b for b in found if b.kind == "place"]
    if not told:
        return None
    first = told[0]
    for b in told[1:]:
        if all(said.row[i].kind == "mark" or said.norm(i) in _NEAR for i in range(first.end, b.start)):
            first = Bit("place", first.start, b.end)
    return first


def _fitted_on(said: Said, event: Event) -> str | None:
    """The place inside the words of work: 'on its base', 'on the wall'."""
    norms = said.norms(event.act.start, event.act.end)
    at = next((n for n, w in enumerate(norms) if w in ("on", "to") and n + 1 < len(norms)), None)
    if at is None or len(norms) - at < 2 or norms[at + 1] in ("now", "up"):
        return None
    return said.words(event.act.start + at, event.act.end)


def _still_there(said: Said, event: Event, events: Sequence[Event]) -> None:
    """'run under the floor and left open': an end with no place of its own is where its run was said to go."""
    if event.action not in ("cap", "leave") or event.slots.get("place"):
        return
    runs = [e for e in events if e.action == "run" and e.start < event.start and set(event.keys) <= set(e.keys)]
    told = (runs[-1].reaches, runs[-1].slots.get("place"), runs[-1].slots.get("to")) if runs else ()
    if place := next((p for p in told if p and p != runs[-1].serves), None):
        event.slots["place"] = place


def _same_place(said: Said, event: Event, start: int, end: int) -> None:
    """'on the same wall': the last place told."""
    same = any(
        said.norm(i) == "same" and said.norm(i + 1) in ("place", "spot", "wall", "corner")
        for i in range(start, end - 1)
    )
    if same and said.scene.place and not event.slots.get("place"):
        event.slots["place"] = said.scene.place
    if isinstance(place := event.slots.get("place"), str):
        said.scene.place = place
