"""Runs as they stand: joined from facts, then as people said which are one pipe and which are not. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from notes.decisions import ON_RUNS, Decision, Kind, standing
from notes.model import Fact, Room, Run
from notes.runs import join
from notes.tracing.state import told
from notes.tracing.strand import Strand

Pair = frozenset[str]


def standing_runs(
    facts: Sequence[Fact], when: Mapping[str, datetime], rooms: Sequence[Room], decisions: Iterable[Decision]
) -> tuple[Run, ...]:
    """The runs that `facts` tell of, as people joined and parted them: what listings, the record and checks all see."""
    return ruled(join(facts, when, rooms), decisions)


def ruled(runs: Sequence[Run], decisions: Iterable[Decision]) -> tuple[Run, ...]:
    """`runs` with those merged that were said to be one pipe, and no look-alikes that were said to be two."""
    one, two = _said(decisions)
    if not one and not two:
        return tuple(runs)
    by_key = {run.key: run for run in runs}
    groups = _groups(list(by_key), {pair for pair in one if may_be_one(*(by_key.get(key) for key in pair))})
    merged = [_merged([by_key[key] for key in keys]) for keys in groups]
    now = {key: keys[0] for keys in groups for key in keys}
    return tuple(_renamed(run, now, two) for run in merged)


def may_be_one(a: Run | None, b: Run | None) -> bool:
    """Whether two runs can be one pipe: runs and what is open are kept by service and room."""
    return a is not None and b is not None and (a.room, a.subject) == (b.room, b.subject)


def merged_into(key: str, decisions: Iterable[Decision]) -> tuple[str, ...]:
    """The runs that were said to be one pipe with the run of this key."""
    one, _ = _said(decisions)
    everyone = sorted({k for pair in one for k in pair} | {key})
    return tuple(k for group in _groups(everyone, one) if key in group for k in group if k != key)


def _said(decisions: Iterable[Decision]) -> tuple[set[Pair], set[Pair]]:
    """Pairs said to be one pipe, pairs said to be two; the last word on a pair holds."""
    last: dict[Pair, Kind] = {}
    for decision in standing(decisions):
        if decision.kind in ON_RUNS:
            last[frozenset((decision.about["key"], decision.about["other"]))] = decision.kind
    one = {pair for pair, kind in last.items() if kind is Kind.MERGE and len(pair) == 2}
    return one, set(last) - one


def _groups(keys: Sequence[str], one: set[Pair]) -> list[list[str]]:
    """`keys` in their order, each with those it is one with; a group stands where its first key stood."""
    home = {key: key for key in keys}
    for pair in sorted(one, key=sorted):
        known = [key for key in keys if key in pair]
        if len(known) == 2:
            old, new = home[known[1]], home[known[0]]
            home = {key: new if at == old else at for key, at in home.items()}
    groups: dict[str, list[str]] = {}
    for key in keys:
        groups.setdefault(home[key], []).append(key)
    return list(groups.values())


def _merged(runs: Sequence[Run]) -> Run:
    """One run of all their facts, laid on top of each other in the order they were said."""
    if len(runs) == 1:
        return runs[0]
    first = runs[0]
    steps = {(s.fact.memo, s.fact.n): s for run in runs for s in run.steps}
    in_time = sorted(steps.values(), key=lambda s: (s.memo_at, s.fact.memo, s.fact.n))
    strand = Strand(first.room, first.subject)
    for step in in_time:
        strand.add(step.fact)
    places = dict.fromkeys(run.place for run in runs if run.place)
    last = in_time[-1].fact
    return replace(
        first, rooms=tuple(dict.fromkeys(room for run in runs for room in run.rooms)), place="; ".join(places) or None,
        from_=strand.from_, to=strand.to, size_mm=strand.size, to_size_mm=strand.to_size, material=strand.material,
        length_m=strand.length, state=told(strand.state),
        steps=tuple(step._replace(sets=sets) for step, sets in zip(in_time, strand.sets, strict=True)),
        parent=next((run.parent for run in runs if run.parent), None),
        branches=tuple(key for run in runs for key in run.branches),
        maybe_same=tuple(key for run in runs for key in run.maybe_same), memo=last.memo, second=last.second,
    )  # fmt: skip


def _renamed(run: Run, now: dict[str, str], two: set[Pair]) -> Run:
    """`run` naming others by the keys that they have now, never itself."""

    def others(keys: Iterable[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(now.get(key, key) for key in keys if now.get(key, key) != run.key))

    alike = tuple(key for key in others(run.maybe_same) if frozenset((run.key, key)) not in two)
    parent = next(iter(others([run.parent])), None) if run.parent else None
    return replace(run, parent=parent, branches=others(run.branches), maybe_same=alike)
