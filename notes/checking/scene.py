"""What a judgement may look at: the facts of a room before this one, those of its memo, the runs. And what it finds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from notes.checking.catalogue import Check
from notes.limits import Limit
from notes.model import Fact, Run, Status
from notes.runs import fixtures
from notes.tracing.ends import DRAINS, ends, meet, telling, two_places
from notes.tracing.strand import PLACING, one_material

_ENDS = frozenset(("cap", "leave", "connect"))
_KEPT = 60  # facts looked back on, so that a very long book stays linear


@dataclass(frozen=True, slots=True)
class Finding:
    """What a judgement found: words for the title, the limit, and where it comes from."""

    words: str = ""
    limit: str = ""
    source: str = ""
    weak: bool = False
    """Whether the limit is only remembered: it may remind, not judge."""


def by_limit(words: str, limit: str, row: Limit) -> Finding:
    """What was found, against a row of limits.csv."""
    return Finding(words, limit, row.cited, row.weak)


@dataclass(slots=True)
class Opening:
    """A fact that opened a case, what was found, and how many of the things that it counted were dealt with since, by
    what was done: two that came and were fitted are two."""

    fact: Fact
    finding: Finding
    dealt: dict[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class Case:
    """One follow-up from its first opening on; `left` are the openings not dealt with yet."""

    check: Check
    subject: str
    openings: list[Opening]
    left: list[Opening]
    closed_by: Fact | None = None


@dataclass(slots=True)
class Scene:
    """What a judgement may look at besides the fact: what was said in the room before, and in the same memo."""

    room: str | None
    floor: str = ""
    before: dict[str, list[Fact]] = field(default_factory=lambda: defaultdict(list))
    memo: Sequence[Fact] = ()
    open: dict[tuple[str, str], Case] = field(default_factory=dict)
    runs: Mapping[tuple[str, int], Sequence[Run]] = field(default_factory=dict)
    """The runs of this room that each fact is a step of, by memo and number."""
    _known: dict[str, frozenset[str]] = field(default_factory=dict)
    """The fixtures of each run, by its key: long runs are met by each of their facts."""

    def fixtures(self, fact: Fact) -> frozenset[str]:
        """The fixtures at the end a fact speaks of, as its run knows them: 'capped it' after 'run to the basin'."""
        runs = self._runs(fact)
        for run in runs:
            if run.key not in self._known:
                self._known[run.key] = fixtures(run)
        return frozenset().union(*(self._known[run.key] for run in runs)) or ends(fact)

    def materials(self, fact: Fact) -> frozenset[str]:
        """What the runs that `fact` speaks of are made of."""
        said = (run.material for run in self._runs(fact))
        return frozenset(m for m in (fact.material, *said) if m)

    def size(self, fact: Fact) -> float | None:
        """The size of the runs that `fact` speaks of, where they have but one."""
        found = {run.size_mm for run in self._runs(fact) if run.size_mm}
        return found.pop() if len(found) == 1 else None

    def _runs(self, fact: Fact) -> Sequence[Run]:
        return self.runs.get((fact.memo, fact.n), ())

    def said(self, subject: str) -> list[Fact]:
        """Facts of `subject` in the room before this one, the latest last."""
        return self.before[subject][-_KEPT:]

    def one_run(self, a: Fact, b: Fact) -> bool:
        """Whether two facts are steps of one run."""
        others = self._runs(b)
        return any(run.key == other.key for run in self._runs(a) for other in others)

    def drains_to(self, a: Fact, b: Fact) -> bool:
        """Whether `b` connects a drain to where the one of `a` was run to: 'both are on to the trap'."""
        there = telling(b.to) if b.subject in DRAINS and b.action == "connect" else None
        return bool(there) and any(telling(run.to) == there for run in self._runs(a))

    def alike(self, a: Fact, b: Fact) -> bool:
        """Whether two facts of one subject may speak of one pipe: they are of one run, as people joined them; or of
        one fixture; or neither names another place of an end, another size or material."""
        if self.one_run(a, b) or self.drains_to(a, b):
            return True
        here, there = self.at(a), self.at(b)
        if here and there:
            return meet(here, there)
        if two_ends(a, b):
            return False
        sized = None in (a.size_mm, b.size_mm) or a.size_mm == b.size_mm
        made = one_material(a.material, b.material) or b.action == "join"
        return (sized and made) or b.correction

    def at(self, fact: Fact) -> frozenset[str]:
        return self.fixtures(fact) if fact.action in PLACING else ends(fact)


Judge = Callable[[Fact, Scene], Finding | None]


def two_ends(a: Fact, b: Fact) -> bool:
    """Whether two facts tell of ends in two places: 'capped at the window', 'connected behind the door'."""
    told = all(f.action in _ENDS and f.status is Status.DONE for f in (a, b))
    return told and not b.correction and two_places(a.place, b.place)
