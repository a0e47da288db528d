"""Lengths, pressures, times, counts and joist figures of an event, and how a test went."""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import Status
from notes.reading.counting import amount
from notes.reading.event import Event
from notes.reading.held import went
from notes.reading.nominal import is_gap, joist_depth, unit_value
from notes.reading.said import Said
from notes.reading.things import DETERMINERS
from notes.reading.whose import Owner
from notes.reading.wordlists import pattern

_MEASURED = frozenset(("test", "flush", "fill"))
_TEMPORARY = pattern("temporary")


def measures(said: Said, event: Event, start: int, end: int) -> None:
    """Set the pressure and time of a test, the length of a run, from nodes `start:end`."""
    for i in range(start, end):
        named = unit_value(said.row[i])
        if named is None or i in said.scene.void or named[0] in event.slots:
            continue
        slot, value = named
        if (
            (_has_length(event) and (not is_gap(said.row, i) or _of_goods(said, event, i)))
            if slot == "length_m"
            else event.action in _MEASURED
        ):
            event.slots[slot] = value


def _has_length(event: Event) -> bool:
    return event.action in ("run", "leave", "order") and (event.piped or event.keys[0] == "insulation")


def _of_goods(said: Said, event: Event, i: int) -> bool:
    """'twelve metre of lagging' to order."""
    return event.action == "order" and i + 1 < said.end and said.norm(i + 1) == "of"


def joist(said: Said, event: Event, start: int, end: int, owners: dict[int, Owner]) -> None:
    """Set the hole's diameter or the notch's depth, the joist's depth and how many, in mm."""
    depth, many = said.scene.depth, None
    sizes: list[tuple[int, float]] = []
    for i in range(start, end):
        q = said.row[i].qty
        if q is None and said.norm(i) in ("couple", "pair", "both"):
            many = many or amount(said.row, i)
        if q is None or i in said.scene.void or q.unit not in (None, "mm", "inch"):
            continue
        if (
            _for_a_pipe(said, i)
            or _told_of_pipe(said, event, i, owners)
            or (i > start + 1 and said.norm(i - 1) == "by" and said.row[i - 2].qty)
        ):
            # 'the joists are 150 by 50': no hole
            continue
        if 100 < q.value < 200 and q.unit == "mm" and i == event.act.end:
            # 'notched one sixty mil deep': one joist, sixty deep
            many, sizes = 1, [*sizes, (i, float(q.value - 100))]
        elif found := joist_depth(said.row, i):
            depth = found
        elif q.unit is None and q.value <= 10:
            many = many or (None if said.norm(i - 1) in ("the", "that", "in") and q.value == 1 else int(q.value))
        elif q.unit == "inch" and q.value >= 4:
            depth = round(q.value * 25.4)
        elif q.unit == "inch":
            sizes.append((i, round(q.value * 25.4, 1)))
        elif q.value >= 12 or (q.unit == "mm" and q.value >= 8):
            sizes.append((i, float(q.value)))
    said.scene.depth = depth
    # 'inch and a quarter, went through two joists, forty-five mil holes'; then 'one seventy-five deep, notch is twenty
    # mil': a number with its unit before one without
    sure = [s for s in sizes if _of_the_hole(said, s[0])] or [s for s in sizes if _has_unit(said, s[0])] or sizes
    nearest = min(sure, key=lambda s: abs(s[0] - event.start))[1] if sure else None
    told = {"size_mm": nearest, "depth_mm": float(depth) if depth else None, "count": many or None}
    event.slots.update({slot: value for slot, value in told.items() if value})


def _told_of_pipe(said: Said, event: Event, i: int, owners: dict[int, Owner]) -> bool:
    """'basin waste, inch and a quarter, went through two joists': said of the pipe before the hole is told."""
    owner = owners.get(i)
    return said.clause_of(i) < event.clause and owner is not None and owner[0] == "pipe" and not _of_the_hole(said, i)


def _has_unit(said: Said, i: int) -> bool:
    q = said.row[i].qty
    return q is not None and q.unit is not None


def _of_the_hole(said: Said, i: int) -> bool:
    """'forty-five mil holes', 'notched it, forty deep', 'holes are fifty', 'notch of fifteen'."""
    if said.norm(i + 1 if i + 1 < said.end else i) in _HOLES | {"deep"}:
        return True
    j = i - 1
    while j > said.start and said.norm(j) in _HOLE_IS:
        j -= 1
    return said.norm(j) in _HOLES


_HOLES = frozenset("hole holes notch notches bore bored".split())
_HOLE_IS = frozenset("is are 's was were of all about at be been".split())


def _for_a_pipe(said: Said, i: int) -> bool:
    """'28 mil holes for the 22s': the size of what goes through."""
    ahead = said.norms(max(said.start, i - 2), i)
    return ahead[-1:] == ["for"] or (ahead[:1] == ["for"] and ahead[-1] in DETERMINERS)


def outcome(said: Said, event: Event, events: Sequence[Event], start: int, end: int) -> None:
    """Say whether a test failed and whether work is temporary; 'same again' has the pressure and time of the last."""
    text = said.joined(start, end)
    if event.action == "test" and event.status is Status.DONE:
        went(said, event, events, start, end)
    if event.like is not None:
        wanted = ("pressure_bar",) if event.cue == "verdict" else ("pressure_bar", "duration_min", "failed")
        for slot in wanted:
            if slot in event.like.slots:
                event.slots.setdefault(slot, event.like.slots[slot])
    if said.corrects and event.piped and event.action == "run":
        event.slots["correction"] = True
    if _TEMPORARY.search(text):
        event.slots["temporary"] = True
