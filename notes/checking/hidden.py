"""Judgements on what is out of sight: joints under boards, pipes through walls, water left in capped ends. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from notes.checking.judges import Evidence
from notes.checking.scene import Finding, Judge, Scene
from notes.model import Fact, Status
from notes.tracing.state import passed

_THROUGH = re.compile(r"\bthrough (?:the |that |this |a )?(?:\w+ )?(?:wall|floor|slab|ceiling)s?\b", re.IGNORECASE)
_FIRE = re.compile(
    r"\b(?:fire|party|compartment) ?(?:wall|floor|door|stopp)\w*"
    r"|\b(?:through (?:the )?floors|between (?:the )?flats)\b",
    re.IGNORECASE,
)
_COMPRESSION = re.compile(r"\b(?:compression|olives?)\b", re.IGNORECASE)


def judges(evidence: Evidence) -> dict[str, Judge]:
    """The judgements by the names that checks.toml calls them."""
    return {
        "joint not tested": lambda f, s: _hidden_joint(f, s, passed),
        "joint not seen": lambda f, s: _hidden_joint(f, s, lambda o: o.action == "photograph"),
        "compression joint": lambda f, s: _compression(f, s, evidence.sentence),
        "through a wall": lambda f, s: _through(f, s, _THROUGH),
        "through fire wall": lambda f, s: _through(f, s, _FIRE),
        "charged tails": _charged_tails,
    }


def _joints(fact: Fact, scene: Scene) -> Iterable[tuple[int, Fact]]:
    for spot, other in enumerate(scene.said(fact.subject)):
        if other.action == "join" and other.status is Status.DONE and scene.alike(other, fact):
            yield spot, other


def _hidden_joint(fact: Fact, scene: Scene, shows: Callable[[Fact], bool]) -> Finding | None:
    """The last joint before the pipe was covered, where nothing since shows it (`shows` tells what does)."""
    said = scene.said(fact.subject)
    for spot, joint in reversed(list(_joints(fact, scene))):
        if not any(o.status is Status.DONE and shows(o) for o in said[spot + 1 :]):
            return Finding(f"joint {joint.place or ''}".strip())
        return None
    return None


def _compression(fact: Fact, scene: Scene, told: Callable[[Fact], str]) -> Finding | None:
    joints = (o for _, o in _joints(fact, scene) if _COMPRESSION.search(told(o)))
    return Finding() if any(True for _ in joints) else None


def _through(fact: Fact, scene: Scene, words: re.Pattern[str]) -> Finding | None:
    said = f"{fact.place or ''} | {fact.quote}"
    found = None if words is _THROUGH and _FIRE.search(said) else words.search(said)
    sealed = any(o.action == "seal" and o.status is Status.DONE for o in scene.said(fact.subject))
    return Finding(found.group().lower()) if found and not sealed else None


def _charged_tails(fact: Fact, scene: Scene) -> Finding | None:
    """A capped end of a water pipe that was filled or tested: what stands in it goes stale."""
    said = [*(o for o in scene.said(fact.subject) if scene.alike(o, fact)), fact]
    capped = [o for o in said if o.status is Status.DONE and o.action in ("cap", "connect", "flush", "drain")]
    wet = any(passed(o) or (o.action == "fill" and o.status is Status.DONE) for o in said)
    return Finding() if wet and capped and capped[-1].action == "cap" else None
