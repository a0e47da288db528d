"""Whether a photo shows anything: blurred, too dark, burnt out; and which photos are nearly the same. Pure.

Sharpness is that of the weakest of four directions, since a moved camera keeps the edges along its way; and that of
the sharpest tiles, since a plain wall is no blur. The thresholds come from tests/bench/photo_quality.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from PIL.Image import Image

    Grey = np.ndarray[Any, np.dtype[np.float32]]

MEASURED_AT = 512
"""Pixels of the longer side: less hides the smaller blurs, more takes the sensor's noise for edges."""
SHARP_ABOVE = 65.0
"""Of rendered photos and parts of them the least has 80; of blurred copies 0.4 % have more than 65."""
DARK_BELOW = 25.0
"""Mean grey, 0..255. The good ones have 110 and more; at a fifth of the light 22 to 30."""
BURNT_ABOVE = 0.3
"""Share of pixels without any drawing left in the light. A window in the picture makes 0.1."""
ALIKE = 10
"""Bits of 64 that two copies of one view may differ in. Copies differ in 10 at most, different views in 22 at least."""

_TILES, _BEST, _WHITE = 8, 0.95, 250


class Look(NamedTuple):
    """What was measured of a picture. `phash` is a difference hash of 64 bits as 16 hex digits."""

    sharpness: float
    brightness: float
    burnt: float
    phash: str

    @property
    def wrongs(self) -> tuple[str, ...]:
        """What keeps it from proving anything."""
        found = (
            ("too dark", self.brightness < DARK_BELOW),
            ("burnt out", self.burnt > BURNT_ABOVE),
            ("blurred", self.sharpness < SHARP_ABOVE),
        )
        return tuple(name for name, so in found if so)


def look(picture: Image) -> Look:
    """Measure `picture`, at a size where the sensor's noise is gone."""
    import imagehash
    import numpy as np

    grey = picture.convert("L")
    grey.thumbnail((MEASURED_AT, MEASURED_AT))
    values = np.asarray(grey, dtype=np.float32)
    return Look(
        round(_sharpness(values), 1),
        round(float(values.mean()), 1),
        round(float((values >= _WHITE).mean()), 3),
        str(imagehash.dhash(grey)),
    )


def _sharpness(grey: Grey) -> float:
    """The variance of the second difference in the sharpest tiles, in the direction where it is least."""
    if min(grey.shape) < 3:
        return 0.0
    middle = 2 * grey[1:-1, 1:-1]
    directions = (
        grey[1:-1, :-2] + grey[1:-1, 2:] - middle,
        grey[:-2, 1:-1] + grey[2:, 1:-1] - middle,
        grey[:-2, :-2] + grey[2:, 2:] - middle,
        grey[2:, :-2] + grey[:-2, 2:] - middle,
    )
    return min(map(_of_best_tiles, directions))


def _of_best_tiles(edges: Grey) -> float:
    import numpy as np

    rows = np.array_split(edges, min(_TILES, edges.shape[0]))
    tiles = [tile.var() for row in rows for tile in np.array_split(row, min(_TILES, edges.shape[1]), axis=1)]
    return float(np.quantile(tiles, _BEST))


def alike(a: str, b: str) -> bool:
    """Whether two hashes are of nearly the same view."""
    return bool(a and b) and (int(a, 16) ^ int(b, 16)).bit_count() <= ALIKE


def groups(hashes: Sequence[tuple[str, str]]) -> list[list[str]]:
    """The names whose hashes are of nearly the same view, as they come; only groups of two and more.

    `hashes` are (name, hash). Each joins the first group that it is like the first member of.
    """
    found: list[list[tuple[str, str]]] = []
    for name, phash in hashes:
        home = next((group for group in found if alike(group[0][1], phash)), None)
        if home is None:
            found.append([(name, phash)])
        else:
            home.append((name, phash))
    return [[name for name, _ in group] for group in found if len(group) > 1]


def first_alike(phash: str, others: Iterable[tuple[str, str]]) -> str | None:
    """The name of the first of `others` that is nearly the same."""
    return next((name for name, other in others if alike(phash, other)), None)
