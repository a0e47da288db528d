"""A document as PDF; the only importer of fpdf, and late. Readable in black and white, pages numbered."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from importlib import resources
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from notes.plain import clean
from notes.record import pdf_draw
from notes.record.gather import moment
from notes.record.letters import FACE, SPARE, Letters
from notes.record.page import Block, Cell, Document, Picture, Pictures, Section, Sketch, Table, Words

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN, BOTTOM = 14.0, 18.0
"""Millimetres."""
MOST = 1500
"""Characters of a cell: one that is longer than a page can't be set."""
_LOST = "What stands as [U+ and a number] are letters that this PDF has no face for. The HTML record has them."


def pdf(document: Document, picture: Callable[[str], bytes | None]) -> bytes:
    """The pages. `picture` gives the small JPEG of a photo by its SHA-256, or None."""
    from fpdf import FPDF

    class Sheet(FPDF):
        def footer(self) -> None:
            self.set_y(-12)
            self.set_font(FACE, "", 7.5)
            left = f"{document.kind}: {document.about}"
            named = " · ".join(write.plain(part)[:60] for part in (document.job, left))
            self.cell(self.epw * 0.85, 5, f"{named} · issued {moment(document.issued)}")
            self.cell(self.epw * 0.15, 5, f"page {self.page_no()} of {{nb}}", align="R")

    sheet = Sheet(format="A4")
    write = _Writer(sheet, picture)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        write.document(document)
        return bytes(sheet.output())


class _Writer:
    """Puts one block after the other on the sheet."""

    def __init__(self, sheet: FPDF, picture: Callable[[str], bytes | None]) -> None:
        self.sheet, self.picture = sheet, picture
        sheet.set_margins(MARGIN, MARGIN)
        sheet.set_auto_page_break(True, BOTTOM)
        faces = resources.files("font_roboto").joinpath("files")
        for style, name in (("", "Regular"), ("B", "Bold")):
            sheet.add_font(FACE, style, str(faces.joinpath(f"Roboto-{name}.ttf")))
        spare = resources.files("fontpkg_fira_code").joinpath("files", "FiraCode[wght].ttf")
        sheet.add_font(SPARE, "", str(spare), variations={"wght": 600.0})  # it is small and light beside the other
        sheet.set_fallback_fonts([SPARE], exact_match=False)
        has = [frozenset(sheet.fonts[face.lower()].cmap) for face in (FACE, SPARE)]  # type: ignore[union-attr]
        self.letters = Letters(*has)
        self.lost = False

    def plain(self, text: str) -> str:
        """`text` on one line, in letters that can be drawn, and no longer than a cell may be."""
        drawn = self.letters.drawn(clean(text))
        self.lost |= "[U+" in drawn
        return drawn if len(drawn) <= MOST else f"{drawn[:MOST]}… (cut here; the memo has the rest)"

    def document(self, document: Document) -> None:
        sheet = self.sheet
        sheet.set_title(self.plain(f"{document.job}: {document.kind}, {document.about}"))
        sheet.set_creation_date(document.issued)
        sheet.add_page()
        self._line(document.job, 18, "B", 8)
        self._line(f"{document.kind}: {document.about}", 12, "", 6)
        self._line(f"Issued {moment(document.issued)}", 10, "", 5)
        sheet.set_line_width(0.8)
        sheet.line(MARGIN, sheet.get_y() + 2, MARGIN + sheet.epw, sheet.get_y() + 2)
        sheet.set_line_width(0.2)
        sheet.ln(4)
        for section, after in zip(document.sections, [*document.sections[1:], None], strict=True):
            # a heading never stands alone at the foot of a sheet
            self._keep(self._start(section) + (self._start(after) if after and not section.blocks else 0))
            self._section(section)
        if self.lost:
            self._block(Words(_LOST))

    def _line(self, text: str, size: float, style: Any, height: float) -> None:
        self.sheet.set_font(FACE, style, size)
        self.sheet.multi_cell(0, height, self.plain(text), new_x="LMARGIN", new_y="NEXT", align="L")

    def _section(self, section: Section) -> None:
        sheet = self.sheet
        sheet.ln(3 if section.level == 1 else 1)
        sheet.start_section(self.plain(section.title), section.level - 1)
        self._line(section.title, 14 if section.level == 1 else 11, "B", 7 if section.level == 1 else 6)
        for n, block in enumerate(section.blocks):
            self._keep(self._opening(section.blocks[n:]))
            self._block(block)

    def _start(self, section: Section) -> float:
        """The height in millimetres of its heading with what must stand right below it."""
        return 15 + self._opening(section.blocks)

    def _opening(self, blocks: Sequence[Block]) -> float:
        """The height in millimetres of what must stand together at their beginning."""
        first, after = [*blocks, None, None][:2]
        if isinstance(first, Sketch):
            return pdf_draw.first_height(self.sheet, first)
        if isinstance(first, Table):
            return self._table_start(first, self._widths(first))
        if isinstance(first, Words):  # they tell what the table below them is
            return 10 + self._opening((after,)) if isinstance(after, Table) else 17
        return 70 if first else 0

    def _table_start(self, table: Table, widths: list[float]) -> float:
        """The height of its head and first row, but no more than fits on a sheet below two headings."""
        first = _height(self._row(table.rows[0], widths)) if table.rows else 0
        return min(_height(self._row(_head(table), widths)) + first, 220)

    def _widths(self, table: Table) -> list[float]:
        share = self.sheet.epw / sum(table.widths)
        return [width * share for width in table.widths]

    def _keep(self, height: float) -> None:
        """Begin a new page where less than `height` is left on this one."""
        if self.sheet.will_page_break(height):
            self.sheet.add_page()

    def _block(self, block: Block) -> None:
        if isinstance(block, Table):
            self._table(block)
        elif isinstance(block, Words):
            self.sheet.set_font(FACE, "", 9)
            border: Any = 1 if block.caution else 0
            self.sheet.multi_cell(0, 4.6, self.plain(block.text), border=border, padding=1, align="L")
            self.sheet.set_xy(MARGIN, self.sheet.get_y() + 5)
        elif isinstance(block, Sketch):
            pdf_draw.sketch(self.sheet, block, self.letters, self.plain)
        else:
            self._pictures(block)

    def _table(self, table: Table) -> None:
        widths = self._widths(table)
        rows = [self._row(row, widths) for row in table.rows]
        top = self._row(_head(table), widths)
        self._put(top, widths, shaded=True)
        for row in rows:
            if self.sheet.will_page_break(_height(row)):
                self.sheet.add_page()
                self._put(top, widths, shaded=True)
            self._put(row, widths)
        self.sheet.ln(2)

    def _row(self, cells: tuple[Cell, ...], widths: list[float]) -> _Row:
        return [
            [
                *self._lines(c.text, w, 8.5, "B" if c.strong else ""),
                *(p for s in c.rests_on for p in self._lines(s, w, 6.5, "")),
            ]
            for c, w in zip(cells, widths, strict=True)
        ]

    def _lines(self, text: str, width: float, size: float, style: Any) -> list[_Piece]:
        self.sheet.set_font(FACE, style, size)
        broken: Any = self.sheet.multi_cell(width - 2, text=self.plain(text), dry_run=True, output="LINES", align="L")
        return [(line, size, style) for line in broken]

    def _put(self, row: _Row, widths: list[float], *, shaded: bool = False) -> None:
        sheet, x, y, height = self.sheet, MARGIN, self.sheet.get_y(), _height(row)
        for pieces, width in zip(row, widths, strict=True):
            sheet.set_fill_color(228)
            sheet.rect(x, y, width, height, "DF" if shaded else "D")
            sheet.set_xy(x + 0.2, y + 0.8)
            self._stack(pieces, width)
            x += width
        sheet.set_xy(MARGIN, y + height)

    def _pictures(self, block: Pictures) -> None:
        width = (self.sheet.epw - 8) / 3
        for n in range(0, len(block.shown), 3):
            figures = [self._figure(shown, width) for shown in block.shown[n : n + 3]]
            tall = max(figure.high + _height([figure.lines]) for figure in figures)
            self._keep(tall)
            top = self.sheet.get_y() + 1
            for column, figure in enumerate(figures):
                self._place(figure, MARGIN + column * (width + 4), top, width)
            self.sheet.set_xy(MARGIN, top + tall + 1)

    def _figure(self, shown: Picture, width: float) -> _Figure:
        jpeg = self.picture(shown.media) if shown.media else None
        lines = [*self._lines(shown.caption, width, 7.5, ""), *self._lines(shown.rests_on, width, 6.5, "")]
        if not jpeg:
            return _Figure(None, lines, 6)
        info: Any = self.sheet.preload_image(BytesIO(jpeg))[2]
        return _Figure(jpeg, lines, width * min(info["h"] / info["w"], 4 / 3))

    def _place(self, figure: _Figure, x: float, y: float, width: float) -> None:
        if figure.jpeg:
            self.sheet.image(BytesIO(figure.jpeg), x, y, width, figure.high, keep_aspect_ratio=True)
        self.sheet.set_xy(x, y + figure.high + 0.5)
        self._stack(figure.lines, width)

    def _stack(self, lines: list[_Piece], width: float) -> None:
        """Lines of text under each other."""
        for text, size, style in lines:
            self.sheet.set_font(FACE, style, size)
            self.sheet.cell(width, _step(size), text, new_x="LEFT", new_y="NEXT")


def _head(table: Table) -> tuple[Cell, ...]:
    return tuple(Cell(name, strong=True) for name in table.columns)


_Piece = tuple[str, float, Any]
"""A line of text, its size in points, its style."""
_Row = list[list[_Piece]]


class _Figure(NamedTuple):
    """A photo (None where it can't be read), the lines under it, and its height in millimetres."""

    jpeg: bytes | None
    lines: list[_Piece]
    high: float


def _step(size: float) -> float:
    """The height of a line in millimetres."""
    return size * 0.43


def _height(row: _Row) -> float:
    return max((sum(_step(size) for _, size, _ in pieces) for pieces in row), default=0) + 1.8
