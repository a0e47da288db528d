"""Judgements on holes and notches in joists: limits for solid timber by depth, and where none holds. Pure."""

from __future__ import annotations

import re

from notes import limits
from notes.checking.judges import Evidence
from notes.checking.scene import Finding, Judge, Scene, by_limit
from notes.limits import Limit
from notes.model import Fact

_ENGINEERED = re.compile(r"\b(?:i[- ]joists?|metal[- ]webs?|web joists?|engineered joists?)\b", re.IGNORECASE)
_NEAR_END = re.compile(
    r"\b(?:right by|against|at|hard up to|tight to|close to) the (?:wall|end|bearing)\b", re.IGNORECASE
)


def judges(evidence: Evidence) -> dict[str, Judge]:
    """The judgements by the names that checks.toml calls them."""
    told = evidence.sentence
    return {
        "joist limit": _joist_limit,
        "depth unsaid": _depth_unsaid,
        "beyond the rules": lambda f, s: _beyond_rules(f, s, told(f)),
        "engineered joist": lambda f, s: Finding() if _ENGINEERED.search(told(f)) else None,
    }


def _joist_limit(fact: Fact, scene: Scene) -> Finding | None:
    """The size against the limit for the depth said; where none was, for the deepest joist that the limits cover."""
    if fact.size_mm is None:
        return None
    depth = depth_of(fact, scene)
    kind, most, other, row = _limit(fact, depth or limits.one("joist-deep").value)
    if fact.size_mm <= most:
        return None
    where = f" in a joist of {depth:g} mm" if depth else ", whatever the joist"
    return by_limit(f"{fact.size_mm:g} mm {kind}{where} is beyond the usual limit of {most:g} mm", other, row)


def _limit(fact: Fact, depth: float) -> tuple[str, float, str, Limit]:
    """What was cut, the largest it may be, that in words with the other rule set, and the row that says so."""
    if fact.action == "drill":
        row = limits.one("joist-hole")
        return "hole", limits.hole_mm(depth), f"hole at most {row.value:g} of the depth, by both rule sets", row
    row, nhbc = limits.one("joist-notch"), limits.notch_mm(depth, "joist-notch-nhbc")
    words = f"notch at most {row.value:g} of the depth; NHBC's rules: {nhbc:g} mm"
    return "notch", limits.notch_mm(depth), words, row


def depth_of(fact: Fact, scene: Scene) -> float | None:
    """The joist's depth as said with it, in the same memo, or before in the same room."""
    nearby = (*scene.memo, *reversed(scene.said("joist")))
    return fact.depth_mm or next((f.depth_mm for f in nearby if f.subject == "joist" and f.depth_mm), None)


def _depth_unsaid(fact: Fact, scene: Scene) -> Finding | None:
    if depth_of(fact, scene) is not None or fact.size_mm is None:
        return None
    row = limits.one("joist-hole" if fact.action == "drill" else "joist-notch")
    return by_limit(f"{fact.size_mm:g} mm, depth not said", f"at most {row.value:g} of the depth", row)


def _beyond_rules(fact: Fact, scene: Scene, told: str) -> Finding | None:
    """Where no rule of thumb holds: too shallow, too deep, or close to the support."""
    depth = depth_of(fact, scene)
    shallow, deep, zone = (limits.one(id) for id in ("joist-shallow", "joist-deep", "hole-zone-from"))
    if depth is not None and depth <= shallow.value:
        return by_limit(f"cut in a joist of {depth:g} mm", f"no notch, no hole up to {shallow.value:g} mm", shallow)
    if depth is not None and depth > deep.value:
        return by_limit(f"cut in a joist of {depth:g} mm", f"the rules end at {deep.value:g} mm", deep)
    if fact.action == "drill" and _NEAR_END.search(told):
        last = limits.one("hole-zone-to").value
        return by_limit("hole close to the wall", f"{zone.value:g} to {last:g} of the span from each support", zone)
    return None
