"""A list of any length: only the lines in sight are drawn, and more rows are asked for when the end comes near."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Click, Resize
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.style import Style
from textual.visual import Visual

TALLEST = 6
"""Lines that one row may take: what is longer is shown whole beside the list."""
NEAR_END = 15
"""Rows before the end at which more are asked for."""


_NONE = Content("")


@dataclass(frozen=True, slots=True)
class Row:
    """`text` (or what draws it as one line of a width) behind a `mark`; without an `item` a heading, never marked.

    `key` finds the row again after the list was read anew.
    """

    text: Content | Callable[[int], Content]
    item: object = None
    key: object = None
    mark: Content = _NONE
    gutter: int = 2


class Rows(ScrollView, can_focus=True):
    """The list. The marked row has a bar before it and another ground, so that colour never has to tell it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "go(-1)", "Up", show=False),
        Binding("down", "go(1)", "Down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("home", "end(-1)", "First", show=False),
        Binding("end", "end(1)", "Last", show=False),
        Binding("enter", "choose", "Open", show=False),
    ]
    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--marked", "rows--heading"}

    @dataclass
    class Marked(Message):
        """Another row is marked."""

        rows: Rows
        row: Row

        @property
        def control(self) -> Rows:
            return self.rows

    @dataclass
    class Chosen(Marked):
        """The marked row was chosen."""

    @dataclass
    class Wanted(Message):
        """The end is near: more rows are wanted."""

        rows: Rows

        @property
        def control(self) -> Rows:
            return self.rows

    def __init__(self, *, id: str | None = None, empty: str = "", classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self.auto_links = False  # looked up for every line drawn otherwise
        self.empty = empty
        self.items: list[Row] = []
        self.known = False
        """Whether it was ever told what to hold: before that nobody knows that it is empty."""
        self.cursor = -1
        self._drawn: dict[int, list[Strip]] = {}
        self._tops: list[int] = [0]
        self._asked = -1
        self._lit_of: tuple[Row, int, Style] | None = None
        self._lit_strips: list[Strip] = []

    # --- what it holds

    @property
    def marked(self) -> Row | None:
        return self.items[self.cursor] if 0 <= self.cursor < len(self.items) else None

    def show(self, items: Sequence[Row], *, at: object = None, first: bool = False) -> None:
        """Hold other rows. The mark goes to the row with the key `at`, or to the `first`; else it stays."""
        wanted = None if first else at if at is not None else self.marked.key if self.marked else None
        before = 0 if first else self.cursor
        self.items, self._asked, self.known = list(items), -1, True
        keys = [row.key if row.item is not None else None for row in self.items]
        self.cursor = keys.index(wanted) if wanted is not None and wanted in keys else self._nearest(max(before, 0), 1)
        self._lay_out()
        self._tell()

    def add(self, items: Sequence[Row]) -> None:
        """Hold more rows behind those it has."""
        self.items += items
        self._lay_out(keep=True)

    def mark(self, index: int) -> None:
        """Mark the row at `index` and bring it into sight."""
        if index == self.cursor or not 0 <= index < len(self.items):
            return
        self.cursor = index
        self._tell()

    def _tell(self) -> None:
        self.refresh()
        self._into_sight()
        if row := self.marked:
            self.post_message(self.Marked(self, row))
        if len(self.items) - self.cursor < NEAR_END and self._asked != len(self.items):
            self._asked = len(self.items)
            self.post_message(self.Wanted(self))

    def _nearest(self, index: int, step: int) -> int:
        """The row at or behind `index` (before it, where `step` is negative) that can be marked; else any; else -1."""
        for way in (step, -step):
            here = min(max(index, 0), len(self.items) - 1)
            while 0 <= here < len(self.items):
                if self.items[here].item is not None:
                    return here
                here += way
        return -1

    # --- keys and mouse

    def action_go(self, step: int) -> None:
        there = self.cursor + step
        while 0 <= there < len(self.items) and self.items[there].item is None:
            there += step
        if 0 <= there < len(self.items):
            self.mark(there)
        elif step < 0:
            self.scroll_to(0, 0, animate=False)

    def action_page(self, step: int) -> None:
        top = self._tops[max(self.cursor, 0)] + step * max(1, self.size.height - 1)
        self.mark(self._nearest(bisect_right(self._tops, max(top, 0)) - 1, step))

    def action_end(self, step: int) -> None:
        self.mark(self._nearest(0 if step < 0 else len(self.items) - 1, -step))
        if step < 0:
            self.scroll_to(0, 0, animate=False)

    def action_choose(self) -> None:
        if row := self.marked:
            self.post_message(self.Chosen(self, row))

    def on_click(self, event: Click) -> None:
        line = event.y + self.scroll_offset.y - self.gutter.top
        index = bisect_right(self._tops, line) - 1
        if not 0 <= index < len(self.items) or self.items[index].item is None:
            return
        if index == self.cursor:
            self.action_choose()
        else:
            self.mark(index)

    def on_resize(self, event: Resize) -> None:
        if event.size.width != self.virtual_size.width:
            self._lay_out()
            self._into_sight()

    # --- drawing

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self._drawn.clear()

    def _lay_out(self, *, keep: bool = False) -> None:
        width = self.scrollable_content_region.width
        if not width:
            return
        if not keep:
            self._drawn.clear()
        self._tops = [0, *accumulate(self._height(n, width) for n in range(len(self.items)))]
        self._hold(Size(width, self._tops[-1]))
        self.refresh()

    def _height(self, index: int, width: int) -> int:
        """The lines of a row; one that draws itself has one, and is not drawn before it is seen."""
        return 1 if callable(self.items[index].text) else len(self._plain(index, width))

    def _hold(self, size: Size) -> None:
        # setting the virtual size lays the whole screen out again; nothing but the scrollbar changes with it
        self.set_reactive(Rows.virtual_size, size)
        self.show_vertical_scrollbar = size.height > self.container_size.height
        if self.show_vertical_scrollbar:
            self.vertical_scrollbar.window_virtual_size = size.height
        self.scroll_y = self.validate_scroll_y(self.scroll_y)

    def _into_sight(self) -> None:
        if 0 <= self.cursor < len(self._tops) - 1:
            top, end = self._tops[self.cursor : self.cursor + 2]
            first = top - 1 if self.cursor and self.items[self.cursor - 1].item is None else top  # with its heading
            self.scroll_to_region(Region(0, max(first, 0), 1, end - first), animate=False, force=True)

    def _plain(self, index: int, width: int) -> list[Strip]:
        if index not in self._drawn:
            heading = self.items[index].item is None
            base = self.visual_style + self.get_visual_style("rows--heading") if heading else self.visual_style
            self._drawn[index] = self._strips(index, width, base)
        return self._drawn[index]

    def _lit(self, index: int, width: int) -> list[Strip]:
        """The marked row; kept, as it is asked for line by line."""
        base = self.visual_style + self.get_visual_style("rows--marked")
        row, was = self.items[index], self._lit_of
        if was is None or was[0] is not row or was[1:] != (width, base):
            self._lit_of = row, width, base
            self._lit_strips = self._strips(index, width, base, marked=True)
        return self._lit_strips

    def _strips(self, index: int, width: int, base: Style, *, marked: bool = False) -> list[Strip]:
        row = self.items[index]
        room = max(4, width - row.gutter - 1)
        text = row.text(room) if callable(row.text) else row.text
        height = 1 if callable(row.text) else None
        body = Visual.to_strips(self, text, room, height, base, apply_selection=False) or [Strip.blank(room)]
        if len(body) > TALLEST:
            more = self._piece(Content.styled("…", "bold"), room, base)
            body = [*body[: TALLEST - 1], more]
        bar = "▌" if marked else " "
        first = self._piece(Content(bar) + row.mark, 1 + row.gutter, base)
        other = self._piece(Content(bar), 1 + row.gutter, base) if len(body) > 1 else first
        return [self._line(first if n == 0 else other, strip, width, base) for n, strip in enumerate(body)]

    def _piece(self, text: Content, width: int, base: Style) -> Strip:
        found = Visual.to_strips(self, text, width, 1, base, apply_selection=False)
        return found[0].adjust_cell_length(width, base.rich_style) if found else Strip.blank(width, base.rich_style)

    def _line(self, first: Strip, rest: Strip, width: int, base: Style) -> Strip:
        return Strip.join([first, rest]).adjust_cell_length(width, base.rich_style)

    def render_line(self, y: int) -> Strip:
        width, line = self.scrollable_content_region.width, y + self.scroll_offset.y
        plain = self.visual_style
        if not self.items:
            words = Content(self.empty if self.known else "")
            lines = Visual.to_strips(self, words, max(1, width - 3), None, plain, apply_selection=False)
            told = lines[y - 1] if 1 <= y <= len(lines) else Strip.blank(0)
            return self._line(self._piece(Content(""), 2, plain), told, width, plain)
        index = bisect_right(self._tops, line) - 1
        if index >= len(self.items) or width <= 0:
            return Strip.blank(width, plain.rich_style)
        strips = self._lit(index, width) if index == self.cursor else self._plain(index, width)
        return strips[min(line - self._tops[index], len(strips) - 1)]
