"""A drawing as plain shapes, so that SVG and PDF draw the same. Points, y downwards."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import cycle, pairwise
from math import hypot

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; colours are '#rrggbb' or ''."""

    x: float
    y: float
    width: float
    height: float
    fill: str = ""
    stroke: str = "#444444"


@dataclass(frozen=True, slots=True)
class Line:
    """Straight pieces through `points`, drawn with `dashes` (lengths on and off)."""

    points: tuple[Point, ...]
    colour: str
    width: float
    dashes: tuple[float, ...] = ()
    tip: str = ""
    """What a reader is told who points at it."""


@dataclass(frozen=True, slots=True)
class Label:
    """Words on one line, their baseline beginning at (x, y), kept to `room` points."""

    x: float
    y: float
    text: str
    size: float
    room: float
    strong: bool = False
    middle: bool = False


Shape = Box | Line | Label


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes, seen between `top` and `top + height`. `breaks` are the heights where a page may end."""

    title: str
    width: float
    height: float
    shapes: tuple[Shape, ...]
    breaks: tuple[float, ...] = field(default=())
    top: float = 0.0

    def pieces(self, most: float) -> Iterator[Drawing]:
        """The drawing cut at `breaks` into pieces no higher than `most` where the breaks allow it."""
        start, ends = 0.0, [*(b for b in self.breaks if 0 < b < self.height), self.height]
        for here, after in zip(ends, [*ends[1:], None], strict=True):
            if after is None or after - start > most:
                yield replace(self, top=start, height=here - start)
                start = here


def dashed(points: Sequence[Point], dashes: Sequence[float]) -> Iterator[tuple[Point, Point]]:
    """The strokes of a path drawn with `dashes`, for what can't draw such a pattern itself."""
    pattern, left, ink = cycle(dashes), 0.0, False
    for (ax, ay), (bx, by) in pairwise(points):
        long, at = hypot(bx - ax, by - ay), 0.0
        while at < long:
            if left <= 0:
                left, ink = next(pattern), not ink
            step = min(left, long - at)
            ends = [(ax + (bx - ax) * t / long, ay + (by - ay) * t / long) for t in (at, at + step)]
            if ink:
                yield ends[0], ends[1]
            at, left = at + step, left - step


SMALL = 0.5
"""Width of a letter as a share of its size, on average, in the sans faces that are used."""


def letters(size: float, room: float, strong: bool = False) -> int:
    """How many letters of this size fit into `room`."""
    return int(room / (size * (SMALL + 0.03 * strong)))


def fitted(text: str, size: float, room: float, strong: bool = False) -> str:
    """`text` cut with an ellipsis to what fits into `room`."""
    most = letters(size, room, strong)
    return text if len(text) <= most else text[: max(1, most - 1)].rstrip() + "…"
