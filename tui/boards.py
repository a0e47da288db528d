"""Before the boards go up: which pipes no clear photo surely shows, and what is wrong with those that there are."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult
from textual.content import Content

from tui import drawing, keys
from tui.bridge import Where
from tui.bridge.pipes import Before, Board
from tui.rows import Row, Rows
from tui.view import View


class BoardsView(View):
    """The runs by what is to be done: covered unseen, open to see, shown."""

    name_ = "boards"
    title_ = "Before the boards"
    BINDINGS = keys.bindings("boards")

    def __init__(self, room: str | None) -> None:
        super().__init__()
        self.room = room

    def body(self) -> ComposeResult:
        yield Rows(id="boards", empty="No pipe is on record here. Press f for another room.")

    def load(self) -> None:
        room = self.room
        self.read(lambda: self.desk.pipes.before_boards(room), self._show)

    def _show(self, found: Before) -> None:
        place = drawing.room(self.room) if self.room else "all rooms"
        tally = f"{found.bare} of {len(found.boards)} pipes without a clear photo"
        self.head(drawing.said(f"Before the boards · {place}"), tally)
        self.query_one(Rows).show(list(_rows(found)))

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        from tui.room import RoomView

        if isinstance(message.row.item, Board):
            fact = message.row.item.run.steps[-1].fact
            self.review.jump(RoomView(Where(fact.room), fact))

    def action_choose_room(self) -> None:
        from tui.pick import pick_room

        self.review.push_screen(pick_room(self.desk, self.room, self._to, all_=True))

    def _to(self, room: str | None) -> None:
        self.room = room
        self.reload()


def _rows(found: Before) -> Iterator[Row]:
    for heading, part in found.parts():
        yield Row(drawing.said(f"{heading} ({len(part)})"), gutter=0)
        for board in part:
            mark = ("+", "$text-success bold") if board.shown else ("!", "$text-warning bold")
            yield Row(_line(board), board, board.run.key, Content.styled(*mark))
    if found.missing:
        yield Row(drawing.said("Photos told of that are not here"), gutter=0)
    for one in found.missing:
        yield Row(drawing.plain(one), one, str(one), Content.styled("!", "$text-warning bold"))


def _line(board: Board) -> Content:
    return drawing.run(board.run) + drawing.said((f" · {drawing.room(board.run.room)}: {board.named}", drawing.MUTED))
