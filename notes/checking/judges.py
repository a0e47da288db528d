"""Judgements that a check may need before it opens: what was said before in the room, photos, sizes, joists. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from notes import sizes
from notes.checking.conflicts import two_sizes
from notes.checking.due import sentence, tells
from notes.checking.scene import Finding, Judge, Scene
from notes.model import Fact, Photo, Status
from notes.tracing.state import measured, passed

_FOUND = Finding()
_RESETS = frozenset(("leave", "connect", "remove", "join", "run", "tee"))
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
        "two sizes": lambda fact, scene: None if evidence.tells(_CORRECTS, fact) else two_sizes(fact, scene),
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


def _not_temporary(fact: Fact, scene: Scene) -> Finding | None:
    """None for taking out what stands open as temporary already."""
    if fact.action != "remove":
        return _FOUND
    for (check, subject), case in scene.open.items():
        same_memo = any(o.fact.memo == fact.memo for o in case.left)
        if check == "temporary" and (subject == fact.subject or (fact.subject in ("fitting", "valve") and same_memo)):
            return None
    return _FOUND
