"""One pipe while it is being put together: what its facts say when laid on top of each other. Pure."""

from __future__ import annotations

from dataclasses import dataclass, field

from notes.model import Fact, Status
from notes.tracing.ends import DRAINS, ends, named, telling, two_places
from notes.tracing.state import after

PLACING = frozenset(("run", "tee", "leave", "cap", "connect", "clip", "join"))
"""Actions said of one pipe or end; all others are said of whatever pipe they fit."""

STANDS = {"cap": "capped", "leave": "open"}
"""Actions that leave an end standing, and the state that it is then in."""

_ENDS = frozenset((*STANDS, "connect", "join"))
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

    @property
    def left_open(self) -> bool:
        """Whether its end was left for something: a test since, under pressure, shows only that it was stopped."""
        if "open" in self.state:
            return True
        last = next((f for f in reversed(self.facts) if f.action in _ENDS and f.status is Status.DONE), None)
        return last is not None and last.action == "leave" and self.state.isdisjoint(("capped", "connected", "removed"))

    def placed_in(self, memo: str) -> bool:
        """Whether `memo` spoke of its end."""
        return any(f.memo == memo and f.action in PLACING for f in self.facts[-6:])

    def lies_at(self, place: str | None) -> bool:
        """Whether most words of `place` are those of a place already told of it."""
        here = telling(place)
        return any(len(here & p) * 4 > len(here) + len(p) for p in (telling(f.place) for f in self.facts[-6:]) if p)

    def ends_elsewhere(self, fact: Fact) -> bool:
        """Whether `fact` caps or leaves an end in one place while this one's stands in another, in the same way or by
        the same memo."""
        if fact.correction or fact.status is not Status.DONE or fact.action not in STANDS:
            return False
        stood = [f for f in self.facts[-6:] if f.action in STANDS and f.status is Status.DONE and f.place]
        alike = [f for f in stood if f.action == fact.action and STANDS[f.action] in self.state]
        places = [f.place for f in (alike or [f for f in stood if f.memo == fact.memo])]
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
        size, to_size = fact.size_mm, fact.to_size_mm
        if fact.action == "join" and to_size is None and None not in (size, self.size) and size != self.size:
            # 'joined on to his forty': what it goes on in, not what it is
            size, to_size = None, size
        from_, to = fact.from_, fact.to
        if fact.subject in DRAINS and fact.action == "connect" and to and not from_ and named(to) and self.to:
            from_, to = to, None  # a drain comes from what it is connected to
        length = fact.length_m if fact.action == "run" else None  # of tails it is how far they hang out
        for name, value in (
            ("size", size), ("to_size", to_size), ("material", fact.material), ("from_", from_), ("to", to),
            ("length", length),
        ):  # fmt: skip
            if value is not None and (sure or getattr(self, name) is None) and getattr(self, name) != value:
                setattr(self, name, value)
                said.append(f"{name.strip('_').replace('_', ' ')} {value}")
        return said


def one_material(a: str | None, b: str | None) -> bool:
    """Whether two materials may be said of one pipe: 'plastic' is any of the plastics."""
    return None in (a, b) or a == b or ("plastic" in (a, b) and {a, b} <= _PLASTICS)
