"""Choosing one of several things, or a room of the job."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from textual.app import ComposeResult
from textual.content import Content

from tui import drawing
from tui.bridge import Desk
from tui.forms import Form
from tui.rows import Row, Rows

EVERYWHERE = "All rooms"


class PickForm(Form):
    """One of several things: enter takes it."""

    ok = "Take it (enter)"
    keys_ = "up, down: mark"

    def __init__(self, desk: Desk, title: str, note: str, options: Sequence[tuple[Content, Any]],
                 then: Callable[[Any], None], at: int = 0) -> None:  # fmt: skip
        super().__init__(desk)
        self.title_, self._note, self._options, self._then, self._at = title, note, options, then, at

    def note(self) -> Content:
        return drawing.plain(self._note)

    def ask(self) -> ComposeResult:
        rows = Rows(id="options")
        rows.styles.height = min(14, max(3, 2 * len(self._options)))
        yield rows

    def on_mount(self) -> None:
        rows = self.query_one(Rows)
        rows.show([Row(text, (value,), n, gutter=1) for n, (text, value) in enumerate(self._options)], at=self._at)
        rows.focus()

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        message.stop()
        self.query_one(Rows).mark(self.query_one(Rows).items.index(message.row))
        self.action_keep()

    def keep(self) -> None:
        if row := self.query_one(Rows).marked:
            self._then(row.item[0])  # type: ignore[index]


def pick_room(
    desk: Desk, now: str | None, then: Callable[[Any], None], *, title: str = "Which room", all_: bool = False
) -> PickForm:
    """One of the job's rooms, the present one marked; with `all_` all of them too, as None."""
    names: list[str | None] = [*([None] if all_ else []), *(room.name for room in desk.job.rooms)]
    options = [(drawing.plain(name or EVERYWHERE), name) for name in names]
    return PickForm(desk, title, "", options, then, names.index(now) if now in names else 0)
