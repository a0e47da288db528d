"""Which numbers are pipe sizes, and which are counts, depths, distances, pressures or times."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from notes.errors import VoidbookError
from notes.lexicon import data_rows
from notes.reading.mentions import Node
from notes.reading.wordlists import words

DRAINS = frozenset(("waste", "soil", "condensate", "overflow", "discharge", "rainwater"))
PIPE_SIZES = frozenset((6, 8, 10, 12, 14, 15, 16, 18, 20, 21.5, 22, 25, 26, 28, 32, 35, 36, 40, 42, 43, 50, 52, 54, 56,
                        60, 63, 65, 67, 66.7, 75, 76, 76.1, 80, 82, 90, 100, 108, 110, 125, 133, 159, 160))  # fmt: skip
"""Nominal sizes in millimetres that are said bare, without a unit."""
_METAL_DN = frozenset(("steel", "brass", "csst", "cast iron"))
_WASTES = DRAINS - {"discharge"}

_NOT_SIZED, _ROOM_NUMBER = words("after-no-size"), words("before-no-size")
_INCH_GAP, _MM_GAP, _LENGTH_GAP = words("inch-gap"), words("mm-gap"), words("length-gap")
_COUNTED = words("counted")


COPPER = frozenset((15, 22, 28, 35, 42, 54))
"""Sizes that a fitting is called by (EN 1057): 'a twenty-two pump valve' is one."""
_LEAST_SIZE = 15
_SAYS_SIZE = frozenset(("in", "is", "'s", "are"))
"""'the soil's 110 from the pan': a size, no distance."""


@lru_cache(maxsize=1)
def _tables() -> dict[str, dict[float, float]]:
    """Trade names in inches -> nominal mm, by table; from inches.csv, with a source in every row."""
    out: dict[str, dict[float, float]] = {}
    for number, row in enumerate(data_rows("inches.csv"), start=2):
        try:
            out.setdefault(row["table"], {})[float(row["inch"])] = float(row["mm"])
        except (KeyError, TypeError, ValueError) as wrong:
            raise VoidbookError(f"line {number}: wants table, inch and mm", file="inches.csv") from wrong
    return out


def inches(value: float, subject: str, material: str | None) -> float:
    """The nominal size in mm of a size spoken in inches, by what it is said of; 25.4 times where no name fits."""
    if subject == "fitting" and value >= _SOIL_INCHES and material not in _PRESSURE_METAL:
        table = "waste"
    elif (material in _METAL_DN and subject not in DRAINS) or (subject == "gas" and material is None):
        table = "dn"
    elif subject in _WASTES:
        table = "waste"
    elif material == "mdpe" or (subject == "mains" and material is None):
        table = "mdpe"
    else:
        table = "dn" if subject in ("valve", "fitting") else "copper"
    return _tables()[table].get(value, round(value * 25.4))


_SOIL_INCHES = 4
"""A fitting of so many inches, with no metal of pressure pipe said, is for soil pipe or gutters."""
_PRESSURE_METAL = frozenset(("steel", "copper", "brass"))


def unit_value(node: Node) -> tuple[str, float] | None:
    """(field, value in that field's unit) of a quantity that names its unit: bar, minutes, metres."""
    q = node.qty
    if q is None:
        return None
    if q.unit in ("bar", "millibar"):
        return "pressure_bar", q.value if q.unit == "bar" else round(q.value / 1000, 4)
    if q.unit in ("min", "hour"):
        return "duration_min", q.value if q.unit == "min" else q.value * 60
    return ("length_m", q.value) if q.unit == "m" else None


def _around(row: Sequence[Node], i: int) -> tuple[str, str]:
    return row[i - 1].norm if i else "", row[i + 1].norm if i + 1 < len(row) else ""


def is_size(row: Sequence[Node], i: int) -> bool:
    """Whether a quantity is a pipe size: not a count, depth, distance or dimension of timber."""
    q = row[i].qty
    if q is None or q.unit not in (None, "mm", "inch"):
        return False
    before, after = _around(row, i)
    if after in _NOT_SIZED or _to_spare(row, i):
        return False
    if q.unit == "inch":
        # 'lag it, every inch'
        return (after not in _INCH_GAP or (after == "from" and before in _SAYS_SIZE)) and before != "every"
    if q.unit == "mm":
        return after not in _MM_GAP
    if before in _ROOM_NUMBER and not (before == "at" and row[i + 1 : i + 2] and row[i + 1].kind == "material"):
        # but 'comes in at thirty-five copper'
        return False
    if q.value >= _FAR and before not in _SAYS_SIZE and after in (_OFF_IT if q.value in _SOILS else _FAR_OFF):
        return False
    if q.value < _LEAST_SIZE and [n.norm for n in row[max(0, i - 2) : i]] in _THAT_MANY:
        # 'from bay one through to ten', 'so that's the ten'
        return i + 1 < len(row) and row[i + 1].kind == "material"
    known = q.value in PIPE_SIZES or (before == "in" and row[i + 1 : i + 2] and row[i + 1].kind == "material")
    return bool(known) and q.value >= 10 and not _counts(row, i)


_FAR = 100
_SOILS = frozenset((110, 160))
_OFF_IT, _FAR_OFF = words("distance-off"), words("distance-off") | {"up", "above", "off", "below", "down", "high"}
"""'a hundred proud of the stud', 'two hundred up'; but soil pipe goes up: 'hundred and ten up through the roof'."""
_THAT_MANY = (["through", "to"], ["right", "to"], ["up", "to"], ["'s", "the"])


def _to_spare(row: Sequence[Node], i: int) -> bool:
    """'there's only ninety mil to play with': room for a pipe."""
    after = [n.norm for n in row[i + 1 : i + 4]]
    return (after[:1] == ["to"] and after[1:2] != [] and after[1] in ("play", "spare")) or after == ["of", "room"]


def _counts(row: Sequence[Node], i: int) -> bool:
    """Whether a number counts things: 'ten brackets', 'eight of them', 'fifty clips', 'twenty 22 mil elbows'."""
    q, after = row[i].qty, row[i + 1] if i + 1 < len(row) else None
    if q is None or after is None:
        return False
    if q.value >= _LEAST_SIZE:
        return after.tag == "Q-mm" or (after.keys == ("clips",) and q.value not in COPPER)
    return after.tag in ("Q-num", "Q-mm", "Q-inch") or after.kind == "item" or after.norm in _COUNTED


def joist_depth(row: Sequence[Node], i: int) -> float | None:
    """The depth of a joist in mm, where the number at node i says one: 'eight inch', 'seven by two', 'two hundred'."""
    q = row[i].qty
    if q is None or q.unit not in (None, "mm", "inch"):
        return None
    if q.unit == "inch":
        near = " ".join(n.norm for n in row[max(0, i - 2) : i + 3])
        return q.value * 25.4 if re.search(r"joist|\bone\b|timber|deep", near) and q.value >= 3 else None
    after = " ".join(n.norm for n in row[i + 1 : i + 3])
    if re.match(r"by (two|three|2|3)\b", after) and 3 <= q.value <= 12:
        return q.value * 25
    return q.value if 95 <= q.value <= 400 and not re.search(r"from|off|centres", after) else None


def is_gap(row: Sequence[Node], i: int) -> bool:
    """Whether a length is a distance to something, not the length of a run."""
    before, after = _around(row, i)
    return (after in _LENGTH_GAP and before != "about") or before in ("within", "every", "than")
