"""Which facts of one service in one room speak of the same pipe.

A strand is one pipe while it is being put together. Facts come in the order they were said. What is said of an end
(run, cap, leave, connect...) goes to the strand that shares the fixture, the words of where it comes from or goes to,
or the place; what is said of all (tests, lagging, boards) goes to every strand that it fits. Where nothing tells
two pipes apart for sure, they stay two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from notes.model import Fact, Status
from notes.tracing.ends import DRAINS, apart, ends, landmarks, named, telling, two_places
from notes.tracing.state import after

PLACING = frozenset(("run", "tee", "leave", "cap", "connect", "clip", "join"))
"""Actions said of one pipe or end; all others are said of whatever pipe they fit."""

_ENDS = frozenset(("cap", "leave", "connect"))
_STANDS = {"cap": "capped", "leave": "open"}
_STARTS = frozenset(("run", "tee"))
_NEAR = 40  # strands looked at for one fact, so that a room with thousands of pipes stays linear
_PLASTICS = frozenset(("plastic", "pex", "polybutylene", "multilayer"))


@dataclass(slots=True, eq=False)
class Strand:
    """One pipe of `subject` in `room`: its facts so far, and what they say when laid on top of each other."""

    room: str | None
    subject: str
    facts: list[Fact] = field(default_factory=list)
    sets: list[tuple[str, ...]] = field(default_factory=list)
    state: frozenset[str] = frozenset()
    at: frozenset[str] = frozenset()
    """Fixtures at its end."""
    size: float | None = None
    to_size: float | None = None
    material: str | None = None
    from_: str | None = None
    to: str | None = None
    length: float | None = None
    parent: Strand | None = None

    @property
    def key(self) -> str:
        first = self.facts[0]
        # What was said of a whole floor may begin a pipe in each of its rooms.
        return f"{first.memo}:{first.n}" + (f":{self.room}" if self.room != first.room else "")

    def placed_in(self, memo: str) -> bool:
        """Whether `memo` spoke of its end."""
        return any(f.memo == memo and f.action in PLACING for f in self.facts[-6:])

    def lies_at(self, place: str | None) -> bool:
        """Whether most words of `place` are those of a place already told of it."""
        here = telling(place)
        return any(len(here & p) * 4 > len(here) + len(p) for p in (telling(f.place) for f in self.facts[-6:]) if p)

    def ends_elsewhere(self, fact: Fact) -> bool:
        """Whether `fact` caps or leaves an end in one place while this one's stands capped or left in another."""
        if fact.correction or fact.status is not Status.DONE or _STANDS.get(fact.action) not in self.state:
            return False
        places = [f.place for f in self.facts[-6:] if (f.action, f.status) == (fact.action, fact.status) and f.place]
        return bool(places) and all(two_places(place, fact.place) for place in places)

    def add(self, fact: Fact) -> None:
        """Lay `fact` on top; sizes, ends and materials only from what is known to be there."""
        was = self.state
        self.state = after(was, fact)
        changed = sorted(self.state - was) + [f"no longer {word}" for word in sorted(was - self.state)]
        self.facts.append(fact)
        if fact.action in PLACING:
            self.at |= ends(fact)
            changed += self._details(fact)
        self.sets.append(tuple(changed))

    def _details(self, fact: Fact) -> list[str]:
        # What is only planned or doubted names a pipe that is not there yet; it never overwrites what is.
        sure = fact.status is Status.DONE
        said = []
        for name, value in (
            ("size", fact.size_mm), ("to_size", fact.to_size_mm), ("material", fact.material),
            ("from_", fact.from_), ("to", fact.to), ("length", fact.length_m),
        ):  # fmt: skip
            if value is not None and (sure or getattr(self, name) is None) and getattr(self, name) != value:
                setattr(self, name, value)
                said.append(f"{name.strip('_').replace('_', ' ')} {value}")
        return said


def weave(facts: Sequence[Fact], room: str | None) -> list[Strand]:
    """Strands of one service in `room`, from its facts in the order they were said."""
    strands: list[Strand] = []
    for fact in facts:
        near = strands[-_NEAR:]
        chosen = _one(near, fact) if fact.action in PLACING else _all(near, fact)
        if not chosen:
            chosen = [Strand(room, fact.subject, parent=_trunk(near, fact))]
            strands += chosen
        for strand in chosen:
            strand.add(fact)
    return strands


def fits(strand: Strand, fact: Fact) -> bool:
    """Whether nothing that `fact` says contradicts the strand: fixture, the place of its end, size, material."""
    if apart(strand.at, ends(fact)) or strand.ends_elsewhere(fact):
        return False
    return fact.correction or _same_pipe(strand, fact)


def _same_pipe(strand: Strand, fact: Fact) -> bool:
    # A plan to change a pipe names the size that it will have.
    planned = fact.status in (Status.TO_DO, Status.NOT_DONE)
    sized = planned or fact.size_mm is None or strand.size is None or fact.size_mm in (strand.size, strand.to_size)
    return sized and one_material(fact.material, strand.material)


def one_material(a: str | None, b: str | None) -> bool:
    """Whether two materials may be said of one pipe: 'plastic' is any of the plastics."""
    return None in (a, b) or a == b or ("plastic" in (a, b) and {a, b} <= _PLASTICS)


def _all(strands: list[Strand], fact: Fact) -> list[Strand]:
    """What is said of all: every strand that it fits, those dropped or taken out aside."""
    fitting = [s for s in strands if fits(s, fact)]
    return [s for s in fitting if s.state.isdisjoint(("dropped", "removed"))] or fitting[-1:]


def _one(strands: list[Strand], fact: Fact) -> list[Strand]:
    """What is said of an end: the strand that shares its fixture, its from or to, its memo or its place."""
    by_fixture = [s for s in strands if s.at & ends(fact)]
    if by_fixture:
        return _same_fixture(by_fixture, fact)
    if same := [s for s in strands if (_same_way(s, fact) or _goes_on(s, fact)) and fits(s, fact)]:
        return same[-1:]
    if ends(fact):
        return _nameless(strands, fact)
    return _going_on(strands, fact) or _elsewhere(strands, fact)


def _same_fixture(strands: list[Strand], fact: Fact) -> list[Strand]:
    best = [s for s in strands if fits(s, fact)][-1:] or strands[-1:]
    fresh = fact.action in _STARTS and fact.status is Status.DONE and not fact.correction
    another = fresh and best[0].placed_in(fact.memo) and not _same_pipe(best[0], fact)
    return [] if another else best


def _same_way(strand: Strand, fact: Fact) -> bool:
    comes = fact.action != "tee" and telling(fact.from_) and telling(fact.from_) == telling(strand.from_)
    goes = telling(fact.to) and telling(fact.to) == telling(strand.to)
    return bool((comes and (not fact.to or not strand.to or goes)) or (goes and None in (fact.from_, strand.from_)))


def _goes_on(strand: Strand, fact: Fact) -> bool:
    """Whether `fact` runs the pipe on from the place where its end was left, capped or connected."""
    begins = landmarks(fact.from_) if fact.action == "run" and not strand.to else frozenset()
    return bool(begins) and any(landmarks(f.place) == begins for f in strand.facts[-6:] if f.action in _ENDS)


def _nameless(strands: list[Strand], fact: Fact) -> list[Strand]:
    """A fixture is named that no strand has: the only strand, if it has none; a cold alone may be a toilet's."""
    toilet = ends(fact) == {"toilet"} and fact.subject not in DRAINS
    if len(strands) != 1 or strands[0].at or fact.action == "tee" or toilet:
        return []
    fresh = fact.action == "run" and strands[0].state - {"dropped"}
    # An end that was told by a place of its own need not be this fixture's.
    anywhere = not any(landmarks(f.place) for f in strands[0].facts[-6:] if f.action in _STANDS)
    same = fits(strands[0], fact) or (anywhere and _one_end(strands[0], fact))
    return strands if same and not fresh else []


def _going_on(strands: list[Strand], fact: Fact) -> list[Strand]:
    """No fixture is named: the strand last spoken of in the same memo, or as many as are counted ('both capped')."""
    here = [s for s in strands if s.placed_in(fact.memo)]
    if not here or fact.action == "tee":
        return []
    if len(strands) == 1 and _one_end(strands[0], fact):
        return strands
    many = int(fact.count or 1) if fact.action in ("cap", "leave", "connect") else 1
    fresh = fact.action == "run" and fact.status is Status.DONE and (fact.from_ or fact.to)
    fitting = [s for s in here if fits(s, fact)]
    return [] if fresh and not fact.correction else fitting[-many:]


def _one_end(strand: Strand, fact: Fact) -> bool:
    """Whether the end of the only pipe there is is spoken of again, if in another size: that is for a check to ask."""
    told = strand.state & {"open", "capped", "connected"}
    if not told or strand.ends_elsewhere(fact):
        return False
    # A joint may go on in another size and material.
    return fact.action == "join" or (fact.action in ("cap", "connect") and one_material(fact.material, strand.material))


def _elsewhere(strands: list[Strand], fact: Fact) -> list[Strand]:
    """An earlier memo's strand: by the words of its place, else the only one, else those that wait for this."""
    fitting = [s for s in strands if fits(s, fact) and not s.placed_in(fact.memo)]
    if not fitting and len(strands) == 1 and _one_end(strands[0], fact):
        return strands
    if fact.action == "tee":
        return [s for s in fitting if len(strands) == 1 and not s.state]
    onward = fact.action == "run" and fact.to and not fact.correction
    if shared := [s for s in fitting if s.lies_at(fact.place) and not (onward and s.to)]:
        return shared[-1:]
    if len(fitting) == 1 and not (onward and fitting[0].to):
        return fitting
    if fact.correction:
        return fitting[-1:]
    return _waiting(fitting, fact)


def _waiting(strands: list[Strand], fact: Fact) -> list[Strand]:
    if fact.action not in ("cap", "connect", "join"):
        return []
    still = [s for s in strands if "open" in s.state]
    return still or [s for s in strands if "capped" in s.state]


def _trunk(strands: list[Strand], fact: Fact) -> Strand | None:
    """What a tee comes off, or what a run carries on from: by the words, else the last pipe that is no branch."""
    if fact.from_ and (met := [s for s in strands if s.to and telling(s.to) == telling(fact.from_)]):
        return met[-1]
    if fact.action != "tee":
        return None
    named_end = [s for s in strands if s.at & named(fact.from_)]
    return next(reversed(named_end or [s for s in strands if s.parent is None]), None)
