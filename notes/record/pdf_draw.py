"""The schematic on a PDF sheet, drawn from the same shapes as the SVG."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from notes.record.letters import FACE, Letters
from notes.record.page import Sketch
from notes.sketching.drawing import Box, Drawing, Label, Line, Shape, dashed, fitted

if TYPE_CHECKING:
    from fpdf import FPDF

_POINT = 25.4 / 72


def sketch(sheet: FPDF, block: Sketch, letters: Letters, plain: Callable[[str], str]) -> None:
    """Each piece on the sheet, as wide as it allows."""
    for piece in block.pieces:
        scale = _scale(sheet, piece)
        if sheet.will_page_break(piece.height * scale):
            sheet.add_page()
        _Pen(sheet, piece, scale, letters, plain).draw()
        sheet.set_xy(sheet.l_margin, sheet.get_y() + piece.height * scale + 2)


def first_height(sheet: FPDF, block: Sketch) -> float:
    """How much of a sheet the first piece takes, in millimetres."""
    return block.pieces[0].height * _scale(sheet, block.pieces[0]) if block.pieces else 0.0


def _scale(sheet: FPDF, piece: Drawing) -> float:
    most = sheet.h - sheet.t_margin - sheet.b_margin
    return min(sheet.epw / piece.width, most / piece.height)


class _Pen:
    """Draws one piece at the place where the sheet stands, `scale` millimetres to a point."""

    def __init__(
        self, sheet: FPDF, piece: Drawing, scale: float, letters: Letters, plain: Callable[[str], str]
    ) -> None:
        self.sheet, self.piece, self.scale, self.letters, self.plain = sheet, piece, scale, letters, plain
        self.left, self.top = sheet.l_margin, sheet.get_y() - piece.top * scale

    def draw(self) -> None:
        piece = self.piece
        top, width, height = self.sheet.get_y(), piece.width * self.scale, piece.height * self.scale
        # strokes end where they end: square caps would close the gaps of every line style
        with self.sheet.rect_clip(self.left, top, width, height), self.sheet.local_context(stroke_cap_style=0):
            for shape in piece.shapes:
                self._shape(shape)
        self.sheet.set_xy(self.left, top)
        self.sheet.set_draw_color(0)
        self.sheet.set_line_width(0.2)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        return self.left + x * self.scale, self.top + y * self.scale

    def _shape(self, shape: Shape) -> None:
        if isinstance(shape, Box):
            self._box(shape)
        elif isinstance(shape, Line):
            self._line(shape)
        else:
            self._label(shape)

    def _box(self, box: Box) -> None:
        style = ("D" if box.stroke else "") + ("F" if box.fill else "")
        self.sheet.set_draw_color(box.stroke or "#000000")
        self.sheet.set_fill_color(box.fill or "#ffffff")
        self.sheet.set_line_width(0.15)
        self.sheet.rect(*self._at(box.x, box.y), box.width * self.scale, box.height * self.scale, style)

    def _line(self, line: Line) -> None:
        self.sheet.set_draw_color(line.colour)
        self.sheet.set_line_width(line.width * self.scale)
        strokes = dashed(line.points, line.dashes) if line.dashes else [line.points]
        for stroke in strokes:
            self.sheet.polyline([self._at(x, y) for x, y in stroke])

    def _label(self, label: Label) -> None:
        text = fitted(self.plain(label.text), label.size, label.room, label.strong)
        x, y = self._at(label.x, label.y)
        self._font(FACE, label)
        x -= self.sheet.get_string_width(text) / 2 if label.middle else 0
        for face, part in self.letters.parts(text):
            self._font(face, label)
            self.sheet.text(x, y, part)
            x += self.sheet.get_string_width(part)

    def _font(self, face: str, label: Label) -> None:
        strong = "B" if label.strong and face == FACE else ""
        self.sheet.set_font(face, strong, label.size * self.scale / _POINT)
