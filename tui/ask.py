"""One prompt: words found in memos and facts, and the pipes that answer, as one types."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import DescendantFocus, Resize
from textual.geometry import Region
from textual.widgets import Input, Static

from tui import drawing, keys
from tui.bridge import Fact, Found, Run, Where, wording
from tui.house import WIDE
from tui.pane import Beside, Pane
from tui.rows import Row, Rows
from tui.view import View

SHORTEST = 2
"""Fewer letters find everything and tell nothing."""
LINES = 4
"""Lines that an answer takes, about: while one types no more are read than can be seen."""
MOST = 100
"""So many answers are read once a person goes to them."""
HINT = "As in: where does the hot return finish in the main bathroom"


@dataclass(frozen=True, slots=True)
class Answer:
    """What answers the words that were typed; `runs` is None where a trace would take long."""

    found: list[Found]
    all_met: bool
    runs: list[Run] | None
    nearly: str = ""
    """What is to be told where the best run is not quite what is asked for."""


class Prompt(Input):
    """A line to type into, whose size never depends on what is in it: the screen is not laid out for a letter."""

    def refresh(self, *regions: Region, repaint: bool = True, layout: bool = False, recompose: bool = False) -> Self:
        return super().refresh(*regions, repaint=repaint, recompose=recompose)


class AskView(View):
    """Answers below the prompt; the whole of the marked one beside them."""

    name_ = "ask"
    title_ = "Ask: find words, trace a pipe"
    BINDINGS = keys.bindings("ask")
    AUTO_FOCUS = "Input"

    def body(self) -> ComposeResult:
        with Horizontal(classes="prompt"):
            yield Static("Ask ", markup=False, classes="label")
            yield Prompt(placeholder=HINT, id="asked", compact=True)
        yield Static("", id="ask-note", markup=False)
        with Horizontal(id="sides"):
            yield Rows(id="answers", classes="left")
            with Pane(classes="right"):
                yield Beside(id="answer")

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width >= WIDE, "wide")

    def load(self) -> None:
        self.head(self.title_)
        self.read(lambda: self.desk.words, lambda _: _settle(), "words")  # before the first letter asks for them
        self._ask(whole=False)

    def on_input_changed(self, event: Input.Changed) -> None:
        self._ask(whole=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._ask(whole=True)
        self.query_one(Rows).focus()

    def _ask(self, *, whole: bool) -> None:
        words = self.query_one(Input).value
        if len(words.strip()) < SHORTEST:
            self._show(Answer([], True, []))
            self._note("")
            return
        self._asked, self._whole = words, whole
        self._most = MOST if whole else max(8, self.size.height // LINES)
        self._find(words, self._most)

    def _find(self, words: str, most: int) -> None:
        self.read(lambda: self.desk.find(words, most), self._found)

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Whoever goes to the answers wants all of them."""
        if isinstance(event.widget, Rows) and len(self._answer.found) == self._most < MOST:
            self._most = MOST
            self._find(self._asked, MOST)

    def _note(self, text: str) -> None:
        if text != self._noted:
            self._noted = text
            self.query_one("#ask-note", Static).update(Content(text), layout=False)

    _noted = ""
    _answer = Answer([], True, [])
    _asked = _shown = ""
    _most = 0
    _whole = False
    _beside: Row | None = None

    def _found(self, result: tuple[list[Found], bool]) -> None:
        self._show(Answer(*result, self._answer.runs, self._answer.nearly))
        self.call_after_refresh(self._trace)  # not beside it: two threads would stand in each other's way

    def _trace(self) -> None:
        words, whole = self._asked, self._whole
        self.read(lambda: self._pipes(words, whole=whole), self._traced, "trace")

    def _pipes(self, words: str, *, whole: bool) -> tuple[list[Run] | None, str]:
        runs = self.desk.pipes.trace(words, whole=whole)
        return runs, self.desk.pipes.nothing_so(words, runs)

    def _traced(self, told: tuple[list[Run] | None, str]) -> None:
        if told != (self._answer.runs, self._answer.nearly):
            self._show(Answer(self._answer.found, self._answer.all_met, *told))

    def _show(self, answer: Answer) -> None:
        self._answer = answer
        nothing = not answer.found and not answer.runs
        notes = [
            "to trace a pipe name its room or service, or press enter" if answer.runs is None and not nothing else ""
        ]
        nearly = answer.nearly[:1].lower() + answer.nearly[1:].rstrip(":")
        notes += ["nothing on record says that" if nothing else nearly]
        self._note("; ".join(note for note in notes if note))
        fresh, self._shown = self._asked != self._shown, self._asked
        rows = self.query_one(Rows)
        # whoever still types has marked nothing yet: the best answer is marked, though pipes come after words
        rows.show(list(_rows(answer, self._most)), first=fresh or not rows.has_focus)
        self._tell(rows.marked)  # at once, so that the screen is laid out once

    def action_list(self) -> None:
        self.query_one(Rows).focus()

    def on_rows_marked(self, message: Rows.Marked) -> None:
        self._tell(message.row)

    def _tell(self, row: Row | None) -> None:
        if row is self._beside:
            return
        self._beside, item = row, row.item if row else None
        lines = run_told(item) if isinstance(item, Run) else _found_told(item) if isinstance(item, Found) else ()
        self.query_one(Beside).tell(Content("\n").join(lines))

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        from tui.room import RoomView

        if fact := fact_of(message.row.item):
            self.review.jump(RoomView(Where(fact.room), fact))
        else:
            self.trouble("that memo has no entry to go to")


def _settle() -> None:
    """What is there by now stays: else it is all looked through for litter while one types, 50 ms at a time."""
    if not gc.get_freeze_count():
        gc.freeze()


def fact_of(item: object) -> Fact | None:
    """The fact to go to from an answer: the last one of a run, the first one of a memo."""
    if isinstance(item, Run):
        return item.steps[-1].fact
    return item.facts[0] if isinstance(item, Found) and item.facts else None


def _rows(answer: Answer, most: int) -> Iterator[Row]:
    if answer.runs:
        yield Row(Content(f"Pipes ({len(answer.runs)})"), gutter=0)
    for run in (answer.runs or [])[:20]:
        yield Row(Content.assemble(drawing.run(run), (f" · {drawing.room(run.room)}", drawing.MUTED)), run, run.key)
    if answer.found:
        many = len(answer.found)
        count = f"the first {many}" if many == most else f"{many}"
        part = "" if answer.all_met else "; no memo has all of these words"
        yield Row(Content(f"Said ({count}{part})"), gutter=0)
    for found in answer.found:
        head = " · ".join(part for part in (found.memo, wording.moment(found.at), found.speaker) if part)
        yield Row(Content.assemble(drawing.said((head, drawing.MUTED)), "\n", drawing.snippet(found.snippet)), found,
                  found.memo)  # fmt: skip


def run_told(run: Run) -> Iterator[Content]:
    yield drawing.said((f"{run.subject} · {drawing.room(run.room)}", "bold"))
    length = f"{run.length_m:g} m" if run.length_m is not None else ""
    passes = ", ".join(room for room in run.rooms if room != run.room)
    pairs = (
        ("state", ", ".join(run.state)), ("pipe", " ".join(w for w in (wording.pipe(run), length) if w)),
        ("from", run.from_), ("to", run.to), ("where", run.place), ("passes", passes),
    )  # fmt: skip
    for name, words in pairs:
        if words:
            yield drawing.said((f"{name:10}", drawing.MUTED), words)
    yield Content("")
    for step in run.steps[-30:]:
        said = f" {wording.moment(step.memo_at)}, {wording.source(step.fact.memo, step.fact.second)}: "
        yield Content.assemble(drawing.sign(step.fact), drawing.said((said, drawing.MUTED), step.fact.quote))


def _found_told(found: Found) -> Iterator[Content]:
    yield drawing.snippet(found.snippet)
    yield Content("")
    for facts in wording.alike(found.facts):
        where = f" ({drawing.room(facts[0].room)})"
        yield Content.assemble(drawing.sign(facts[0]), " ", drawing.fact(facts), (where, drawing.MUTED))
