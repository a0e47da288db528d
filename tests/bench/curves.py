"""Curves of time against size on two logarithmic scales, as SVG of a few lines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from html import escape

DRAWN = ("recheck", "take", "trace", "find", "room's log", "room's follow-ups")
_COLOURS = ("#7a3e9d", "#b3261e", "#1f5fa8", "#1d7a4c", "#8a6d00", "#555555")
_WIDE, _HIGH, _LEFT, _TOP, _RIGHT, _BOTTOM = 760, 420, 70, 30, 170, 50
Points = Sequence[tuple[float, float]]
"""Facts and seconds."""


def svg(series: Mapping[str, Points]) -> str:
    """The curves by their names."""
    drawn = {name: points for name, points in series.items() if points}
    sizes = [size for points in drawn.values() for size, _ in points]
    seconds = [value for points in drawn.values() for _, value in points]
    scale = _Scale(_ends(sizes), _ends(seconds))
    body = [*_grid(scale), *(line for n, item in enumerate(drawn.items()) for line in _curve(*item, n, scale))]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_HIGH}" font-family="sans-serif"'
    title = "<title>CPU time against facts in the book</title>"
    return "\n".join(
        [f'{head} font-size="13">', title, '<rect width="100%" height="100%" fill="#fff"/>', *body, "</svg>\n"]
    )


def _ends(values: Sequence[float]) -> tuple[int, int]:
    """The powers of ten that hold all of `values`."""
    low, high = math.floor(math.log10(min(values))), math.ceil(math.log10(max(values)))
    return low, max(high, low + 1)


class _Scale:
    def __init__(self, across: tuple[int, int], up: tuple[int, int]) -> None:
        self.across, self.up = across, up

    def x(self, value: float) -> float:
        low, high = self.across
        return _LEFT + (math.log10(value) - low) / (high - low) * (_WIDE - _LEFT - _RIGHT)

    def y(self, value: float) -> float:
        low, high = self.up
        return _HIGH - _BOTTOM - (math.log10(value) - low) / (high - low) * (_HIGH - _TOP - _BOTTOM)


def _grid(scale: _Scale) -> Iterator[str]:
    for power in range(scale.across[0], scale.across[1] + 1):
        x = scale.x(10**power)
        yield f'<path d="M{x:.1f} {_TOP}V{_HIGH - _BOTTOM}" stroke="#ddd"/>'
        yield f'<text x="{x:.1f}" y="{_HIGH - _BOTTOM + 18}" text-anchor="middle">{10**power:,}</text>'
    for power in range(scale.up[0], scale.up[1] + 1):
        y = scale.y(10.0**power)
        yield f'<path d="M{_LEFT} {y:.1f}H{_WIDE - _RIGHT}" stroke="#ddd"/>'
        yield f'<text x="{_LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{_time(power)}</text>'
    yield f'<text x="{(_LEFT + _WIDE - _RIGHT) / 2}" y="{_HIGH - 12}" text-anchor="middle">facts in the book</text>'
    yield f'<text x="{_LEFT - 8}" y="{_TOP - 14}" text-anchor="end">CPU time</text>'


def _time(power: int) -> str:
    return f"{10**power:g} s" if power >= 0 else f"{10 ** (power + 3):g} ms"


def _curve(name: str, points: Points, n: int, scale: _Scale) -> Iterator[str]:
    places = [(scale.x(size), scale.y(seconds)) for size, seconds in points]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    colour = _COLOURS[n % len(_COLOURS)]
    yield f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>'
    yield from (f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colour}"/>' for x, y in places)
    y = _TOP + 8 + 20 * n
    yield f'<path d="M{_WIDE - _RIGHT + 14} {y}h20" stroke="{colour}" stroke-width="2"/>'
    yield f'<text x="{_WIDE - _RIGHT + 40}" y="{y + 4}">{escape(name)}</text>'
