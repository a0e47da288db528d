"""A drawing as SVG: no script, no link, no font from outside; every text escaped. Pure."""

from __future__ import annotations

from html import escape

from notes.plain import clean
from notes.sketching.drawing import Box, Drawing, Label, Line, Shape, fitted


def svg(drawing: Drawing) -> str:
    """The SVG of what is seen of `drawing`, alone or inside a page."""
    view = f"0 {drawing.top:g} {drawing.width:g} {drawing.height:g}"
    size = f'width="{drawing.width:g}" height="{drawing.height:g}"'
    shapes = "\n".join(map(_shape, drawing.shapes))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" {size} role="img" '
        f'font-family="sans-serif"><title>{_text(drawing.title)}</title>\n{shapes}\n</svg>\n'
    )


def _text(words: str) -> str:
    return escape(clean(words), quote=True)


def _shape(shape: Shape) -> str:
    if isinstance(shape, Box):
        return _box(shape)
    return _line(shape) if isinstance(shape, Line) else _label(shape)


def _box(box: Box) -> str:
    place = f'x="{box.x:.1f}" y="{box.y:.1f}" width="{box.width:.1f}" height="{box.height:.1f}"'
    return f'<rect {place} fill="{box.fill or "none"}" stroke="{box.stroke or "none"}"/>'


def _line(line: Line) -> str:
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in line.points)
    dashes = f' stroke-dasharray="{" ".join(f"{d:g}" for d in line.dashes)}"' if line.dashes else ""
    tip = f"<title>{_text(line.tip)}</title>" if line.tip else ""
    stroke = f'fill="none" stroke="{line.colour}" stroke-width="{line.width:g}"{dashes}'
    return f'<polyline points="{points}" {stroke}>{tip}</polyline>'


def _label(label: Label) -> str:
    cut = fitted(clean(label.text), label.size, label.room, label.strong)
    weight = ' font-weight="bold"' if label.strong else ""
    anchor = ' text-anchor="middle"' if label.middle else ""
    tip = f"<title>{_text(label.text)}</title>" if cut != clean(label.text) else ""
    place = f'x="{label.x:.1f}" y="{label.y:.1f}" font-size="{label.size:g}"'
    return f"<text {place}{weight}{anchor}>{escape(cut)}{tip}</text>"
