"""Sizes, materials, places, ends, lengths, pressures and times of what a clause says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from notes.reading.mentions import Node

TRADE = frozenset((6, 8, 10, 12, 14, 15, 16, 18, 20, 21.5, 22, 25, 26, 28, 32, 35, 36, 40, 42, 43, 50, 52, 54, 56, 60, 63,
                   65, 67, 66.7, 75, 76, 76.1, 80, 82, 90, 100, 108, 110, 125, 133, 159, 160))  # fmt: skip
"""Nominal sizes in millimetres that are said bare, without a unit."""

_INCH = {
    "copper": {0.25: 8, 0.375: 10, 0.5: 15, 0.75: 22, 1: 28, 1.25: 35, 1.5: 42, 2: 54, 2.5: 66.7, 3: 76.1, 4: 108},
    "dn": {0.25: 8, 0.375: 10, 0.5: 15, 0.75: 20, 1: 25, 1.25: 32, 1.5: 40, 2: 50, 2.5: 65, 3: 80, 4: 100},
    "mdpe": {0.5: 20, 0.75: 25, 1: 32, 1.5: 50, 2: 63},
    "waste": {0.75: 21.5, 1.25: 32, 1.5: 40, 2: 50, 3: 82, 4: 110, 6: 160},
}
"""Trade names in inches -> nominal mm; common practice, with the sizes of EN 1057, EN 10255, EN 12201, EN 1329-1."""

DRAINS = frozenset(("waste", "soil", "condensate", "overflow", "discharge", "rainwater"))
_METAL_DN = frozenset(("steel", "brass", "csst", "cast iron"))


def inches(value: float, subject: str, material: str | None) -> float:
    """The nominal size in mm of a size spoken in inches, by what it is said of; 25.4 times where no name fits."""
    if material in _METAL_DN and subject not in DRAINS:
        table = "dn"
    elif subject in ("waste", "soil", "overflow", "condensate", "rainwater"):
        table = "waste"
    elif material == "mdpe" or (subject == "mains" and material is None):
        table = "mdpe"
    elif subject in ("valve", "fitting"):
        table = "dn"
    else:
        table = "copper"
    return _INCH[table].get(value, round(value * 25.4))


def unit_value(node: Node) -> tuple[str, float] | None:
    """(field, value in that field's unit) of a quantity that names its unit: bar, minutes, metres."""
    q = node.qty
    if q is None:
        return None
    if q.unit in ("bar", "millibar"):
        return "pressure_bar", q.value if q.unit == "bar" else round(q.value / 1000, 4)
    if q.unit in ("min", "hour"):
        return "duration_min", q.value if q.unit == "min" else q.value * 60
    if q.unit in ("m",):
        return "length_m", q.value
    return None


_FAR = frozenset("from off up down deep high along apart back away centres wide long above below left right of".split())
_AFTER_NUMBER = frozenset("of off more past to".split())


def is_size(row: Sequence[Node], i: int) -> bool:
    """Whether a quantity is a pipe size: not a count, depth, distance or dimension of timber."""
    q = row[i].qty
    if q is None or q.unit not in (None, "mm", "inch"):
        return False
    after = row[i + 1].norm if i + 1 < len(row) else ""
    before = row[i - 1].norm if i else ""
    if after in ("joist", "joists", "deep", "centres", "high", "long", "minutes", "wall", "gauge"):
        return False
    if after == "from" and q.unit is None and q.value >= 100:
        return False
    if before in ("flat", "flats", "room", "number", "plot", "unit", "bed", "bedroom", "at") and q.unit is None:
        return False
    if q.unit == "inch":
        return after not in ("from", "off", "above", "below", "up", "clear", "apart")
    if q.unit == "mm":
        return after not in ("from", "off", "above", "below", "apart", "up")
    return q.value in TRADE and not (q.value < 15 and _counts(row, i))


def _counts(row: Sequence[Node], i: int) -> bool:
    """Whether a small number counts things: 'ten brackets', 'eight of them', 'six blending valves'."""
    after = row[i + 1] if i + 1 < len(row) else None
    if after is None:
        return False
    if after.tag in ("Q-num", "Q-mm", "Q-inch"):
        return True
    return after.kind == "item" or after.norm in ("of", "more", "bags", "bag", "lengths", "boxes", "new", "equal")


def count_before(row: Sequence[Node], i: int, start: int) -> int | None:
    """The count said of the thing at node i: 'six blending valves', 'ten fifteen equal tees', 'two holes'."""
    for j in range(i - 1, max(start, i - 5) - 1, -1):
        q = row[j].qty
        if q is None:
            if row[j].kind == "mark" or row[j].norm in ("in", "on", "and", "to", "at"):
                return None
            continue
        if q.unit is None and not q.plural and q.value == int(q.value) and 1 <= q.value <= 60:
            if is_size(row, j) and j == i - 1 and q.value >= 15:
                continue
            return int(q.value)
    return None


# -- places -----------------------------------------------------------------------------------------------------

PLACES = frozenset(
    "behind under underneath beneath below above over beside between near next left right along across up down through "
    "in inside on at by against outside opposite round around within beyond out dead".split())  # fmt: skip
TO = frozenset(("to", "into", "onto"))
FROM = frozenset(("from", "off"))
_HEIGHT = frozenset("height high level".split())
_SKIP_AFTER_IN = frozenset("here there it them that now".split())
_CUT = frozenset(
    "i we he she they and but so then because that's is are 's was were has have had not it them which who while till "
    "ready like mind yet already now again please just too as well though still".split())  # fmt: skip


@dataclass(frozen=True, slots=True)
class Bit:
    """Words at nodes `start:end` that say a place, a start or an end: kind is place, from or to."""

    kind: str
    start: int
    end: int


def _bit_end(row: Sequence[Node], i: int, stop: int, busy: frozenset[int]) -> int:
    j = i + 1
    while j < stop:
        node = row[j]
        if j > i + 1 and (node.norm in TO or node.norm in FROM or node.norm == "for"):
            break
        if node.norm in _CUT and not _runs_on(row, i, j):
            break
        if j in busy or node.kind in ("qty", "material", "mark", "service", "pair"):
            if node.kind in ("service", "pair", "half") and j == i + 2 and row[i].norm in (*FROM, *TO, "at", "by"):
                j += 1
                continue
            if node.kind == "qty" and node.qty and node.qty.unit == "other":
                j += 1
                continue
            break
        j += 1
    return j


def _runs_on(row: Sequence[Node], i: int, j: int) -> bool:
    """'where the basin's going', 'where the old copper used to stand' belong to the place."""
    return any(n.norm == "where" for n in row[i:j])


def bits(row: Sequence[Node], start: int, stop: int, busy: frozenset[int]) -> list[Bit]:
    """Places, starts and ends in nodes `start:stop`; `busy` nodes belong to actions."""
    out: list[Bit] = []
    i = start
    while i < stop:
        node, after = row[i], row[i + 1] if i + 1 < stop else None
        kind = "for" if node.norm == "for" else "to" if node.norm in TO else "from" if node.norm in FROM else "place" if node.norm in PLACES else ""
        height = node.norm in ("about", "at") and any(n.norm in _HEIGHT for n in row[i + 1 : i + 4])
        if height:
            kind = "place"
        if not kind or after is None or (i in busy and not _opens_place(row, i, busy)):
            i += 1
            continue
        if node.norm == "in" and (after.kind in ("qty", "material") or after.norm in _SKIP_AFTER_IN):
            i += 1
            continue
        if after.norm in ("it", "them", "that", "me", "here", "there", "his", "test", ",") and node.norm not in ("up",):
            i += 1
            continue
        end = _bit_end(row, i, stop, busy)
        if end > i + 1 and any(n.kind not in ("mark",) and n.norm not in ("the", "a") for n in row[i + 1 : end]):
            _add(out, Bit(kind, i, end), row)
        i = max(end, i + 1)
    return out


def _opens_place(row: Sequence[Node], i: int, busy: frozenset[int]) -> bool:
    """The last word of an action may open a place: 'come up through', 'dropped down in the stud'."""
    return i + 1 not in busy


def _add(out: list[Bit], bit: Bit, row: Sequence[Node]) -> None:
    if out and out[-1].end == bit.start and out[-1].kind == bit.kind == "place":
        out[-1] = Bit("place", out[-1].start, bit.end)
    else:
        out.append(bit)
