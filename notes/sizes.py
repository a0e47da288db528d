"""The sizes that pipes are made in, from data/sizes.csv. Nominal millimetres; steel by DN, drains by trade size."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from notes.lexicon import data_rows

PLASTIC = ("pex", "polybutylene", "multilayer")
"""What 'plastic' may be of hot, cold and heating pipe."""

_WHOLE = frozenset(("copper", "multilayer", "pex", "polybutylene", "mdpe", "steel"))
# Tables that are whole: what they leave out is not made. Drains are named by inch, bore and outside as it comes.
_NEAR = 0.6  # 'sixty-seven' is 66.7, 'twenty-two' overflow is 21.5


@dataclass(frozen=True, slots=True)
class Size:
    """One pipe as made: outside diameter, wall and bore in millimetres where known, and who says so."""

    material: str
    size_mm: float
    od_mm: float | None
    wall_mm: float | None
    bore_mm: float | None
    series: str
    standard: str
    source: str
    confidence: str


@lru_cache(maxsize=1)
def table() -> tuple[Size, ...]:
    """All rows of sizes.csv."""
    return tuple(_size(row) for row in data_rows("sizes.csv"))


def _size(row: dict[str, str]) -> Size:
    od, wall, bore = (float(row[name]) if row[name] else None for name in ("od_mm", "wall_mm", "bore_mm"))
    words = (row[name] for name in ("series", "standard", "source", "confidence"))
    return Size(row["material"], float(row["size_mm"]), od, wall, bore, *words)


@lru_cache(maxsize=1)
def _made() -> dict[str, tuple[float, ...]]:
    names = {row.material for row in table()} & _WHOLE
    found = {name: tuple(sorted({r.size_mm for r in table() if r.material == name})) for name in names}
    return found | {"plastic": tuple(sorted({size for name in PLASTIC for size in found[name]}))}


def exists(material: str | None, size_mm: float | None) -> bool | None:
    """Whether pipe of this material is made in this size; None where no table tells."""
    made = _made().get(material or "")
    if made is None or size_mm is None or not made[0] - _NEAR <= size_mm <= made[-1] + _NEAR:
        return None
    return any(abs(size - size_mm) < _NEAR for size in made)


def nearest(material: str, size_mm: float) -> tuple[float, ...]:
    """The size below and the size above that the material is made in."""
    made = _made().get(material, ())
    return tuple([s for s in made if s < size_mm][-1:] + [s for s in made if s > size_mm][:1])


def rows(material: str, size_mm: float) -> tuple[Size, ...]:
    """The rows of one size, the usual wall first."""
    return tuple(r for r in table() if r.material == material and abs(r.size_mm - size_mm) < _NEAR)


def standards(material: str) -> tuple[str, str]:
    """The standards that name a material's sizes, and where their figures were read."""
    names = PLASTIC if material == "plastic" else (material,)
    found = [r for r in table() if r.material in names and r.standard != "none"]
    return ", ".join(dict.fromkeys(r.standard for r in found)), "; ".join(dict.fromkeys(r.source for r in found))
