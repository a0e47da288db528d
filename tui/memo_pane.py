"""A memo beside the log: its words, what was heard badly, what was put right, and where a fact was said."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from textual.app import ComposeResult
from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widgets import Static

from tui.bridge import Fact, Memo, Word, clean, wording
from tui.memo_words import Script, Words
from tui.pane import Pane

LEGEND = "(?) heard badly   [heard: …] put right   ‹said here›"


class MemoPane(Pane):
    """One memo. The cursor stands on a word; it can be moved by keys and by clicking."""

    @dataclass
    class WordChosen(Message):
        """The word under the cursor was clicked again."""

        pane: MemoPane

    @dataclass
    class Moved(Message):
        """A person moved the cursor to another word."""

        pane: MemoPane

    script: Script | None = None
    fact: Fact | None = None
    cursor = -1

    def compose(self) -> ComposeResult:
        yield Static("", id="memo-head", markup=False)
        yield Words(id="memo-words")
        yield Static("", id="memo-foot", markup=False)

    @property
    def memo(self) -> Memo | None:
        return self.script.memo if self.script else None

    def show(self, script: Script | None, fact: Fact | None = None) -> None:
        """Show a memo with the words of `fact`; the cursor goes to the first of them."""
        self.script, self.fact = script, fact
        self.cursor = script.at(fact.start) if script and fact else -1
        self._draw()

    def step(self, by: int) -> None:
        """Move the cursor by words."""
        if self.script and (count := len(self.script.words)):
            self._to(min(max(self.cursor + by, 0), count - 1))

    def _to(self, cursor: int) -> None:
        self.cursor = cursor
        self.post_message(self.Moved(self))
        self._draw(moved=True)

    def follow(self, second: float) -> None:
        """Move the cursor to the word that is heard at `second`."""
        words = self.script.words if self.script else ()
        here = bisect_right(words, second, key=lambda word: word.at or 0.0) - 1
        if here not in (-1, self.cursor):
            self.cursor = here
            self._draw(moved=True)

    def spoken(self, fact: Fact) -> tuple[float, float] | None:
        """The seconds of the first and last word of a fact; None where its words have none."""
        if self.script is None or self.script.memo.id != fact.memo:
            return None
        first, last = self.script.lit(fact)
        own = [word for word in self.script.words[first : last + 1] if word.at is not None]
        return (own[0].at or 0.0, own[-1].until or own[-1].at or 0.0) if own else None

    @property
    def word(self) -> Word | None:
        """The word under the cursor."""
        words = self.script.words if self.script else ()
        return words[self.cursor] if 0 <= self.cursor < len(words) else None

    def _draw(self, *, moved: bool = False) -> None:
        self.query_one(Words).show(self.script, self.fact, self.cursor)
        if not moved:
            head, foot = (self.query_one(f"#memo-{name}", Static) for name in ("head", "foot"))
            head.update(Content(clean(_heading(self.memo, self.fact)) if self.memo else ""))
            foot.update(LEGEND if self.memo else "")
        self.call_after_refresh(self._into_sight, moved)

    def _into_sight(self, moved: bool) -> None:
        """Bring the cursor into sight; where it only `moved`, no further than it must."""
        words = self.query_one(Words)
        line, height = words.virtual_region.y + words.line, self.size.height
        if words.size.width and not (moved and 0 <= line - self.scroll_offset.y < height):
            self.scroll_to(0, max(0, line - height // 3), animate=False)

    def on_click(self, event: Click) -> None:
        chosen = event.style.meta.get("word")
        if chosen is None:
            return
        if chosen == self.cursor:
            self.post_message(self.WordChosen(self))
        else:
            self._to(chosen)


def _heading(memo: Memo, fact: Fact | None) -> str:
    sure = "" if memo.sure_of_time else "time not sure"
    long = f"{wording.second(memo.seconds)} long" if memo.seconds else "typed"
    entry = f"entry {fact.id}" if fact and fact.id is not None else ""  # the number that commands take
    return " · ".join(part for part in (memo.id, entry, wording.moment(memo.at), memo.speaker, long, sure) if part)
