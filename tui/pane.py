"""What stands beside a list: a pane that keys scroll once tab has gone there, and the words in it."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Resize
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

    _words = Content("")

    def __init__(self, *, id: str) -> None:
        super().__init__("", id=id, markup=False)

    def tell(self, words: Content) -> None:
        """Show other words, from their beginning."""
        self._words = words
        was = self._fit()
        self.update(words, layout=was or self.has_class("tall"))
        if was and isinstance(self.parent, Pane):
            self.parent.scroll_home(animate=False)

    def on_resize(self, event: Resize) -> None:
        self._fit()

    def _fit(self) -> bool:
        """As high as the pane, or as its words where these are higher; whether they were."""
        was, pane = self.has_class("tall"), self.parent
        if isinstance(pane, Pane) and (width := self.content_size.width):
            self.set_class(self._words.get_height({}, width) > pane.scrollable_content_region.height, "tall")
        return was
