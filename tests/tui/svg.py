"""A screen as a small SVG: runs of one style as one text, and no picture of a window around it."""

from __future__ import annotations

from itertools import groupby
from typing import Any
from xml.sax.saxutils import escape

from rich.segment import Segment
from rich.style import Style
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode
from textual.app import App

WIDE, HIGH = 8, 16


class SVG(SingleFileSnapshotExtension):
    """One file a screen, to be looked at in any browser."""

    file_extension = "svg"
    _write_mode = WriteMode.TEXT

    def serialize(self, data: Any, **_: Any) -> str:
        return str(data)


def drawn(app: App[None]) -> str:
    """The screen of `app` as SVG."""
    width, height = app.size
    lines = [list(strip.crop(0, width)) for strip in app.screen._compositor.render_strips()[:height]]
    classes: dict[str, str] = {}
    body = [part for y, line in enumerate(lines) for part in _line(line, y, classes)]
    styles = "".join(f".{name}{{{css}}}\n" for css, name in classes.items())
    head = f'<svg xmlns="http://www.w3.org/2000/svg" xml:space="preserve" viewBox="0 0 {width * WIDE} {height * HIGH}">'
    font = "text{font:13px 'DejaVu Sans Mono',monospace;white-space:pre}\n"
    return "\n".join([head, f"<style>{font}{styles}</style>", *body, "</svg>\n"])


def _line(line: list[Segment], y: int, classes: dict[str, str]) -> list[str]:
    found, x = [], 0
    for style, group in groupby(line, key=lambda segment: segment.style or Style()):
        text = "".join(segment.text for segment in group)
        cells = sum(Segment(letter).cell_length for letter in text)
        fore, back = _colours(style)
        box = f'x="{x * WIDE}" y="{y * HIGH}" width="{cells * WIDE}" height="{HIGH}"'
        found.append(f'<rect {box} class="{_class(f"fill:{back}", classes)}"/>')
        if text.strip():
            css = f"fill:{fore}" + _shape(style)
            at = f'x="{x * WIDE}" y="{y * HIGH + 12}" textLength="{cells * WIDE}"'
            found.append(f'<text {at} class="{_class(css, classes)}">{escape(text)}</text>')
        x += cells
    return found


def _colours(style: Style) -> tuple[str, str]:
    fore, back = (c.get_truecolor().hex if c else d for c, d in ((style.color, "#ddd"), (style.bgcolor, "#000")))
    return (back, fore) if style.reverse else (fore, back)


def _shape(style: Style) -> str:
    parts = ((style.bold, ";font-weight:700"), (style.italic, ";font-style:italic"),
             (style.underline, ";text-decoration:underline"))  # fmt: skip
    return "".join(css for wanted, css in parts if wanted)


def _class(css: str, classes: dict[str, str]) -> str:
    return classes.setdefault(css, f"c{len(classes)}")
