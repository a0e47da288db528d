"""Fills the slots of a sentence's events: which size, material, place, end, length, pressure is whose."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from notes.model import Status
from notes.reading.event import Event
from notes.reading.slots import DRAINS, Bit, bits, count_before, inches, is_gap, is_size, joist_depth, unit_value

if TYPE_CHECKING:
    from notes.reading.facts import Sentence

_LASTING = frozenset(("run", "cap", "leave", "tee", "connect", "clip", "join"))
"""Work whose facts keep the size and material that the sentence gives the pipe."""
_PLACELESS = frozenset(("test", "fill", "flush", "photograph", "ask", "order", "commission", "drain"))
_MEASURED = frozenset(("test", "flush", "fill"))
_COUNTED = frozenset(("order", "drill", "notch", "fit", "remove", "clip"))
FAILED = re.compile(
    r"\bfail(ed|s)?\b|\bdropped\b|went down|\bweep(ing|s)?\b|\bleak(ing|ed|s)?\b|lost pressure|(would|did|does) not hold|"
    r"not held|like a stone|dropping|pouring out|lost (it|the)|let go|blew (off|out)|\bsank\b|\bfell\b|losing|wept|"
    r"would not stay|will not hold|no good|bleeding down|gone down|gauge.{0,12}(down|drop)"
)
_PASSED = re.compile(
    r"\bpassed\b|\bheld\b|no drop|never (moved|budged|dropped)|not (a )?(move|moved|budge|budged|drop|dropped)|\bsound\b|\bsolid\b|"
    r"good as gold|spot on|not a (flicker|murmur|whisper)|stayed put|tight|rock|steady|nothing lost|\bpass\b|holding"
)
_TEMPORARY = re.compile(
    r"\btemporar|\bfor now\b|\btemp\b|for the time being|stop ?gap|make ?shift|just while|bodge|tide us over|"
    r"for the (minute|moment)|doing a turn|gaffer"
)


def fill(sentence: Sentence, events: Sequence[Event]) -> None:
    """Fill every event's slots in place."""
    owners = {i: _owner(sentence, i, events) for i in _numbers(sentence)}
    for event in events:
        start, end = window(sentence, event, events)
        if event.act.action in ("drill", "notch"):
            _joist(sentence, event, start, end)
        elif event.act.action not in ("ask", "decide", "photograph"):
            _size(sentence, event, events, owners)
        _units(sentence, event, start, end)
        _material(sentence, event, events, start, end)
        _places(sentence, event, events, start, end)
        _count(sentence, event, start, end)
        text = _text(sentence, start, end)
        if event.act.action == "test" and event.status is Status.DONE:
            whole = _text(sentence, sentence.start, sentence.end)
            event.slots["failed"] = event.cue == "verdict" or bool(FAILED.search(whole)) and (bool(FAILED.search(text)) or not _PASSED.search(text))
        if event.like is not None:
            for slot in ("pressure_bar", "duration_min", "failed"):
                if slot in event.like.slots and not (event.cue == "verdict" and slot != "pressure_bar"):
                    event.slots.setdefault(slot, event.like.slots[slot])
        if _TEMPORARY.search(text):
            event.slots["temporary"] = True


def _text(sentence: Sentence, start: int, end: int) -> str:
    return " ".join(n.norm for n in sentence.row[start:end])


def _numbers(sentence: Sentence) -> list[int]:
    return [i for i in range(sentence.start, sentence.end) if sentence.row[i].qty and i not in sentence.r.void]


def window(sentence: Sentence, event: Event, events: Sequence[Event]) -> tuple[int, int]:
    """The nodes whose words may belong to an event: its clause, and clauses without work around it."""
    parts, acting = sentence.clauses, {e.clause for e in events}
    first = last = event.clause
    while first > 0 and first - 1 not in acting:
        first -= 1
    while last + 1 < len(parts) and last + 1 not in acting and not sentence.starts_new(last + 1, event.keys):
        last += 1
    start, end = parts[first].start, parts[last].end
    mates = [e for e in events if e is not event and e.clause == event.clause]
    before = [e.act.end for e in mates if e.act.start < event.act.start]
    after = [e.act.start for e in mates if e.act.start > event.act.start]
    return (max(before) if before else start), (min(after) if after else end)


# -- sizes and materials ----------------------------------------------------------------------------------------

Owner = tuple[str, tuple[str, ...]] | None


def _owner(sentence: Sentence, i: int, events: Sequence[Event]) -> Owner:
    """Whose size a number at node i is: an item's that follows it, the pipes' of its clause, the last work's before."""
    row = sentence.row
    if not is_size(row, i) or _names_another(row, i):
        return None
    after = [n for n in row[i + 1 : i + 4]]
    for n in after:
        if n.kind == "item" and n.keys[0] not in ("wall", "floor", "joist"):
            return "item", n.keys
        if n.kind != "word" or n.norm in ("for", "to", "and", "on", "in", "at", "from", "off", "through", "is", "'s", "up", "down"):
            if n.tag not in ("MAT", "Q-num", "Q-mm"):
                break
    clause = sentence.clauses[sentence.clause_of(i)]
    mine = [g for g in sentence.groups if clause.start <= g.start < clause.end and not g.referred]
    before = [g for g in mine if g.start < i]
    if before:
        return "pipe", before[-1].keys
    worked = [e for e in events if e.act.start <= i and e.clause == sentence.clause_of(i)]
    if worked:
        return ("pipe" if worked[-1].piped else "item"), worked[-1].keys
    if mine:
        return "pipe", mine[0].keys
    groups = [g for g in sentence.groups if g.start < i and not g.referred]
    done = [e for e in events if e.act.start < i]
    if done and (not groups or done[-1].act.start > groups[-1].start):
        return ("pipe" if done[-1].piped else "item"), done[-1].keys
    if groups:
        return "pipe", groups[-1].keys
    ahead = [e for e in events if e.clause >= sentence.clause_of(i)]
    return (("pipe" if ahead[0].piped else "item"), ahead[0].keys) if ahead else None


def _names_another(row: Sequence[Node], i: int) -> bool:
    """'welded into the hundred and ten': the size is the name of the pipe it joins."""
    return i > 1 and row[i - 1].norm in ("the", "that", "his", "their") and row[i - 2].norm in ("into", "onto", "off")


def _size(sentence: Sentence, event: Event, events: Sequence[Event], owners: dict[int, Owner]) -> None:
    kind = "pipe" if event.piped else "item"
    mine = [i for i, o in owners.items() if o is not None and o[0] == kind and set(o[1]) & set(event.keys)]
    here = [i for i in mine if sentence.clause_of(i) == event.clause]
    start, end = window(sentence, event, events)
    near = [i for i in mine if start <= i < end]
    pool = [i for i in here if i in near] or near
    if not pool and event.act.action in _LASTING and (event.status is not Status.NOT_DONE or _first(event, events)):
        pool = [i for i in mine if i < event.act.start]
    elif not pool and _first(event, events):
        pool = [i for i in mine if i < event.act.start]
    if event.act.action not in _LASTING and pool and not here and not _first(event, events):
        pool = []
    if not pool:
        return
    if len(event.keys) > 1 and (per_key := _each(sentence, event, pool, owners)):
        event.per_key_size = per_key
        return
    values = [_mm(sentence, event, i) for i in pool]
    if not here and event.act.action in ("clip", "insulate", "cap") and len(set(values)) > 1 and event.act.start > pool[-1]:
        return
    for a, b in zip(range(len(pool)), range(1, len(pool)), strict=False):
        if _reduces(sentence, event, pool[a], pool[b]):
            event.slots["size_mm"], event.slots["to_size_mm"] = values[a], values[b]
            return
    if len(values) == len(event.keys) > 1 and pool[-1] - pool[0] <= 2 * len(pool):
        event.per_key_size = tuple(values)
        return
    if event.act.action == "order" and len(set(values)) > 1:
        return
    after = [n for n, i in enumerate(pool) if i >= event.act.start]
    before = [n for n, i in enumerate(pool) if i < event.act.start]
    event.slots["size_mm"] = values[before[-1] if before else after[0]]


def _each(sentence: Sentence, event: Event, pool: Sequence[int], owners: dict[int, Owner]) -> tuple[float, ...]:
    """A size for each pipe where they were said apart: 'hot and cold in twenty-two and the return in fifteen'."""
    told = {k: [i for i in pool if (o := owners[i]) is not None and k in o[1]] for k in event.keys}
    if not all(told.values()) or len({tuple(v) for v in told.values()}) == 1:
        return ()
    return tuple(_mm(sentence, event, told[k][-1]) for k in event.keys)


def _first(event: Event, events: Sequence[Event]) -> bool:
    """Whether this is the first work told of its pipes in the sentence."""
    return not any(e is not event and e.act.action != event.act.action and set(e.keys) & set(event.keys) and e.act.start < event.act.start for e in events)


def _reduces(sentence: Sentence, event: Event, a: int, b: int) -> bool:
    between = [n.norm for n in sentence.row[a + 1 : b] if n.kind != "material"]
    if not between or between[-1] not in ("to", "by", "onto", "into") or len(between) > 6 and event.act.action != "join":
        return False
    return event.act.action in ("join", "fit", "tee")


def _mm(sentence: Sentence, event: Event, i: int) -> float:
    q = sentence.row[i].qty
    assert q is not None
    if q.unit != "inch":
        return float(q.value)
    clause = sentence.clauses[sentence.clause_of(i)]
    material = next((n.keys[0] for n in sentence.row[clause.start : clause.end] if n.kind == "material"), None)
    return float(inches(q.value, event.keys[0], material))


def _material(sentence: Sentence, event: Event, events: Sequence[Event], start: int, end: int) -> None:
    if not event.piped or event.act.action in ("order", "decide", "photograph", "test", "ask"):
        return
    row = sentence.row
    here = [i for i in range(start, end) if row[i].kind == "material" and i not in sentence.r.void and not _referred(sentence, i)]
    if event.act.action not in _LASTING and not _first(event, events) and not [i for i in here if sentence.clause_of(i) == event.clause]:
        return
    pool = [i for i in here if _whose(sentence, i, events) & set(event.keys)]
    if not pool and event.act.action in _LASTING:
        pool = [
            i for i in range(sentence.start, event.act.start)
            if row[i].kind == "material" and i not in sentence.r.void and _whose(sentence, i, events) & set(event.keys)
        ]  # fmt: skip
    if event.act.action == "join" and "to_size_mm" in event.slots and pool:
        # the second size's material is what it was joined to
        first = next((i for i in _numbers(sentence) if is_size(row, i) and i >= start), None)
        pool = [i for i in pool if first is not None and i <= first + 1]
    if pool:
        after = [i for i in pool if i >= event.act.start]
        event.slots["material"] = row[after[0] if after and event.act.action == "join" else pool[-1] if not after else after[0]].keys[0]


def _referred(sentence: Sentence, i: int) -> bool:
    """A material that names another pipe: 'where the old copper used to stand', 'under the lead'."""
    before = [n.norm for n in sentence.row[max(sentence.start, i - 5) : i]]
    return "where" in before or ("old" in before[-1:] and bool({"off", "into", "onto", "from", "to"} & set(before[-3:])))


def _whose(sentence: Sentence, i: int, events: Sequence[Event]) -> set[str]:
    clause = sentence.clauses[sentence.clause_of(i)]
    if i > sentence.start and sentence.row[i - 1].norm in ("all", "both"):
        return {k for e in events for k in e.keys}
    mine = [g for g in sentence.groups if clause.start <= g.start < clause.end and (not g.referred or g.start == i + 1)]
    if mine:
        before = [g for g in mine if g.start < i]
        return set((before[-1] if before else mine[0]).keys)
    worked = [e for e in events if e.clause == sentence.clause_of(i)]
    if worked:
        return {k for e in worked for k in e.keys}
    groups = [g for g in sentence.groups if g.start < i and not g.referred]
    done = [e for e in events if e.act.start < i]
    if done and (not groups or done[-1].act.start > groups[-1].start):
        return set(done[-1].keys)
    return set(groups[-1].keys) if groups else {k for e in events for k in e.keys}


# -- lengths, pressures, counts ---------------------------------------------------------------------------------


def _units(sentence: Sentence, event: Event, start: int, end: int) -> None:
    for i in range(start, end):
        if i in sentence.r.void or not (named := unit_value(sentence.row[i])):
            continue
        slot, value = named
        if slot == "length_m":
            wanted = event.act.action in ("run", "leave", "order") and not is_gap(sentence.row, i)
            wanted = wanted and (event.piped or event.keys[0] in ("insulation",))
        else:
            wanted = event.act.action in _MEASURED
        if wanted and slot not in event.slots:
            event.slots[slot] = value


def _count(sentence: Sentence, event: Event, start: int, end: int) -> None:
    if event.act.action not in _COUNTED or event.piped or event.keys == ("joist",):
        return
    at = next((i for i in range(start, end) if sentence.row[i].kind == "item" and sentence.row[i].keys[0] == event.keys[0]), None)
    if at is not None and (n := count_before(sentence.row, at, start)) is not None:
        event.slots["count"] = n


def _joist(sentence: Sentence, event: Event, start: int, end: int) -> None:
    depth, count = sentence.scene.depth, None
    sizes: list[tuple[int, float]] = []
    for i in range(start, end):
        q = sentence.row[i].qty
        if q is None or i in sentence.r.void or q.unit not in (None, "mm", "inch"):
            continue
        if found := joist_depth(sentence.row, i):
            depth = found
        elif q.unit is None and q.value <= 10:
            count = count or int(q.value)
        elif (q.unit == "mm" and q.value >= 8) or q.value >= 12:
            sizes.append((i, float(q.value)))
        elif q.unit == "inch":
            sizes.append((i, round(q.value * 25.4, 1)))
    sentence.scene.depth = depth
    if sizes:
        event.slots["size_mm"] = min(sizes, key=lambda s: abs(s[0] - event.act.start))[1]
    if depth:
        event.slots["depth_mm"] = float(depth)
    if count:
        event.slots["count"] = count


# -- places and ends --------------------------------------------------------------------------------------------


def _places(sentence: Sentence, event: Event, events: Sequence[Event], start: int, end: int) -> None:
    if event.act.action in _PLACELESS or (event.act.action == "decide"):
        return
    found = _usable(sentence, event, events, start, end)
    act = event.act
    after = [b for b in found if b.end > act.start]
    before = [b for b in found if b.end <= act.start]
    place = _joined([b for b in after if b.kind == "place"]) or _joined([b for b in before if b.kind == "place"])
    if place:
        event.slots["place"] = sentence.r.words(place.start, place.end)
    for kind, slot in (("from", "from_"), ("to", "to")):
        told = [b for b in after if b.kind == kind] or [b for b in before if b.kind == kind]
        if told:
            event.slots[slot] = sentence.r.words(told[0].start + 1, told[0].end)
    _same_place(sentence, event, start, end)
    if event.piped:
        _serves(sentence, event, events, found)


def _usable(sentence: Sentence, event: Event, events: Sequence[Event], start: int, end: int) -> list[Bit]:
    """The phrases of the window, but from other clauses only where they open the clause ('..., left of the window')."""
    busy = frozenset(i for e in events for i in range(e.act.start, e.act.end) if not _may_open(sentence, e, i))
    out = []
    for b in bits(sentence.row, start, end, busy):
        clause = sentence.clauses[sentence.clause_of(b.start)]
        inner = sentence.clause_of(b.start) == event.clause
        opens = all(n.norm in ("just", "and", "then", "right", "er", "about", "so") for n in sentence.row[clause.start : b.start])
        lead = sentence.clause_of(b.start) < event.clause
        if inner or opens or (lead and b.kind != "place") or (lead and event.act.action == "run"):
            out.append(b)
    return out


def _may_open(sentence: Sentence, event: Event, i: int) -> bool:
    act = event.act
    if act.end - act.start > 2 and act.start < i < act.end - 1:
        return sentence.row[i].norm not in ("left", "on", "up", "in")
    return i == act.end - 1 and i != act.start and (i + 1 >= sentence.end or sentence.row[i].norm not in ("on", "test"))


def _joined(places: Sequence[Bit]) -> Bit | None:
    """The first place, run on to one that follows at once after a comma: 'behind the basin, about knee height'."""
    if not places:
        return None
    first = places[0]
    for b in places[1:]:
        if b.start - first.end <= 1:
            first = Bit("place", first.start, b.end)
    return first


def _same_place(sentence: Sentence, event: Event, start: int, end: int) -> None:
    row = sentence.row
    same = any(row[i].norm == "same" and row[i + 1].norm in ("place", "spot", "wall", "corner") for i in range(start, end - 1))
    if same and sentence.scene.place and not event.slots.get("place"):
        event.slots["place"] = sentence.scene.place
    if isinstance(place := event.slots.get("place"), str):
        sentence.scene.place = place


def _serves(sentence: Sentence, event: Event, events: Sequence[Event], found: Sequence[Bit]) -> None:
    """The thing at the end of the pipe: named before it, after 'for', or the thing that 'it' is."""
    slot = "from_" if set(event.keys) & DRAINS and len(event.keys) == 1 else "to"
    row = sentence.row
    told = [b for b in found if b.kind == "for" and any(n.kind in ("item", "room", "head") for n in row[b.start : b.end])]
    serves = event.serves or (sentence.r.words(told[0].start + 1, told[0].end) if told else None)
    if event.act.action == "connect" and "to" not in event.slots:
        thing = _inside(sentence, event) or serves or _thing(sentence, event)
        if thing:
            event.slots["to"] = thing
        return
    if not serves or event.slots.get(slot):
        return
    first = _first(event, events)
    if event.act.action in ("run", "tee") or (first and event.act.action == "leave"):
        event.slots[slot] = serves
    elif first and event.act.action == "cap" and (event.slots.get("size_mm") or event.slots.get("place")):
        event.slots[slot] = serves


def _inside(sentence: Sentence, event: Event) -> str | None:
    """The end named inside the words of work: 'on to the coil'."""
    row, act = sentence.row, event.act
    things = [i for i in range(act.start, act.end) if row[i].kind == "item" or row[i].norm == "coil"]
    if not things or not any(n.norm in ("to", "onto", "on") for n in row[act.start : things[-1]]):
        return None
    at = things[-1]
    return sentence.r.words(at - 1 if row[at - 1].norm in ("the", "a", "its") else at, at + 1)


def _thing(sentence: Sentence, event: Event) -> str | None:
    """The last thing named before in the sentence: 'the rad's on, flow and return connected'."""
    row = sentence.row
    things = [
        i for i in range(sentence.start, event.act.end)
        if row[i].kind == "item" and row[i].keys[0] not in ("fitting", "valve", "joist", "floor", "wall", "insulation", "clips", "sleeve")
    ]  # fmt: skip
    if not things:
        return None
    at = things[-1]
    return sentence.r.words(at - 1 if at > sentence.start and row[at - 1].norm == "the" else at, at + 1)
