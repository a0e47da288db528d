"""What stands beside a list: a pane that keys scroll once tab has gone there, and the words in it."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static


class Pane(VerticalScroll, can_focus=True, inherit_bindings=False):
    """The right half. A click leaves the keys with the list; left and right are the screen's."""

    FOCUS_ON_CLICK = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_up", "Up", show=False),
        Binding("down", "scroll_down", "Down", show=False),
        Binding("pageup", "page_up", "Page up", show=False),
        Binding("pagedown", "page_down", "Page down", show=False),
        Binding("home", "scroll_home", "First", show=False),
        Binding("end", "scroll_end", "Last", show=False),
    ]


class Beside(Static):
    """Words that fill their pane: the screen is laid out again only where they are longer than that."""

    _tall = False

    def __init__(self, *, id: str) -> None:
        super().__init__("", id=id, markup=False)

    def tell(self, words: Content) -> None:
        """Show other words, from their beginning."""
        pane = self.parent
        assert isinstance(pane, Pane)
        width, height = self.content_size.width, pane.scrollable_content_region.height
        tall = not width or words.get_height({}, width) > height
        self.update(words, layout=tall or self._tall)
        if self._tall:
            pane.scroll_home(animate=False)
        self._tall = tall
