"""Published limits, from data/limits.csv, each with its source and how sure we are of it; never a verdict."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from notes.lexicon import data_rows

METAL = frozenset(("copper", "steel", "cast iron", "csst", "lead"))
PLASTIC = frozenset(("plastic", "pex", "polybutylene", "multilayer", "mdpe", "upvc", "abs", "polypropylene"))
WEAK = frozenset(("memory", "common practice"))


@dataclass(frozen=True, slots=True)
class Limit:
    """One row: the value holds for sizes over `size_min` up to `size_max`, or of `size_min` alone where they agree."""

    id: str
    subject: str
    material: str
    size_min: float | None
    size_max: float | None
    value: float
    unit: str
    min_or_max: str
    source: str
    clause: str
    confidence: str
    note: str

    @property
    def cited(self) -> str:
        """The source with its clause, and how sure we are of it."""
        sure = f"{self.confidence}: verify before relying on it" if self.weak else self.confidence
        return f"{', '.join(filter(None, (self.source, self.clause)))} ({sure})"

    @property
    def weak(self) -> bool:
        """Whether the row may only remind, not judge."""
        return self.confidence in WEAK

    def holds_for(self, size_mm: float | None) -> bool:
        """Whether the row speaks of this size."""
        if self.size_min is None and self.size_max is None:
            return True
        if size_mm is None:
            return False
        if self.size_min == self.size_max:
            return size_mm == self.size_min
        return (self.size_min or 0) < size_mm <= (self.size_max or float("inf"))


@lru_cache(maxsize=1)
def table() -> tuple[Limit, ...]:
    """All rows of limits.csv."""
    return tuple(_limit(row) for row in data_rows("limits.csv"))


def _limit(row: dict[str, str]) -> Limit:
    low, high = (float(row[name]) if row[name] else None for name in ("size_min", "size_max"))
    words = (row[name] for name in ("unit", "min_or_max", "source", "clause", "confidence", "note"))
    return Limit(row["id"], row["subject"], row["material"], low, high, float(row["value"]), *words)


def of(id: str, subject: str = "", material: str | None = None, size_mm: float | None = None) -> list[Limit]:
    """The rows of `id` for a subject, material and size; a row that names none of them holds for all."""
    return [r for r in _by_id().get(id, ()) if _names(r, subject, material) and r.holds_for(size_mm)]


@lru_cache(maxsize=1)
def _by_id() -> dict[str, list[Limit]]:
    found: dict[str, list[Limit]] = {}
    for row in table():
        found.setdefault(row.id, []).append(row)
    return found


def _names(row: Limit, subject: str, material: str | None) -> bool:
    return (not subject or row.subject in ("", subject)) and (material is None or row.material in ("", material))


def rows(id: str) -> tuple[Limit, ...]:
    """All rows of `id`, of whatever size."""
    return tuple(_by_id()[id])


def one(id: str) -> Limit:
    """The only row of `id`."""
    (row,) = _by_id()[id]
    return row


def down(value: float) -> float:
    """A limit rounded down to a whole millimetre, as it can be measured."""
    return float(int(value))


def hole_mm(depth_mm: float) -> float:
    """The largest hole in a solid timber joist of this depth; 0 where none is allowed."""
    return down(one("joist-hole").value * depth_mm) if depth_mm > one("joist-shallow").value else 0.0


def notch_mm(depth_mm: float, rules: str = "joist-notch") -> float:
    """The deepest notch in a solid timber joist of this depth by one set of rules; 0 where none is allowed."""
    most = min(one(rules).value * depth_mm, one("joist-notch-most").value)
    return down(most) if depth_mm > one("joist-shallow").value else 0.0


def zone_mm(kind: str, span_m: float, rules: str = "") -> tuple[float, float]:
    """Where along a span a 'hole' or a 'notch' may be, in mm from each support."""
    ends = (one(f"{kind}-zone-{end}{rules}").value for end in ("from", "to"))
    first, last = (round(share * span_m * 1000) for share in ends)
    return first, last


def discharge_length_m(d1_mm: float, d2_mm: float, elbows: int) -> tuple[float, Limit] | None:
    """The longest straight run of a discharge pipe below the tundish with so many elbows; None where no row tells."""
    for row in _by_id()["discharge-length"]:
        if (row.size_min, row.size_max) == (d1_mm, d2_mm):
            return row.value - elbows * float(row.note.split()[0]), row
    return None


def strictest(rows: Iterable[Limit]) -> Limit | None:
    """The row that asks the most: of maxima the least, of minima the greatest."""
    return min(rows, key=lambda r: r.value if r.min_or_max == "max" else -r.value, default=None)
