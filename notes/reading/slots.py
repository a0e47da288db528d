"""Sizes, materials, places, ends, lengths, pressures and times of what a clause says."""

from __future__ import annotations

import re
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
    if (material in _METAL_DN and subject not in DRAINS) or (subject == "gas" and material is None):
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
    return q.value in TRADE and q.value >= 10 and not (q.value < 15 and _counts(row, i))


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
    "in inside on at by against outside opposite round around within beyond out dead mid where".split())  # fmt: skip
TO = frozenset(("to", "into", "onto"))
FROM = frozenset(("from", "off"))
_WAY = frozenset("up down along across over out through back on".split())
_HEIGHT = frozenset("height high level".split())
_NO_PLACE = frozenset(
    "here there that me his test way end trouble hand position case time fact charge use stock bits doubt order all least "
    "last first once course now the_way with for and but so too as".split())  # fmt: skip
_CUT = frozenset(
    "i we he she they and but so then because is are was were has have had not it them which who while till "
    "ready like mind yet already now again please just too as well though still done will would if when an' tomorrow".split())  # fmt: skip


@dataclass(frozen=True, slots=True)
class Bit:
    """Words at nodes `start:end` that say a place, a start, an end or what is served: place, from, to or for."""

    kind: str
    start: int
    end: int


def _kind(row: Sequence[Node], i: int, stop: int) -> str:
    """What a word opens, '' for nothing: 'down to' opens an end, 'capped off behind' a place at 'behind'."""
    word, after = row[i].norm, row[i + 1].norm if i + 1 < stop else ""
    if row[i].kind not in ("word", "qty"):
        return ""
    if word == "for":
        return "for"
    if word in TO:
        return "to"
    if word in FROM:
        return "" if after in PLACES or after in ("and", "so") else "from"
    if word in _WAY and (after in TO or after in FROM):
        return ""
    if word in ("left", "right") and after not in ("of", "by", "at", "in"):
        return ""
    if word in ("dead", "mid"):
        return "place" if after in ("centre", "center", "depth", "height", "way", "span", "middle") else ""
    if word == "about":
        return "place" if any(n.norm in _HEIGHT for n in row[i + 1 : i + 4]) else ""
    if row[i].qty is not None:
        return "place" if _is_distance(row, i) else ""
    return "place" if word in PLACES else ""


def _is_distance(row: Sequence[Node], i: int) -> bool:
    q, after = row[i].qty, row[i + 1].norm if i + 1 < len(row) else ""
    if q is None or after not in ("from", "off", "above", "below", "up"):
        return False
    return q.unit in ("mm", "m", "foot", "inch") or (q.unit is None and q.value >= 100)


def bits(row: Sequence[Node], start: int, stop: int, busy: frozenset[int] = frozenset()) -> list[Bit]:
    """Places, starts and ends in nodes `start:stop`; `busy` nodes belong to actions and open nothing."""
    out: list[Bit] = []
    i = start
    while i < stop:
        kind = _kind(row, i, stop) if i not in busy else ""
        end = _bit_end(row, i, stop, busy) if kind else i
        if kind and _tells(row, i, end):
            _add(out, Bit(kind, i, end))
            i = end
        else:
            i += 1
    return out


def _tells(row: Sequence[Node], i: int, end: int) -> bool:
    """Whether words after the preposition name something: not 'in here', 'on the way', 'in fifteen copper'."""
    rest = [n for n in row[i + 1 : end] if n.norm not in ("the", "a", "an", "my", "our", "his", "her", "their", "its", "this")]
    if row[i].norm in ("dead", "mid") or row[i].qty is not None:
        return end > i + 1
    if not rest or rest[0].norm in _NO_PLACE:
        return False
    if rest[0].norm in ("it", "them"):
        return row[i].norm in ("behind", "under", "above", "below", "beside", "underneath")
    if all(n.kind in ("room", "head") for n in rest) and row[i].norm in ("in", "at", "inside", "on"):
        return False
    if row[i].kind == "word" and all(n.kind in ("service", "pair", "half") or n.norm == "and" for n in rest):
        return False
    return not (row[i].norm in ("in", "on", "at") and rest[0].kind in ("qty", "material"))


def _bit_end(row: Sequence[Node], i: int, stop: int, busy: frozenset[int]) -> int:
    """Where the phrase that opens at i ends."""
    if row[i].norm in ("dead", "mid"):
        return min(i + 2, stop)
    j = i + 1
    where = row[i].norm == "where"
    while j < stop:
        node = row[j]
        where = where or node.norm == "where"
        if node.kind == "mark":
            break
        if j > i + 1 and not where and (node.norm in TO or (node.norm in FROM and row[i].qty is None) or node.norm == "for"):
            break
        if node.norm == "'s" and not where and not _possessive(row, j):
            break
        if node.norm in _CUT and not where:
            break
        if j in busy and not where:
            break
        if node.kind in ("qty", "material") and not (where or _named_pipe(row, i, j)):
            break
        if node.kind in ("service", "pair", "half") and not (where or j <= i + 3):
            break
        j += 1
    return j


def _possessive(row: Sequence[Node], j: int) -> bool:
    after = row[j + 1] if j + 1 < len(row) else None
    return after is not None and (after.kind in ("item", "qty", "service") or after.norm in ("end", "ends", "own", "side", "place"))


def _named_pipe(row: Sequence[Node], i: int, j: int) -> bool:
    """'into the hundred and ten', 'on to the old copper': a size or material as the name of a pipe."""
    return (row[i].norm in TO or row[i].norm in FROM) and row[j - 1].norm in ("the", "that", "old", "'s", "his", "their")


def _add(out: list[Bit], bit: Bit) -> None:
    if out and out[-1].end == bit.start and out[-1].kind == bit.kind == "place":
        out[-1] = Bit("place", out[-1].start, bit.end)
    else:
        out.append(bit)


def joist_depth(row: Sequence[Node], i: int) -> float | None:
    """The depth of a joist in mm, where the number at node i says one: 'eight inch', 'seven by two', 'two hundred'."""
    q = row[i].qty
    if q is None or q.unit not in (None, "mm", "inch"):
        return None
    near = " ".join(n.norm for n in row[max(0, i - 2) : i + 3])
    after = " ".join(n.norm for n in row[i + 1 : i + 3])
    if q.unit == "inch":
        return q.value * 25.4 if re.search(r"joist|\bone\b|timber|deep", near) and q.value >= 3 else None
    if re.match(r"by (two|three|2|3)\b", after) and 3 <= q.value <= 12:
        return q.value * 25
    return q.value if 95 <= q.value <= 400 and not re.search(r"from|off|centres", after) else None


def is_gap(row: Sequence[Node], i: int) -> bool:
    """Whether a length is a distance to something, not the length of a run."""
    after = row[i + 1].norm if i + 1 < len(row) else ""
    before = row[i - 1].norm if i else ""
    return (after in ("from", "off", "above", "below", "apart", "down", "of", "up", "away", "high") and before != "about") or before in (
        "within", "every", "than")  # fmt: skip
