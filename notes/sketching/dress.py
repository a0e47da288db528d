"""Boxes and lines dressed as a schematic: headings, rows, line styles, ends, bands for the floors, a key. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from textwrap import wrap

from notes import wording
from notes.sketching.drawing import Box, Drawing, Label, Line, Point, Shape, letters
from notes.sketching.layout import Laid
from notes.sketching.marks import Mark, mark, used

ROOM, ROW = 250.0, 30.0
"""Width of a room and height of a row, in points."""
_SIDE, _HEAD, _KEY_ROW = 30.0, 64.0, 17.0
_SWATCH = 40.0
_KEY_ROOM = 370.0
"""Points that a line of the key takes with the longest code."""
_NOTE = (
    "Not to scale. Drawn from what was said: lines join rooms where a memo says that a pipe goes there. "
    "No marking of pipes. Colours as on a screen."
)


@dataclass(frozen=True, slots=True)
class Row:
    """A run in its room: what it is, how it stands, and the row above that it is a branch of (from 0)."""

    service: str
    what: str
    where: str
    state: frozenset[str]
    trunk: int | None = None


def dressed(
    laid: Laid,
    rooms: Sequence[tuple[str, Sequence[Row]]],
    floors: Sequence[str],
    links: Sequence[tuple[str, str]],
    title: str,
) -> Drawing:
    """The whole drawing. `floors` names the floor of each room, `links` the service and pipe of each line."""
    boxes = [Box(b.x + _SIDE, b.y + _HEAD, b.width, b.height, "#ffffff") for b in laid.boxes]
    width = max(laid.width, 2 * ROOM) + 2 * _SIDE
    bands = list(_bands(boxes, floors, width))
    services = used({row.service for _, rows in rooms for row in rows})
    below = laid.height + _HEAD + ROW
    shapes: list[Shape] = [Label(_SIDE, 24, title, 15, width - 2 * _SIDE, strong=True)]
    for name, band in bands:
        shapes += [band, Label(_SIDE - 16, band.y + 13, name, 10, width, strong=True)]
    for path, (service, pipe) in zip(laid.paths, links, strict=True):
        shapes += _link([(x + _SIDE, y + _HEAD) for x, y in path], service, pipe, boxes)
    for box, (name, rows) in zip(boxes, rooms, strict=True):
        shapes += _room(box, name, rows)
    shapes += _key(services, below, width, sum(len(path) < 2 for path in laid.paths))
    height = max(_bottom(shape) for shape in shapes) + 12
    breaks = tuple(sorted({band.y for _, band in bands[1:]} | _between(boxes) | {below - ROW / 2}))
    return Drawing(title, width, height, tuple(shapes), breaks)


def _bottom(shape: Shape) -> float:
    if isinstance(shape, Line):
        return max(y for _, y in shape.points)
    return shape.y + (shape.height if isinstance(shape, Box) else 0.0)


def _between(boxes: Sequence[Box]) -> set[float]:
    """The heights right above a rank of boxes, which differ in height and stand on one middle line."""
    above = {box.y - ROW * 0.75 for box in boxes}
    return {y for y in above if not any(box.y <= y <= box.y + box.height for box in boxes)}


def _bands(boxes: Sequence[Box], floors: Sequence[str], width: float) -> Iterator[tuple[str, Box]]:
    """A band behind the rooms of each floor."""
    for shade, (floor, group) in enumerate(groupby(zip(floors, boxes, strict=True), key=lambda pair: pair[0])):
        inside = [box for _, box in group]
        top, bottom = min(b.y for b in inside), max(b.y + b.height for b in inside)
        fill = "#f4f4f2" if shade % 2 else "#eaeae6"
        yield floor, Box(6, top - ROW * 0.75, width - 12, bottom - top + ROW * 1.5 - 2, fill, "")


def _room(box: Box, name: str, rows: Sequence[Row]) -> Iterator[Shape]:
    yield box
    yield Box(box.x, box.y, box.width, ROW, "#dcdcd6")
    yield Label(box.x + 8, box.y + 19, name, 12, box.width - 16, strong=True)
    for n, row in enumerate(rows):
        middle = box.y + ROW * (n + 1.5)
        yield from _swatch(box.x + 12, middle, row)
        if row.trunk is not None:
            yield _branch(box.x + 7, box.y + ROW * (row.trunk + 1.5), middle, mark(row.service))
        left, room = box.x + _SWATCH + 18, box.width - _SWATCH - 24
        yield Label(left, middle - 2, f"{mark(row.service).letters}  {row.what}", 10, room, strong=True)
        yield Label(left, middle + 10, row.where, 8.5, room)


def _swatch(x: float, y: float, row: Row) -> Iterator[Shape]:
    """The run's line, and how it ends: a bar is capped, a hollow box is open, a full one is connected."""
    style, end = mark(row.service), x + _SWATCH - 6
    yield Line(((x, y), (end, y)), style.colour, style.width, style.dashes, f"{row.what}: {row.where}")
    if "capped" in row.state:
        yield Line(((end, y - 7), (end, y + 7)), "#000000", 2.5)
    if "open" in row.state:
        yield Box(end - 3, y - 4, 8, 8, "#ffffff", "#000000")
    elif "connected" in row.state:
        yield Box(end - 3, y - 4, 8, 8, "#000000", "#000000")


def _branch(x: float, start: float, end: float, style: Mark) -> Line:
    corners = (x + 5, start), (x, start), (x, end), (x + 5, end)
    return Line(corners, style.colour, 1.2)


def _link(path: Sequence[Point], service: str, pipe: str, boxes: Sequence[Box]) -> Iterator[Shape]:
    if len(path) < 2:
        return
    style = mark(service)
    yield Line(tuple(path), style.colour, style.width, style.dashes, f"{service} {pipe}".strip())
    (x, y), wide = _in_sight(path, boxes), 6 + 6 * len(style.letters)
    yield Box(x - wide / 2, y - 6, wide, 12, "#ffffff", style.colour)
    yield Label(x, y + 3, style.letters, 8, wide, strong=True, middle=True)


def _in_sight(path: Sequence[Point], boxes: Sequence[Box]) -> Point:
    """The middle of what no box covers of a path."""
    steps = [n / 20 for n in range(21)]
    pieces = pairwise(path)
    points = [(ax + (bx - ax) * t, ay + (by - ay) * t) for (ax, ay), (bx, by) in pieces for t in steps]
    seen = [p for p in points if not any(_holds(box, p) for box in boxes)] or points
    return seen[len(seen) // 2]


def _holds(box: Box, point: Point) -> bool:
    return box.x <= point[0] <= box.x + box.width and box.y <= point[1] <= box.y + box.height


def _key(services: Sequence[str], top: float, width: float, left_out: int) -> Iterator[Shape]:
    across = 2 if (width - 2 * _SIDE) / 2 >= _KEY_ROOM else 1
    column = (width - 2 * _SIDE) / across
    for n, service in enumerate(services):
        x, y, style = _SIDE + column * (n % across), top + _KEY_ROW * (n // across), mark(service)
        yield Line(((x, y), (x + 44, y)), style.colour, style.width, style.dashes)
        code = f" · BS 1710: {style.code}" if style.code else " · no code known, drawn in grey"
        yield Label(x + 50, y + 3, f"{style.letters}  {wording.service(service)}{code}", 8.5, column - 56)
    y = top + _KEY_ROW * -(-len(services) // across) + 8
    yield from _swatch(_SIDE, y, Row("waste", "", "", frozenset({"capped"})))
    yield Label(_SIDE + 42, y + 3, "capped", 8.5, 60)
    yield Box(_SIDE + 91, y - 4, 8, 8, "#ffffff", "#000000")
    yield Label(_SIDE + 104, y + 3, "left open", 8.5, 60)
    yield Box(_SIDE + 159, y - 4, 8, 8, "#000000", "#000000")
    yield Label(_SIDE + 172, y + 3, "connected", 8.5, 60)
    less = f" {left_out} lines between far rooms are left out; the rows say where they go." if left_out else ""
    room = width - 2 * _SIDE
    for n, line in enumerate(wrap(_NOTE + less, letters(8.5, room))):  # a caution is never cut
        yield Label(_SIDE, y + 20 + 12 * n, line, 8.5, room)
