"""The size of drops and branches, which the ends have: 'in twenty-eight along the wall, fifteen drops, all capped'."""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import Status
from notes.reading.disowned import pipe_of, value_of
from notes.reading.event import Event
from notes.reading.nominal import is_size
from notes.reading.said import Said
from notes.reading.sizes_apart import millimetres
from notes.reading.whose import Owner, numbers

_ENDS = frozenset(("cap", "leave", "connect"))
_DROPS = frozenset("drop drops dropped dropping branch branches tail tails leg legs after afterwards onwards".split())
_EACH = frozenset(("each", "every"))
_COMES_DOWN = frozenset(("drops", "dropping", "drop", "dropped"))


def drops(said: Said) -> list[int]:
    """The numbers that are the size of drops from a pipe whose own size was told before."""
    sized = [i for i in numbers(said) if is_size(said.row, i)]
    return [i for n, i in enumerate(sized) if _of_drops(said, i) and any(_other_size(said, i, j) for j in sized[:n])]


def _other_size(said: Said, i: int, j: int) -> bool:
    """Whether the same pipe has another size at node j; not 'hot's fifteen, and the cold drops in twenty-two'."""
    return pipe_of(said, i) == pipe_of(said, j) and value_of(said, i) != value_of(said, j)


def _of_drops(said: Said, i: int) -> bool:
    after = [n.norm for n in said.row[i + 1 : min(i + 4, said.end)] if n.kind != "material"]
    if after[:1] and after[0] in _DROPS:
        return True
    if after[:1] == ["to"] and _EACH & set(after[1:2]):
        return True
    ahead = said.norms(said.clauses[said.clause_of(i)].start, i)
    return ahead[-1:] == ["to"] and bool(_COMES_DOWN & set(ahead[-3:]))


def end_size(said: Said, event: Event, small: Sequence[int]) -> float | None:
    """The size of an end that is told after the drops; not of what is joined to another pipe."""
    before = [i for i in small if i < event.start]
    if event.action not in _ENDS or not event.piped or event.status is Status.NOT_DONE or not before:
        return None
    clause = said.clauses[event.clause]
    sized = [i for i in numbers(said) if before[-1] < i < clause.end and is_size(said.row, i)]
    if sized or any(g.start > before[-1] for g in said.named(clause)) or said.groups_after(event.act.end - 1, clause):
        return None
    return millimetres(said, event.keys[0], before[-1])


def run_sizes(
    said: Said, event: Event, events: Sequence[Event], owners: dict[int, Owner], small: Sequence[int]
) -> list[int]:
    """The numbers that may be the size of the only run told, where drops from it are told too."""
    runs = [e for e in events if e.action == "run" and set(e.keys) & set(event.keys)]
    if event.action != "run" or len(runs) > 1:
        return []
    mine = [i for i, o in owners.items() if o is not None and o[0] == "pipe" and set(o[1]) & set(event.keys)]
    values = {value_of(said, i) for i in small}
    return [i for i in mine if value_of(said, i) not in values] if set(mine) & set(small) else []
