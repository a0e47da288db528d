"""The line at the bottom: the keys of the screen, as many as there is room for, help always among them."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content, Span
from textual.events import Click, Resize
from textual.style import Style
from textual.widgets import Static

from tui import keys
from tui.host import host


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
    wanted = [a for a in keys.of_screen(screen) if a.short and a.id != "everywhere.help"]
    labels = {a.id: (keys.named(keys.keys_of(a, changed).split(",")[0]), a.short) for a in wanted}
    help_key = keys.named(keys.keys_of(keys.BY_ID["everywhere.help"], changed).split(",")[0])
    left = width - len(help_key) - len(" Help")
    text, spans = "", []
    for id, (key, short) in [*labels.items(), ("everywhere.help", (help_key, "Help"))]:
        size = len(key) + len(short) + 3
        if id != "everywhere.help":
            if size > left:
                continue
            left -= size
        start = len(text)
        text += f"{key} {short}"
        spans += [
            Span(start, start + len(key), "bold $text-accent"),
            Span(start, len(text), Style.from_meta({"action": id})),
        ]
        text += "  "
    return Content(text.rstrip(), spans)
