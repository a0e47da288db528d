"""Which facts of one service in one room speak of the same pipe.

A strand is one pipe while it is being put together. Facts come in the order they were said. What is said of an end
(run, cap, leave, connect...) goes to the strand that shares the fixture, the words of where it comes from or goes to,
or the place; what is said of all (tests, lagging, boards) goes to every strand that it fits. Where nothing tells
two pipes apart for sure, they stay two.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from notes.model import Fact, Status
from notes.tracing.ends import DRAINS, RADIATORS, apart, ends, landmarks, meet, named, telling
from notes.tracing.strand import PLACING, STANDS, Strand, one_material

_ENDS = frozenset(("cap", "leave", "connect"))
_WHICH = frozenset(("first", "second", "third", "fourth", "last", "left", "right", "middle"))
_STARTS = frozenset(("run", "tee"))
_BESIDE = re.compile(
    r"\b(?:by|beside|near|next to|behind|under|underneath|below|over|above|opposite|against|(?:left|right) of)"
    r"(?: (?:the|a|his|her|that|where))*(?: [\w-]+){1,2}"
)
_PAIR = 2  # facts on at most: hot and cold are told in turn
_NEAR = 40  # strands looked at for one fact, so that a room with thousands of pipes stays linear


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
    if (apart(strand.at, ends(fact)) and not _ends_there(strand, fact)) or strand.ends_elsewhere(fact):
        return False
    return fact.correction or _same_pipe(strand, fact)


def _ends_there(strand: Strand, fact: Fact) -> bool:
    """'Behind the fridge space' names no fridge where the pipe was run there, to the sink, by the same memo."""
    return not fact.to and fact.action in _ENDS and strand.placed_in(fact.memo) and strand.lies_at(fact.place)


def _same_pipe(strand: Strand, fact: Fact) -> bool:
    # A plan to change a pipe names the size that it will have.
    planned = fact.status in (Status.TO_DO, Status.NOT_DONE)
    sized = planned or fact.size_mm is None or strand.size is None or fact.size_mm in (strand.size, strand.to_size)
    return sized and one_material(fact.material, strand.material)


def _all(strands: list[Strand], fact: Fact) -> list[Strand]:
    """What is said of all: every strand that it fits, those dropped or taken out aside."""
    fitting = [s for s in strands if fits(s, fact)] or _at_its_end(strands, fact) or _in_another_size(strands, fact)
    return [s for s in fitting if s.state.isdisjoint(("dropped", "removed"))] or fitting[-1:]


def _in_another_size(strands: list[Strand], fact: Fact) -> list[Strand]:
    """No pipe here has that size: one laid where it says, or the only one, in a size that somebody took for another."""
    if fact.size_mm is None or any(fact.size_mm in (s.size, s.to_size) for s in strands):
        return []
    there = [s for s in strands if s.lies_at(fact.place)]
    return there or (strands if len(strands) == 1 else [])


def _at_its_end(strands: list[Strand], fact: Fact) -> list[Strand]:
    here = ends(fact)
    return [s for s in strands if meet(s.at, here)] if here else []


def _one(strands: list[Strand], fact: Fact) -> list[Strand]:
    """What is said of an end: the strand that shares its fixture, its from or to, its memo or its place."""
    if strands and (_its_end(strands[-1], fact) or _in_its_stead(strands[-1], fact)):
        return strands[-1:]
    by_fixture = [s for s in _at_its_end(strands, fact) if not _of_another(s, fact)]
    if waiting := _only_open(strands, by_fixture, fact):
        return waiting
    if by_fixture:
        return _same_fixture(by_fixture, fact)
    if same := [s for s in strands if (_same_way(s, fact) or _goes_on(s, fact)) and fits(s, fact)]:
        return same[-1:]
    if there := [s for s in strands if _ends_there(s, fact) and fits(s, fact)]:
        return there[-1:]
    if ends(fact):
        return _nameless(strands, fact)
    return _going_on(strands, fact) or _elsewhere(strands, fact)


def _of_another(strand: Strand, fact: Fact) -> bool:
    """Whether the end that stands is one fixture's and `fact` speaks of the other: 'first basin', 'second basin'."""
    which = telling(f"{fact.place} {fact.to}") & _WHICH
    told = frozenset().union(*(telling(f"{f.place} {f.to}") for f in strand.facts[-6:] if f.action in STANDS)) & _WHICH
    return bool(which and told) and not which & told


def _its_end(strand: Strand, fact: Fact) -> bool:
    """Whether `fact` tells how a run ends that was told just before it: what stands at that place is only near by."""
    last = strand.facts[-1]
    if fact.action not in STANDS or fact.status is not Status.DONE or fact.to or fact.from_ or fact.count:
        return False
    just = last.memo == fact.memo and 0 < fact.n - last.n <= _PAIR and last.status is Status.DONE
    unended = last.action in ("run", "clip") and strand.state.isdisjoint(("open", "capped", "connected"))
    other = named(_BESIDE.sub(" ", fact.quote)) - named(fact.place)
    return just and unended and not other and _same_pipe(strand, fact)


def _in_its_stead(strand: Strand, fact: Fact) -> bool:
    """Whether `fact` runs anew, in whatever size or material, the pipe that was taken out just before."""
    last = strand.facts[-1]
    out = last.action == "remove" and last.status is Status.DONE and last.memo == fact.memo
    anew = fact.action == "run" and fact.status is Status.DONE and 0 < fact.n - last.n <= _PAIR
    return out and anew and len(strand.facts) > 1 and not apart(strand.at, ends(fact))


def _only_open(strands: list[Strand], by_fixture: list[Strand], fact: Fact) -> list[Strand]:
    """The one end that stands open and names no fixture, where `fact` caps or connects one that no pipe goes to yet;
    or a radiator, which others of the room may be on already."""
    if fact.action not in ("cap", "connect") or fact.status is not Status.DONE or not ends(fact):
        return []
    if by_fixture and (not ends(fact) <= RADIATORS or any(s.state & {"open", "capped"} for s in by_fixture)):
        return []
    still = [s for s in strands if s.left_open and not s.at and fits(s, fact)]
    return still if len(still) == 1 and len(strands) > 1 else []


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
    # An end that was told by a place of its own need not be this fixture's; but the only heating in a room is its
    # radiator's, and 'where the bucket hangs' is where the bucket is.
    places = frozenset().union(*(landmarks(f.place) for f in strands[0].facts[-6:]))
    stood = any(landmarks(f.place) for f in strands[0].facts[-6:] if f.action in STANDS)
    anywhere = not stood or ends(fact) <= RADIATORS or bool(places & landmarks(fact.to))
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
    fitting = [s for s in here if fits(s, fact) and not _given_up(s, fact)]
    return [] if fresh and not fact.correction else fitting[-many:]


def _given_up(strand: Strand, fact: Fact) -> bool:
    """Whether the strand is a way that was dropped, and `fact` tells of another."""
    return "dropped" in strand.state and fact.action in _STARTS and _other_way(strand.to, fact.to)


def _other_way(a: str | None, b: str | None) -> bool:
    return bool(telling(a) and telling(b) and not telling(a) & telling(b))


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
    still = [s for s in strands if s.left_open]
    return still or [s for s in strands if "capped" in s.state]


def _trunk(strands: list[Strand], fact: Fact) -> Strand | None:
    """What a tee comes off, or what a run carries on from: by the words, else the last pipe that is no branch."""
    if fact.from_ and (met := [s for s in strands if s.to and telling(s.to) == telling(fact.from_)]):
        return met[-1]
    if fact.action != "tee":
        return None
    named_end = [s for s in strands if s.at & named(fact.from_)]
    return next(reversed(named_end or [s for s in strands if s.parent is None]), None)
