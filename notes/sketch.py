"""The schematic of the pipe runs: floors as bands, rooms as boxes, a row for each run, lines where a pipe goes on into
another room. Pure, but for the layout that Graphviz works out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from notes import wording
from notes.model import Job, Room, Run
from notes.sketching import dress
from notes.sketching.drawing import Drawing
from notes.sketching.layout import End, Laid, lay

ACROSS = 3
"""Rooms beside each other: with more, the writing gets too small on a sheet of A4."""
WIDEST = 1600.0
"""Points; on a sheet of A4 the writing of a wider drawing can't be read."""
NOWHERE = "Floor not said"
_FROM_TOP = ("roof", "loft", "attic", "third", "second", "first", "upper", "ground", "lower", "basement", "cellar")


@dataclass(frozen=True, slots=True)
class Plot:
    """A room on the schematic, and its runs from the top."""

    room: Room
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Link:
    """Where a run goes on into another room."""

    run: Run
    ends: tuple[End, End]


def draw(runs: Sequence[Run], job: Job, title: str) -> Drawing:
    """The schematic of `runs`, those no longer wanted or taken out left away."""
    wanted = [run for run in runs if not {"dropped", "removed"} & set(run.state)]
    floors = plots(wanted, job)
    ranks = [rank for _, ranks in floors for rank in ranks]
    ordered = [plot for rank in ranks for plot in rank]
    links = _links(ordered)
    laid = _laid(ranks, links)
    names = [floor for floor, ranks in floors for rank in ranks for _ in rank]
    rooms = [(plot.room.name, [_row(run, plot.runs) for run in plot.runs]) for plot in ordered]
    return dress.dressed(laid, rooms, names, [(k.run.subject, wording.pipe(k.run)) for k in links], title)


def _laid(ranks: Sequence[Sequence[Plot]], links: Sequence[Link]) -> Laid:
    """All lines; where they need more room than a sheet has, only those that reach no further than the next rank."""
    sizes = [[len(plot.runs) + 1 for plot in rank] for rank in ranks]
    laid = lay(sizes, [link.ends for link in links], dress.ROOM, dress.ROW)
    if laid.width <= WIDEST:
        return laid
    rank_of = [n for n, rank in enumerate(ranks) for _ in rank]
    near = [n for n, k in enumerate(links) if abs(rank_of[k.ends[0][0]] - rank_of[k.ends[1][0]]) <= 1]
    tight = lay(sizes, [links[n].ends for n in near], dress.ROOM, dress.ROW)
    paths = dict(zip(near, tight.paths, strict=True))
    return replace(tight, paths=tuple(paths.get(n, ()) for n in range(len(links))))


def plots(runs: Iterable[Run], job: Job) -> list[tuple[str, list[list[Plot]]]]:
    """The rooms that pipes are in or pass, by floor from the top, at most `ACROSS` beside each other."""
    by_room: dict[str, list[Run]] = {}
    for run in runs:
        by_room.setdefault(run.room or "", []).append(run)
        for passed in run.rooms:
            by_room.setdefault(passed, [])
    known = {room.name: room for room in job.rooms}
    names = [name for name in known if name in by_room] + sorted(set(by_room) - set(known))
    floors: dict[str, list[Plot]] = {}
    for name in names:
        room = known.get(name, Room(name or "No room named"))
        floors.setdefault(room.floor or NOWHERE, []).append(Plot(room, tuple(_families(by_room[name]))))
    ordered = sorted(floors, key=_height)
    return [(floor, [list(rank) for rank in _in_ranks(floors[floor])]) for floor in ordered]


def _in_ranks(plots: Sequence[Plot]) -> Iterable[Sequence[Plot]]:
    return (plots[n : n + ACROSS] for n in range(0, len(plots), ACROSS))


def _height(floor: str) -> int:
    """Where a floor comes from the top; what names none comes last, as 'Outside' does."""
    words = floor.lower().split()
    return next((n for n, name in enumerate(_FROM_TOP) if name in words), len(_FROM_TOP) + (floor == NOWHERE))


def _families(runs: Sequence[Run]) -> Iterable[Run]:
    """Each trunk with its branches right under it."""
    keys = {run.key for run in runs}
    waiting = [run for run in reversed(runs) if run.parent not in keys]
    while waiting:
        trunk = waiting.pop()
        yield trunk
        waiting += [run for run in reversed(runs) if run.parent == trunk.key]


def _row(run: Run, beside: Sequence[Run]) -> dress.Row:
    trunk = next((n for n, other in enumerate(beside) if other.key == run.parent), None)
    what = f"{wording.service(run.subject)} · {wording.pipe(run) or 'size not said'}"
    where = " · ".join(w for w in (wording.state(run), wording.way(run.from_, run.to)) if w)
    return dress.Row(run.subject, what, where, frozenset(run.state), trunk)


def _links(plots: Sequence[Plot]) -> list[Link]:
    """Each run to its next rooms: to the row of the same service there, else to the room itself."""
    spot = {plot.room.name: n for n, plot in enumerate(plots)}
    found: dict[frozenset[End], Link] = {}
    for here, plot in enumerate(plots):
        for row, run in enumerate(plot.runs, start=1):
            for name in _beside(run):
                there = spot[name]
                ends = (here, row), (there, _met(run, plots[there].runs))
                found.setdefault(frozenset(ends), Link(run, ends))
    return list(found.values())


def _beside(run: Run) -> list[str]:
    """The rooms that stand next to its own on its way."""
    if run.room not in run.rooms:
        return []
    at = run.rooms.index(run.room)
    return [*run.rooms[max(0, at - 1) : at], *run.rooms[at + 1 : at + 2]]


def _met(run: Run, runs: Sequence[Run]) -> int:
    """The row that `run` carries on as: the one trunk of its service, or one of its size; 0 where none is sure."""
    same = [(n, other) for n, other in enumerate(runs, start=1) if other.subject == run.subject and not other.parent]
    sized = [(n, other) for n, other in same if run.size_mm is not None and other.size_mm == run.size_mm]
    best = sized if len(sized) == 1 else same
    return best[0][0] if len(best) == 1 else 0
