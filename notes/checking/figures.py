"""Judgements against published figures: tests, clips, falls, lengths, sizes of discharge and condensate. Pure.

Each holds a fact against data/limits.csv where the memo says enough to judge, and finds nothing where it does not.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from notes import limits
from notes.checking.judges import Evidence
from notes.checking.numerals import NUMBER, number
from notes.checking.scene import Finding, Judge, Scene, by_limit
from notes.limits import METAL, PLASTIC
from notes.model import Fact, Status

_COPPER = (15, 22, 28, 35, 42, 54)  # discharge pipes step through these
_UNIT = r"(?: ?(?P<unit>mm|mil\w*|m|met\w+))?"
_CLIPS = re.compile(rf"(?P<count>{NUMBER}) clips? in (?P<run>{NUMBER}){_UNIT}", re.IGNORECASE)
_CENTRES = re.compile(rf"(?:every|at) (?P<run>{NUMBER}){_UNIT}(?: centres| apart)?", re.IGNORECASE)
_ONE_IN = re.compile(rf"(?<!\w)(?:one|1) in (?P<n>{NUMBER})(?!\w)", re.IGNORECASE)
_PER_METRE = re.compile(rf"(?P<n>{NUMBER}) ?(?:mm|mil\w*) (?:a|per|to the) met", re.IGNORECASE)
_ELBOWS = re.compile(rf"(?P<n>{NUMBER}) (?:elbows|bends)", re.IGNORECASE)
_OUTSIDE = re.compile(r"\b(?:outside|external\w*|through the wall|loft|garage|garden)\b", re.IGNORECASE)


def judges(evidence: Evidence, working: Mapping[str, float]) -> dict[str, Judge]:
    """The judgements by the names that checks.toml calls them; `working` gives the highest working pressure in bar."""
    told = evidence.sentence
    return {
        "test pressure": lambda f, s: _test_pressure(f, working),
        "metal test time": lambda f, s: _test_time(f, s, working, METAL, "test-time-metal"),
        "plastic test": lambda f, s: _test_time(f, s, working, PLASTIC, "test-time-plastic-a"),
        "underfloor test": lambda f, s: _underfloor_test(f),
        "clip spacing": lambda f, s: _clip_spacing(f, s, told(f)),
        "fall": lambda f, s: _fall(f, told(f)),
        "branch length": lambda f, s: _longer(f, "branch-length"),
        "dead leg": _dead_leg,
        "discharge size": lambda f, s: _discharge_size(f, s, told(f)),
        "discharge length": lambda f, s: _discharge_length(f, s, told(f)),
        "condensate size": lambda f, s: _condensate_size(f, s, told(f)),
    }


def _test_pressure(fact: Fact, working: Mapping[str, float]) -> Finding | None:
    most = working.get(fact.subject)
    if most is None or fact.pressure_bar is None:
        return None
    row = limits.one("heating-test" if fact.subject.startswith("heating") else "test-pressure")
    needed = row.value * most
    if fact.pressure_bar >= needed:
        return None
    words = f"tested at {fact.pressure_bar:g} bar with {most:g} bar working"
    return by_limit(words, f"at least {needed:g} bar ({row.value:g} x working)", row)


def _test_time(fact: Fact, scene: Scene, working: Mapping[str, float], kind: frozenset[str], id: str) -> Finding | None:
    """Only where all that is known of the pipe is of one kind: a plastic pipe anywhere makes it a plastic test."""
    made = scene.materials(fact)
    of_kind = made & PLASTIC if kind is PLASTIC else made and made <= METAL
    row = limits.one(id)
    if fact.subject not in working or fact.duration_min is None or not of_kind or fact.duration_min >= row.value:
        return None
    words = f"held {fact.duration_min:g} min, pipe is {', '.join(sorted(made))}"
    return by_limit(words, f"{row.value:g} min: {row.note}", row)


def _underfloor_test(fact: Fact) -> Finding | None:
    low, high = limits.one("ufh-test-from"), limits.one("ufh-test-to")
    if fact.pressure_bar is None or low.value <= fact.pressure_bar <= high.value:
        return None
    return by_limit(f"tested at {fact.pressure_bar:g} bar", f"{low.value:g} to {high.value:g} bar, {low.note}", low)


def _clip_spacing(fact: Fact, scene: Scene, told: str) -> Finding | None:
    spacing = _spacing_m(fact, told)
    made, size = scene.materials(fact), fact.size_mm or scene.size(fact)
    if spacing is None or size is None or (len(made) != 1 and fact.subject not in ("waste", "soil")):
        return None
    group = fact.subject if fact.subject in ("gas", "waste", "soil") else "water"
    material = next(iter(made), None) if group in ("gas", "water") else None
    upright = re.search(r"\b(?:up|drop\w*|riser|vertical)\b", told, re.IGNORECASE)
    row = limits.strictest(limits.of("clip-vertical" if upright else "clip-horizontal", group, material, size))
    if row is None or spacing <= row.value:
        return None
    return by_limit(f"clips about {spacing:.2g} m apart", f"at most {row.value:g} m for {size:g} mm", row)


def _spacing_m(fact: Fact, told: str) -> float | None:
    if found := _CLIPS.search(told):
        return _metres(found["run"], found["unit"] or "m") / max(number(found["count"]), 1)
    if found := _CENTRES.search(told):
        return _metres(found["run"], found["unit"])
    if fact.count and fact.length_m:
        return fact.length_m / fact.count
    return None


def _metres(words: str, unit: str | None) -> float:
    value = number(words)
    return value / 1000 if (unit or "").startswith("mi") or unit == "mm" or (unit is None and value > 20) else value


def _fall(fact: Fact, told: str) -> Finding | None:
    fall = _fall_mm(told)
    if fall is None:
        return None
    for row in limits.of("fall", fact.subject, None, fact.size_mm):
        if (fall < row.value) if row.min_or_max == "min" else (fall > row.value):
            return by_limit(f"fall of {fall:.3g} mm a metre", f"{row.min_or_max} {row.value:g} mm a metre", row)
    return None


def _fall_mm(told: str) -> float | None:
    if (found := _ONE_IN.search(told)) and number(found["n"]):
        return 1000 / number(found["n"])
    found = _PER_METRE.search(told)
    return number(found["n"]) if found else None


def _longer(fact: Fact, id: str) -> Finding | None:
    row = next(iter(limits.of(id, fact.subject, None, fact.size_mm)), None)
    if row is None or fact.length_m is None or fact.length_m <= row.value:
        return None
    return by_limit(f"{fact.length_m:g} m of {fact.size_mm:g} mm", f"at most {row.value:g} m ({row.note})", row)


def _dead_leg(fact: Fact, scene: Scene) -> Finding | None:
    lagged = any(o.action == "insulate" and o.status is Status.DONE for o in scene.said(fact.subject))
    return None if lagged else _longer(fact, "dead-leg")


def _below_tundish(told: str) -> bool:
    return bool(re.search(r"\b(?:from|below|after|off) the tundish\b", told, re.IGNORECASE))


def _d1(scene: Scene) -> float | None:
    """The size of the discharge pipe from the valve to the tundish, where said in this room."""
    above = (f for f in scene.said("discharge") if f.size_mm and not _below_tundish(f.quote + f" from {f.from_}"))
    return next((f.size_mm for f in above), None)


def _discharge_size(fact: Fact, scene: Scene, told: str) -> Finding | None:
    d1 = _d1(scene)
    if d1 not in _COPPER or fact.size_mm is None or not _below_tundish(f"{told} from {fact.from_}"):
        return None
    needed = _COPPER[min(_COPPER.index(int(d1)) + 1, len(_COPPER) - 1)]
    row = limits.rows("discharge-length")[0]
    if fact.size_mm >= needed:
        return None
    return by_limit(f"{fact.size_mm:g} mm below the tundish, {d1:g} mm above it", f"at least {needed} mm", row)


def _discharge_length(fact: Fact, scene: Scene, told: str) -> Finding | None:
    d1 = _d1(scene)
    if d1 is None or fact.size_mm is None or fact.length_m is None:
        return None
    elbows = int(number(found["n"])) if (found := _ELBOWS.search(told)) else 0
    most = limits.discharge_length_m(d1, fact.size_mm, elbows)
    if most is None or fact.length_m <= most[0]:
        return None
    words = f"{fact.length_m:g} m of {fact.size_mm:g} mm with {elbows} elbows"
    return by_limit(words, f"at most {most[0]:.3g} m straight with so many elbows", most[1])


def _condensate_size(fact: Fact, scene: Scene, told: str) -> Finding | None:
    row = limits.one("condensate-outside")
    out = _OUTSIDE.search(f"{told} {scene.room} {scene.floor}")
    if fact.size_mm is None or not out or fact.size_mm >= row.value:
        return None
    return by_limit(f"{fact.size_mm:g} mm outside", f"bore at least {row.value:g} mm, {row.note}", row)
