"""The pipe runs of a room: what state each is in, and which are one pipe."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize

from tui import drawing, keys
from tui.ask import run_told
from tui.bridge import Run, Where, wording
from tui.house import WIDE
from tui.pane import Beside, Pane
from tui.rows import Row, Rows
from tui.view import View


class RunsView(View):
    """Runs on the left, the steps of the marked one on the right."""

    name_ = "runs"
    title_ = "Pipe runs"
    BINDINGS = keys.bindings("runs")

    def __init__(self, room: str | None) -> None:
        super().__init__()
        self.room = room
        self._runs: dict[str, Run] = {}
        self._at: str | None = None

    def body(self) -> ComposeResult:
        with Horizontal(id="sides"):
            yield Rows(id="runs", classes="left", empty="No pipe is on record here. Press f for another room.")
            with Pane(classes="right"):
                yield Beside(id="run")

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width >= WIDE, "wide")

    def load(self) -> None:
        room = self.room
        if room is None and self.desk.job.rooms:
            room = self.room = self.desk.job.rooms[0].name
        self.head(drawing.said(f"Pipe runs · {drawing.room(room)}"))
        self.read(lambda: self.desk.pipes.runs(room), self._show)

    def _show(self, runs: list[Run]) -> None:
        self._runs = {run.key: run for run in runs}
        self.head(drawing.said(f"Pipe runs · {drawing.room(self.room)}"), wording.count(len(runs), "run"))
        self.query_one(Rows).show(list(_rows(runs)), at=self._at)
        self._at = None
        if not runs:
            self.query_one(Beside).tell(Content(""))

    @property
    def run(self) -> Run | None:
        row = self.query_one(Rows).marked
        return row.item if row and isinstance(row.item, Run) else None

    def on_rows_marked(self, message: Rows.Marked) -> None:
        if run := self.run:
            self.query_one(Beside).tell(Content("\n").join([*run_told(run), *self._kin(run)]))

    def _kin(self, run: Run) -> Iterator[Content]:
        named = (("Maybe the same pipe (m)", run.maybe_same), ("Tees off from it", run.branches),
                 ("It tees off from", (run.parent,) if run.parent else ()))  # fmt: skip
        for label, keys_ in named:
            others = [self._runs[key] for key in keys_ if key in self._runs]
            if others:
                yield Content("")
                yield Content.styled(label, "bold $text-secondary")
                yield from map(drawing.run, others)

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        from tui.room import RoomView

        if isinstance(message.row.item, Run):
            fact = message.row.item.steps[-1].fact
            self.review.jump(RoomView(Where(fact.room), fact))

    # --- deciding

    def action_choose_room(self) -> None:
        from tui.pick import pick_room

        self.review.push_screen(pick_room(self.desk, self.room, self._to))

    def _to(self, room: str) -> None:
        self.room = room
        self.reload()

    def action_same(self) -> None:
        if not (run := self.run):
            self.tell("no pipe is marked", bad=True)
            return
        others = [other for other in self._runs.values() if other.subject == run.subject and other.key != run.key]
        others.sort(key=lambda other: other.key not in run.maybe_same)
        options = [(drawing.run(other), other) for other in others]
        note = drawing.run(run).plain
        none = f"No other {run.subject} pipe is on record in this room."
        self._pick("Which is the same pipe as this?", note, options, lambda other: self._join(run, other), none)

    def _join(self, run: Run, other: Run) -> None:
        self.review.write(lambda: self.desk.pipes.join(run, other))
        self._at = next(key for key in self._runs if key in (run.key, other.key))  # the first one's key stays

    def action_two(self) -> None:
        if run := self.run:
            self.read(lambda: self.desk.pipes.one_with(run.key), lambda keys_: self._part(run, keys_), "kin")
        else:
            self.tell("no pipe is marked", bad=True)

    def _part(self, run: Run, joined: tuple[str, ...]) -> None:
        """Part what was joined by a person, or say of look-alikes that they are two."""
        facts = {f"{step.fact.memo}:{step.fact.n}": step.fact for step in run.steps}
        options = [
            (drawing.fact([facts[key]]) if key in facts else drawing.plain("what is on record no more"), key)
            for key in joined
        ]
        options += [(drawing.run(self._runs[key]), key) for key in run.maybe_same if key in self._runs]
        note = drawing.run(run).plain
        none = "Nobody said that it is one with another, and no other looks as if it were."
        self._pick(
            "Which is another pipe than this?",
            note,
            options,
            lambda key: self.review.write(lambda: self.desk.pipes.part(run.key, key)),
            none,
        )

    def _pick(
        self, title: str, note: str, options: list[tuple[Content, Any]], then: Callable[[Any], None], none: str
    ) -> None:
        from tui.pick import PickForm

        if options:
            self.review.push_screen(PickForm(self.desk, title, note, options, then))
        else:
            self.tell(none, bad=True)


def _rows(runs: list[Run]) -> Iterator[Row]:
    subject = ""
    for run in sorted(runs, key=lambda run: run.subject):
        if run.subject != subject:
            subject = run.subject
            yield Row(Content(subject.capitalize()), gutter=0)
        mark = Content.styled("≈" if run.maybe_same else " ", "$text-warning")
        yield Row(drawing.run(run), run, run.key, mark)
