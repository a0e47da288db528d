"""How many things or pipes a fact tells of: 'six mixing valves', 'both wastes', 'a couple of traps', 'all four'."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.event import Event
from notes.reading.mentions import Node
from notes.reading.nominal import COPPER, is_size
from notes.reading.said import Said
from notes.reading.wordlists import words

_ROOM_NUMBER = words("before-no-size")
_FLOOR_LOOPS = words("floor-loops")
_IN_WORDS = {"both": 2, "pair": 2, "couple": 2, "dozen": 12}
_UNCOUNTED = frozenset(("ask", "decide", "photograph", "drill", "notch"))
"""What is asked or photographed is not how many there are; joists are counted with their holes."""
_STOPS = frozenset(("in", "on", "and", "to", "at", "with", "a", "an", "the"))
_SO_MANY = frozenset(("of", "more", "short"))
_MOST = 60


def amount(row: Sequence[Node], i: int) -> int | None:
    """The number of things that the word at node i ends: 'six', 'a couple', 'half a dozen'; None where it is none."""
    q = row[i].qty
    if q is not None:
        whole = q.unit is None and not q.plural and q.value == int(q.value) and 1 <= q.value <= _MOST
        return int(q.value) if whole and not (i and row[i - 1].norm in _ROOM_NUMBER) else None
    many = _IN_WORDS.get(row[i].norm)
    if row[i].norm == "dozen":
        ahead = [n.norm for n in row[max(0, i - 2) : i]]
        times = row[i - 1].qty if i else None
        return 6 if "half" in ahead else int(12 * times.value) if times else many
    return many


def count_before(row: Sequence[Node], i: int, start: int) -> int | None:
    """The count said of the thing at node i: 'six blending valves', 'ten fifteen equal tees', 'two holes'."""
    for j in range(i - 1, max(start, i - 5) - 1, -1):
        if row[j].qty is None and (row[j].kind == "mark" or row[j].norm in _STOPS):
            return None
        if (many := amount(row, j)) is None:
            continue
        more = j > start and (row[j - 1].tag == "Q-num" or row[j - 1].norm in ("dozen", "of"))
        # 'twenty elbows, fifteen mil' tells both
        sized = row[j].qty and is_size(row, j) and many >= 15 and not (i + 1 < len(row) and is_size(row, i + 1))
        if sized and (j == i - 1 or more or many in COPPER):
            continue
        return many
    return None


def count_after(row: Sequence[Node], i: int, end: int) -> int | None:
    """'Basins are in, four of them', 'rads, all six', 'traps, two': the count told after the thing at node i."""
    for j in range(i + 1, end):
        if (many := amount(row, j)) is None:
            continue
        after = [n.norm for n in row[j + 1 : min(j + 3, end)]]
        of_them = after in (["of", "them"], ["on", "them"]) or after == ["off"] or after == ["off", ","]
        first = j - 1
        while first > i and row[first].norm in ("a", "about", "half", "the", "all"):
            first -= 1
        alone = row[first].norm == "," and (j + 1 >= end or row[j + 1].kind == "mark" or after[:1] == ["to"])
        every = row[j - 1].norm == "all" and row[j].qty is not None
        if of_them or every or (alone and (row[j].qty is None or not is_size(row, j))):
            return many
    return None


def count(said: Said, event: Event, start: int, end: int) -> None:
    """Set how many things are ordered, fitted, taken out, or pipes of one kind are told of, from nodes `start:end`."""
    if event.action in _UNCOUNTED or event.keys == ("joist",):
        return
    named = _pipes_named(said, event, start, end) if event.piped else things_named(said, event, start, end)
    known = any(i is not None for i in named)
    if len(event.keys) > 1 and known:
        event.per_key_count = tuple(_count_of(said, named, i, start, end) for i in named)
        return
    many = _count_of(said, named, named[0], start, end) if known else None
    if many is None and len(event.keys) == 1 and not known:
        many = _every(said, event, end)
    if many is None and not event.piped:
        many = _of_those(said, event, end)
    if many:
        event.slots["count"] = many


def _of_those(said: Said, event: Event, end: int) -> int | None:
    """'fitted two of them', 'order four more', 'we're one short', 'nine hung', 'I've hung the six'."""
    row, act = said.row, event.act
    clause = said.clauses[event.clause]
    for i in range(max(clause.start, act.start - 1), min(end, clause.end)):
        if row[i].tag != "Q-num" or (many := amount(row, i)) is None:
            continue
        beside = act.start - 1 <= i < act.end + 2 and (i + 1 >= end or row[i + 1].kind == "mark" or i <= act.start)
        if (i + 1 < end and said.norm(i + 1) in _SO_MANY) or (beside and many > 1 and not is_size(row, i)):
            return many
    return None


def _every(said: Said, event: Event, end: int) -> int | None:
    """'they're both capped', 'hung the pair', 'connected to all three', where one kind was spoken of before."""
    start = said.clauses[event.clause].start
    for i in range(start, min(end, said.clauses[event.clause].end)):
        every = said.norm(i - 1) == "all" and said.row[i].qty is not None
        both = said.norm(i) == "both" and said.norms(i + 1, i + 2) not in _SIDES
        if every or both or said.norms(i - 1, i + 1) == ["the", "pair"]:
            return amount(said.row, i)
    return None


_SIDES = (["ends"], ["sides"], ["boilers"], ["have"])


def things_named(said: Said, event: Event, start: int, end: int) -> tuple[int | None, ...]:
    """The node that names each thing of an event among `start:end`, None where none does."""
    free = [i for i in range(start, end) if said.row[i].kind == "item"]
    # 'meters, there's three meters to go in': first those that its own clause names
    free.sort(key=lambda i: said.clause_of(i) != event.clause)
    out: list[int | None] = []
    for key in event.keys:
        i = next((i for i in free if said.row[i].keys[0] == key), None)
        if i is not None and event.keys.count(key) > 1:
            free.remove(i)
        out.append(i)
    return tuple(out)


def _pipes_named(said: Said, event: Event, start: int, end: int) -> tuple[int | None, ...]:
    """Pipes are counted where the word is one for several: 'both wastes', 'four loops'."""
    for group in reversed(said.groups):
        at = group.end - 1
        if not said.norm(at).endswith("s") or said.norm(at) in _ONE_PIPE or group.start >= end:
            continue
        alike = group.keys == event.keys and len(group.keys) == group.end - group.start == 1 and group.start >= start
        if alike or (said.norm(at) in _FLOOR_LOOPS and set(group.keys) & set(event.keys)):
            return tuple(at if key in group.keys else None for key in event.keys)
    return ()


_ONE_PIPE = frozenset(("gas", "mains", "cws", "hws", "bcws", "dhws"))


def _count_of(said: Said, named: Sequence[int | None], i: int | None, start: int, end: int) -> int | None:
    if i is None:
        return None
    told = count_before(said.row, i, start)
    return count_after(said.row, i, end) if told is None and len(set(named)) == 1 else told
