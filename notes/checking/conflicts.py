"""Whether one pipe in one place was given two sizes with no reduction and no correction said. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from notes.checking.scene import Finding, Scene
from notes.model import Fact, Status
from notes.tracing.ends import DRAINS, beside, ends, landmarks, meet, named, telling
from notes.tracing.strand import PLACING, one_material

_OF_WHAT_IS = {Status.NOT_DONE: ("connect", "insulate"), Status.TO_DO: ("insulate",)}
_SIZED = frozenset(("run", "tee", "leave", "cap", "connect", "clip", "cover", "insulate"))
_ALONG = frozenset(("run", "clip", "insulate", "cover"))
"""Said of a stretch of pipe: 'the twenty-eight along the back' is what was run along the back."""


def two_sizes(fact: Fact, scene: Scene) -> Finding | None:
    """The last size said of the same place in another memo, where it differs and nothing was reduced or put right."""
    if fact.size_mm is None or fact.correction or fact.to_size_mm is not None:
        return None
    there = [f for f in _since_taken_out(fact, scene) if _is_there(f)]
    said = [f for f in there if f.status is Status.DONE]
    if any(f.to_size_mm is not None and fact.size_mm in (f.size_mm, f.to_size_mm) for f in said):
        return None
    sized = [
        f for f in there
        if f.size_mm is not None and f.action in _SIZED and f.memo != fact.memo
        and one_material(f.material, fact.material)  # what goes on in another material goes on in its sizes
    ]  # fmt: skip
    last = next((f for f in reversed(sized) if _same_place(f, fact, said, scene) or _same_end(f, fact, scene)), None)
    if last is None or last.size_mm is None or last.size_mm == fact.size_mm:
        return None
    return Finding(f"said to be {last.size_mm:g} mm before ({last.memo}), {fact.size_mm:g} mm now")


def _since_taken_out(fact: Fact, scene: Scene) -> list[Fact]:
    """What was said of the service since the pipe of the fixture that `fact` names was last taken out."""
    said = scene.said(fact.subject)
    gone = [
        n for n, f in enumerate(said)
        if f.action == "remove" and f.status is Status.DONE and meet(ends(f), ends(fact))
    ]  # fmt: skip
    return said[gone[-1] + 1 :] if gone else said


def _is_there(fact: Fact) -> bool:
    """'Twenty-two, not connected yet', 'the twenty-twos want lagging' tell the size of a pipe that is there; 'not run
    yet' of none."""
    return fact.status is Status.DONE or fact.action in _OF_WHAT_IS.get(fact.status, ())


def _same_place(a: Fact, b: Fact, said: Sequence[Fact], scene: Scene) -> bool:
    """Whether two sizes were said of one place: the same fixture or most words of the place, else the only pipe."""
    if _same_way(a, b):
        return True
    here, there = ends(a), ends(b)
    words, others = telling(a.place), telling(b.place)
    if here and there:
        return meet(here, there) and not _elsewhere(a, b)
    if words and words == others and a.action in _ALONG and b.action in _ALONG:
        return not _elsewhere(a, b)
    if (here or there) and b.action in PLACING:
        return False
    if words and others and a.action == b.action:
        return 4 * len(words & others) > len(words) + len(others)
    alone = not any(f.action == "tee" for f in said) and len({f.size_mm for f in said if f.size_mm}) == 1
    return alone and not any(_elsewhere(f, b) for f in said if f is a or scene.one_run(f, a))


def _same_way(a: Fact, b: Fact) -> bool:
    """Whether both run from one place to the same, or to none told; or lie in one place on the way to one end."""
    start, end = ((telling(one), telling(other)) for one, other in ((a.from_, b.from_), (a.to, b.to)))
    if start[0] != start[1] or end[0] != end[1]:
        return False
    if start[0]:
        return bool(end[0]) or (a.action == b.action == "run" and not (a.place or b.place))
    return bool(end[0] and telling(a.place)) and telling(a.place) == telling(b.place)


def _same_end(a: Fact, b: Fact, scene: Scene) -> bool:
    """Whether the end that was left or capped in one size is the one connected in another: in the same place, or to
    the fixture that it waited for."""
    if a.action not in ("leave", "cap") or b.action != "connect" or not scene.one_run(a, b):
        return False
    spot = landmarks(a.place)
    return bool(spot and spot == landmarks(b.place)) or bool(ends(b) and not ends(a))


def _elsewhere(a: Fact, b: Fact) -> bool:
    """Whether one carries on where the other ends, or they come from or go to different places."""
    onward = telling(a.to) & telling(b.from_)
    # 'off the landing to the tap end' and 'to the bath' may well be one way
    may_be_one = a.subject not in DRAINS and bool(named(a.to)) != bool(named(b.to))
    return bool(onward) or _differ(a.from_, b.from_) or (not may_be_one and _differ(a.to, b.to))


def _differ(a: str | None, b: str | None) -> bool:
    """Whether two ways are told by other words: 'the cafe boiler' and 'the flats' boiler', not 'the boiler'."""
    if named(a) & named(b):
        one, other = beside(a), beside(b)
        return bool(one - other and other - one)
    one, other = telling(a), telling(b)
    return bool(one and other and not one & other)
