"""Facts -> pipe runs: where each goes, what it is, what state it is in now, and which fact set what. Pure."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from notes.model import PIPES, Fact, Room, Run, Status, Step
from notes.tracing.ends import ends, telling
from notes.tracing.phrases import Phrases
from notes.tracing.state import told
from notes.tracing.strand import PLACING, Strand
from notes.tracing.strands import weave

_SERVICES = frozenset(PIPES)
_ENDINGS = ("cap", "leave", "connect")
_NOT_THERE = (Status.NOT_DONE, Status.TO_DO)
_APART = re.compile(
    r"(?:at )?(?:every (?:[\w-]+ ){0,4}(?:joists?|studs?|met(?:re|er)s?|mil|feet|foot|yards?|inch(?:es)?)"
    r"|(?:[\w-]+ ){1,4}(?:centres|apart))\b",
    re.IGNORECASE,
)
"""How far clips are apart is no place: 'every half metre'."""
_PLACES = 4  # told of one pipe at most
_NEAR = 8  # look-alikes named at most on either side


def join(facts: Sequence[Fact], when: Mapping[str, datetime], rooms: Sequence[Room] = ()) -> tuple[Run, ...]:
    """The runs that `facts` tell of, in the order they were first spoken of.

    `when` gives the time of each memo; memos of one time keep its order. `rooms` lets a destination be known by a
    nickname. What is said of a service everywhere goes to its pipes in every room.
    """
    strands = [s for (room, _), group in grouped(in_order(facts, when), rooms).items() for s in weave(group, room)]
    strands.sort(key=lambda s: (when[s.facts[0].memo], s.facts[0].n))
    found = [_run(strand, when) for strand in strands]
    known = rooms or [Room(name) for name in sorted({s.room for s in strands if s.room})]
    names = Phrases((name, room.name) for room in known for name in (*room.aliases, room.name))
    return _linked(found, strands, names)


def in_order(facts: Iterable[Fact], when: Mapping[str, datetime]) -> list[Fact]:
    """Facts as they were said: by the time of their memo, then by its filing, then by their number."""
    filed = {memo: place for place, memo in enumerate(when)}
    return sorted(facts, key=lambda f: (when[f.memo], filed[f.memo], f.n))


def everywhere(fact: Fact) -> bool:
    """Whether `fact` reaches beyond its room: so flagged, or a test of a service with no room."""
    return fact.everywhere or (fact.room is None and fact.action == "test")


class Reach:
    """Where facts said of a whole floor, of the house or of no room hold: the rooms that have the service."""

    def __init__(self, facts: Iterable[Fact], rooms: Sequence[Room] = ()) -> None:
        self._floor = {room.name: room.floor for room in rooms}
        self._rooms: dict[str, dict[str | None, None]] = defaultdict(dict)
        for fact in facts:
            if not everywhere(fact) or fact.room:
                self._rooms[fact.subject][fact.room] = None

    def of(self, fact: Fact) -> list[str | None]:
        """The rooms that `fact` holds in, its own first."""
        if not everywhere(fact):
            return [fact.room]
        floor = self._floor.get(fact.room or "")
        others = [r for r in self._rooms[fact.subject] if r != fact.room]
        if fact.room is None:
            return others or [None]
        return [fact.room, *(r for r in others if r and self._floor.get(r) == floor)]


def grouped(facts: Sequence[Fact], rooms: Sequence[Room] = ()) -> dict[tuple[str | None, str], list[Fact]]:
    """Facts of each service in each room, in their order, those said of it everywhere among them."""
    pipes = [f for f in facts if f.subject in _SERVICES]
    reach = Reach(pipes, rooms)
    groups: dict[tuple[str | None, str], list[Fact]] = defaultdict(list)
    for fact in pipes:
        for room in reach.of(fact):
            groups[room, fact.subject].append(fact)
    return groups


def _run(strand: Strand, when: Mapping[str, datetime]) -> Run:
    steps = tuple(Step(f, when[f.memo], s) for f, s in zip(strand.facts, strand.sets, strict=True))
    last = strand.facts[-1]
    return Run(
        key=strand.key, subject=strand.subject, room=strand.room, rooms=(strand.room,) if strand.room else (),
        place=_place(strand.facts), from_=strand.from_, to=strand.to, size_mm=strand.size, to_size_mm=strand.to_size,
        material=strand.material, length_m=strand.length, state=told(strand.state), steps=steps, memo=last.memo,
        second=last.second,
    )  # fmt: skip


def _place(facts: list[Fact]) -> str | None:
    """The places told of a pipe, where it ends first, the latest first; none that adds no word."""
    said = [f for f in reversed(facts) if f.place and f.action != "photograph"]
    said = [f for f in said if not _APART.match(f.place or "")] or said
    # What is not lagged or tested lies where it is said to; what is not run, or in the end is not to be, does not.
    placed = [f for f in said if f.action not in PLACING or f.status not in _NOT_THERE] or said
    placed = [f for f in placed if f.status is not Status.DROPPED] or placed
    placed.sort(key=lambda f: (f.status is Status.UNSURE, f.action not in _ENDINGS, f.action not in PLACING))
    kept: list[str] = []
    for fact in placed:
        if fact.place and not telling(fact.place) <= frozenset().union(*map(telling, kept)):
            kept.append(fact.place)
    return "; ".join(kept[:_PLACES]) or None


def _linked(found: list[Run], strands: list[Strand], rooms: Phrases) -> tuple[Run, ...]:
    """Runs with their parents, branches, look-alikes and the rooms they pass."""
    branches: dict[str, list[str]] = defaultdict(list)
    for strand in strands:
        if strand.parent:
            branches[strand.parent.key].append(strand.key)
    parents = {s.key: s.parent.key for s in strands if s.parent}
    alike = _alike(found)
    onward = _onward(found, rooms)
    return tuple(
        replace(
            run, parent=parents.get(run.key), branches=tuple(branches[run.key]),
            maybe_same=tuple(alike.get(run.key, ())), rooms=onward[run.key],
        )
        for run in found
    )  # fmt: skip


def _alike(found: Sequence[Run]) -> dict[str, tuple[str, ...]]:
    """Runs of one service in one room that nothing tells apart for sure: one of them names no fixture, no place."""
    groups: dict[tuple[str | None, str], list[Run]] = defaultdict(list)
    for run in found:
        groups[run.room, run.subject].append(run)
    pairs: dict[str, tuple[str, ...]] = {}
    for group in groups.values():
        told = [bool(fixtures(run)) for run in group]
        for spot, run in enumerate(group):
            near = [n for n in range(max(0, spot - _NEAR), min(spot + 1 + _NEAR, len(group))) if n != spot]
            vague = [group[n] for n in near if not (told[spot] and told[n])]
            pairs[run.key] = tuple(other.key for other in vague if _maybe_same(run, other))
    return pairs


def _maybe_same(a: Run, b: Run) -> bool:
    if a.parent == b.key or b.parent == a.key or "dropped" in (*a.state, *b.state):
        return False
    sized = None in (a.size_mm, b.size_mm) or a.size_mm == b.size_mm
    return sized and None in (a.to, b.to) and (a.material is None or b.material in (None, a.material))


def fixtures(run: Run) -> frozenset[str]:
    """The fixtures at the ends of a run."""
    placing = (ends(step.fact) for step in run.steps if step.fact.action in PLACING)
    return frozenset().union(*placing)


def _onward(found: Sequence[Run], rooms: Phrases) -> dict[str, tuple[str, ...]]:
    """The rooms each run passes: the one it comes from, its own, the one it goes to, and on from there."""
    words = {w for run in found for w in (run.from_, run.to) if w}
    names = {w: hit.key for w in words for hit in rooms.find(w)[:1]}
    starts: dict[tuple[str | None, str], list[Run]] = defaultdict(list)
    for run in found:
        starts[run.room, run.subject].append(run)
    onto = {run.key: _next(run, starts, names) for run in found}
    return {run.key: _chain(run, onto, names) for run in found}


def _next(run: Run, starts: Mapping[tuple[str | None, str], list[Run]], names: Mapping[str, str]) -> Run | None:
    """The one run that this one carries on as, in the room that it goes to."""
    room = names.get(run.to or "")
    if room is None or room == run.room:
        return None
    there = [r for r in starts[room, run.subject] if r.parent is None and "dropped" not in r.state]
    there = [r for r in there if run.size_mm is None or r.size_mm in (None, run.size_mm)]
    return there[0] if len(there) == 1 else None


def _chain(run: Run, onto: Mapping[str, Run | None], names: Mapping[str, str]) -> tuple[str, ...]:
    rooms = [names.get(run.from_ or ""), run.room]
    step: Run | None = run
    while step and len(rooms) < 12:  # a ring of rooms would never end
        rooms.append(names.get(step.to or ""))
        step = onto[step.key]
    return tuple(dict.fromkeys(room for room in rooms if room))
