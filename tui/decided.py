"""What people decided, the newest first; any of it can be taken back."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult
from textual.content import Content

from tui import drawing, keys
from tui.bridge import Decision, Kind, wording
from tui.rows import Row, Rows
from tui.view import View

MOST = 500


class DecidedView(View):
    """Decisions."""

    name_ = "decided"
    title_ = "What was decided"
    BINDINGS = keys.bindings("decided")

    def body(self) -> ComposeResult:
        yield Rows(id="decisions", empty="Nothing was decided yet.")

    _stand: frozenset[int | None] = frozenset()

    def load(self) -> None:
        self.read(lambda: self.desk.decide.decided(MOST), self._show)

    def _show(self, found: tuple[list[tuple[Decision, str]], frozenset[int | None]]) -> None:
        decisions, stand = found
        self._stand = stand
        self.head("What was decided", f"{len(stand)} stand{'s' if len(stand) == 1 else ''}")
        self.query_one(Rows).show(list(_rows(decisions, stand)))

    def action_undo(self) -> None:
        self.action_choose()

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        decision = message.row.item
        if isinstance(decision, Decision) and decision.id in self._stand:
            self.review.write(lambda: self.desk.decide.undo(decision.id), undos=0)
        else:
            self.trouble("that does not stand any more")


def _rows(decisions: list[tuple[Decision, str]], stand: frozenset[int | None]) -> Iterator[Row]:
    for decision, words in decisions:
        stands = decision.id in stand
        mark = Content("+" if stands else " ")
        yield Row(_line(decision, words, stands), decision, decision.id, mark)


def _line(decision: Decision, words: str, stands: bool) -> Content:
    back = "" if stands or decision.kind is Kind.UNDO else "  (taken back)"
    head = f"{decision.id}  {wording.moment(decision.at)} · {decision.who} · "
    return drawing.said((head, drawing.MUTED), words, (back, "italic"))
