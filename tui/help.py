"""Help for the screen one is on: what can be done, with which key, and the command that does the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Click
from textual.screen import ModalScreen
from textual.style import Style
from textual.widgets import Static

from tui import keys
from tui.host import host


class HelpView(ModalScreen[str | None]):
    """All keys of a screen; a click on a line does what it says, and gives the id of the action."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,question_mark,f1,q,enter", "leave", "Close")]

    def __init__(self, screen: str) -> None:
        super().__init__()
        self._of = screen

    def compose(self) -> ComposeResult:
        changed: Mapping[str, str] = host(self).set.keys
        with VerticalScroll(id="help"):
            yield Static(Content("\n").join(lines(self._of, changed)), markup=False)

    def on_click(self, event: Click) -> None:
        self.dismiss(event.style.meta.get("action"))

    def action_leave(self) -> None:
        self.dismiss(None)


def lines(screen: str, changed: Mapping[str, str]) -> Iterator[Content]:
    """The help of a screen, line by line."""
    yield Content.styled("On this screen", "bold $text-secondary")
    yield from _table(screen, changed)
    for key, line in keys.LISTS:
        yield _line(key, line, "")
    yield Content("")
    yield Content.styled("Anywhere", "bold $text-secondary")
    yield from _table(keys.EVERYWHERE, changed)
    yield Content("")
    yield Content.styled("+ done   - not done   > to do   ? not sure   x no longer wanted   ! failed", "$muted")
    yield Content.styled("!! high   ! medium   · low   ~ reminder", "$muted")
    yield Content.styled("esc closes this; a click on a line does it", "$muted")


def _table(screen: str, changed: Mapping[str, str]) -> Iterator[Content]:
    for action in keys.ACTIONS:
        if action.screen == screen:
            line = _line(keys.named(keys.keys_of(action, changed)), action.line, action.command)
            yield line.stylize(Style.from_meta({"action": action.id}))


def _line(key: str, line: str, command: str) -> Content:
    same = f"\n{'':16}{command}" if command else ""
    return Content.assemble((f"{key:<15} ", "bold $text-accent"), line, (same, "$muted"))
