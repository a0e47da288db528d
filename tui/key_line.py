"""The line at the bottom: the keys of the screen, as many as there is room for, help always among them."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content, Span
from textual.events import Click, Resize
from textual.style import Style
from textual.widgets import Static

from tui import keys
from tui.host import host

HELP = "everywhere.help"
GAP = "  "


class KeyLine(Static):
    """Keys and what they do; each can be clicked."""

    def __init__(self, screen: str) -> None:
        super().__init__("", markup=False)
        self._screen = screen

    def on_resize(self, event: Resize) -> None:
        self.draw()

    def draw(self) -> None:
        """Draw it again, as after a key was changed."""
        changed = host(self).set.keys
        self.update(drawn(self._screen, changed, self.size.width))

    async def on_click(self, event: Click) -> None:
        if action := event.style.meta.get("action"):
            call = keys.BY_ID[action].call
            await self.app.run_action(call, self.screen if not call.startswith("app.") else None)


def drawn(screen: str, changed: Mapping[str, str], width: int) -> Content:
    """The line at `width` columns."""
    labels = [(a.id, _key(a, screen, changed), a.short) for a in keys.of_screen(screen) if a.short]
    usable = [label for label in labels if label[1]]
    last = next(label for label in usable if label[0] == HELP)
    left = width - _size(last)
    kept = []
    for label in usable:
        if label is not last and _size(label) <= left:
            kept.append(label)
            left -= _size(label)
    text, spans = "", []
    for id, key, short in [*kept, last]:
        start = len(text)
        text += f"{key} {short}"
        spans.append(Span(start, start + len(key), "bold $text-accent"))
        spans.append(Span(start, len(text), Style.from_meta({"action": id})))
        text += GAP
    return Content(text.rstrip(), spans)


def _key(action: keys.Action, screen: str, changed: Mapping[str, str]) -> str:
    """The key to show; on a screen where one types, none that would be typed."""
    own = keys.keys_of(action, changed).split(",")
    if screen in keys.TYPED:
        own = [key for key in own if len(keys.named(key)) > 1 or not keys.named(key).isascii()]
    return keys.named(own[0]) if own else ""


def _size(label: tuple[str, str, str]) -> int:
    return len(label[1]) + 1 + len(label[2]) + len(GAP)
