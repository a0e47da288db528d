"""Judgements that a check may need before it opens: what was said before in the room, photos, sizes, joists. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from notes import sizes
from notes.checking.due import sentence, tells
from notes.checking.scene import Finding, Judge, Scene
from notes.model import Fact, Photo, Status
from notes.tracing.ends import ends, landmarks, named, telling
from notes.tracing.state import measured, passed
from notes.tracing.strand import PLACING, one_material

_FOUND = Finding()
_RESETS = frozenset(("leave", "connect", "remove", "join", "run", "tee"))
_SIZED = frozenset(("run", "tee", "leave", "cap", "connect", "clip", "cover", "insulate"))
_CORRECTS = re.compile(
    r"\bI (?:said|called|told)\b|\b(?:measured|in fact|in the end|gauge on|rule on|calipers)\b", re.IGNORECASE
)
_BEFORE = timedelta(hours=6)  # a photo from the same morning shows what the memo then tells of
_AFTER = timedelta(hours=1)  # the memo that says it is covered may come a little late or early


@dataclass(frozen=True)
class Evidence:
    """What judgements may look up: the time and text of each memo, and the photos of each room."""

    when: Mapping[str, datetime]
    texts: Mapping[str, str]
    photos: Mapping[str | None, Sequence[Photo]]

    def sentence(self, fact: Fact) -> str:
        """The sentence that `fact` was said in; its quote where the text is not at hand."""
        text = self.texts.get(fact.memo)
        return sentence(text, fact.start, fact.end) if text else fact.quote

    def tells(self, pattern: re.Pattern[str], fact: Fact) -> bool:
        """Whether the sentence of `fact` has what `pattern` looks for; hardly any memo has, and is asked first."""
        return tells(pattern, self.texts.get(fact.memo) or fact.quote) and tells(pattern, self.sentence(fact))


def judges(evidence: Evidence) -> dict[str, Judge]:
    """The judgements by the names that checks.toml calls them."""
    return {
        "newly capped": lambda fact, scene: _newly_capped(fact, scene, evidence),
        "untested": _untested,
        "no photo": lambda fact, scene: _no_photo(fact, scene, evidence),
        "first record": _first_record,
        "odd size": _odd_size,
        "two sizes": lambda fact, scene: None if evidence.tells(_CORRECTS, fact) else _two_sizes(fact, scene),
        "not the temporary one": _not_temporary,
    }


def _newly_capped(fact: Fact, scene: Scene, evidence: Evidence) -> Finding | None:
    """None where an end is only said once more to be capped, or was tested in the same breath."""
    here = evidence.sentence(fact)
    tested = False
    for other in reversed(scene.said(fact.subject)):
        if not scene.alike(other, fact):
            continue
        if passed(other):
            if other.memo == fact.memo and evidence.sentence(other) == here and here != fact.quote:
                return None
            tested = True
        if (other.action in _RESETS and other.status is Status.DONE) or other.temporary:
            return _FOUND
        if other.action == "cap" and other.status is Status.DONE:
            return None if tested else _FOUND
    return _FOUND


def _untested(fact: Fact, scene: Scene) -> Finding | None:
    """None where the last test before it was covered was passed."""
    for other in reversed(scene.said(fact.subject)):
        if other.action == "test" and other.status is Status.DONE and scene.alike(other, fact):
            return _FOUND if other.failed else None
    return _FOUND


def _no_photo(fact: Fact, scene: Scene, evidence: Evidence) -> Finding | None:
    said = [f for f in scene.said(fact.subject) if scene.alike(f, fact)]
    if any(f.action == "photograph" and f.status is Status.DONE for f in said):
        return None
    covered = evidence.when[fact.memo]
    laid = min((evidence.when[f.memo] for f in said), default=covered) - _BEFORE
    shown = (p for p in evidence.photos.get(scene.room, ()) if p.sure and p.sharp)
    return None if any(laid <= p.at <= covered + _AFTER for p in shown) else _FOUND


def _first_record(fact: Fact, scene: Scene) -> Finding | None:
    """None where the whole record of a passed test stands already and this only mentions it."""
    told = (("pressure", measured(fact)), ("time", fact.duration_min is not None))
    missing = [name for name, said in told if not said]
    for other in reversed(scene.said(fact.subject)):
        if other.action == "test" and other.status is Status.DONE and scene.alike(other, fact):
            if other.failed:
                break
            if measured(other) and other.duration_min is not None:
                return None
    return Finding(" and ".join(missing))


def _odd_size(fact: Fact, _scene: Scene) -> Finding | None:
    if fact.to_size_mm is not None or fact.material is None or fact.size_mm is None:
        return None
    if sizes.exists(fact.material, fact.size_mm) is not False:
        return None
    near = " and ".join(f"{size:g}" for size in sizes.nearest(fact.material, fact.size_mm))
    standard, source = sizes.standards(fact.material)
    words = f"{fact.size_mm:g} mm {fact.material} is not a size it is made in"
    return Finding(words, f"nearest sizes of {fact.material}: {near} mm", f"{standard} ({source})")


def _two_sizes(fact: Fact, scene: Scene) -> Finding | None:
    """The last size said of the same place in another memo, where it differs and nothing was reduced or put right."""
    if fact.size_mm is None or fact.correction or fact.to_size_mm is not None:
        return None
    there = [f for f in scene.said(fact.subject) if _is_there(f)]
    said = [f for f in there if f.status is Status.DONE]
    if any(f.to_size_mm is not None for f in said):
        return None
    sized = [
        f for f in there
        if f.size_mm is not None and f.action in _SIZED and f.memo != fact.memo
        and one_material(f.material, fact.material)  # what goes on in another material goes on in its sizes
    ]  # fmt: skip
    last = next((f for f in reversed(sized) if _same_place(f, fact, said) or _same_end(f, fact, scene)), None)
    if last is None or last.size_mm is None or last.size_mm == fact.size_mm:
        return None
    return Finding(f"said to be {last.size_mm:g} mm before ({last.memo}), {fact.size_mm:g} mm now")


def _is_there(fact: Fact) -> bool:
    """'Twenty-two, not connected yet' tells the size of a pipe that is there; 'not run yet' of none."""
    return fact.status is Status.DONE or (fact.status is Status.NOT_DONE and fact.action == "connect")


def _same_place(a: Fact, b: Fact, said: Sequence[Fact]) -> bool:
    """Whether two sizes were said of one place: the same fixture or most words of the place, else the only pipe."""
    if _same_way(a, b):
        return True
    here, there = ends(a), ends(b)
    if (here or there) and b.action in PLACING:
        return bool(here & there) and not _elsewhere(a, b)
    words, others = telling(a.place), telling(b.place)
    if words and others and a.action == b.action:
        return 4 * len(words & others) > len(words) + len(others)
    alone = not any(f.action == "tee" for f in said) and len({f.size_mm for f in said if f.size_mm}) == 1
    return alone and not _elsewhere(a, b)


def _same_way(a: Fact, b: Fact) -> bool:
    """Whether both run from the same to the same."""
    return all(telling(one) and telling(one) == telling(other) for one, other in ((a.from_, b.from_), (a.to, b.to)))


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
    return bool(onward) or _differ(a.from_, b.from_) or _differ(a.to, b.to)


def _differ(a: str | None, b: str | None) -> bool:
    """Whether two ways are told by other words: 'the cafe boiler' and 'the flats' boiler', not 'the boiler'."""
    one, other = telling(a), telling(b)
    if named(a) & named(b):
        return bool(one - other and other - one and one & other)
    return bool(one and other and not one & other)


def _not_temporary(fact: Fact, scene: Scene) -> Finding | None:
    """None for taking out what stands open as temporary already."""
    if fact.action != "remove":
        return _FOUND
    for (check, subject), case in scene.open.items():
        same_memo = any(o.fact.memo == fact.memo for o in case.left)
        if check == "temporary" and (subject == fact.subject or (fact.subject in ("fitting", "valve") and same_memo)):
            return None
    return _FOUND
