"""A memo beside the log: its words, what was heard badly, what was put right, and where a fact was said."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from textual.app import ComposeResult
from textual.content import Content, Span
from textual.events import Click
from textual.message import Message
from textual.style import Style
from textual.widgets import Static

from tui.bridge import Fact, Memo, Word, clean, wording
from tui.pane import Pane

DOUBTFUL = 0.5
"""Below this probability a word is marked."""
LEGEND = "(?) heard badly   [heard: …] put right   ‹said here›"


def words_of(memo: Memo) -> Sequence[Word]:
    """The words of a memo; those of a typed one are what stands between spaces."""
    return memo.words or [Word(m.group(), m.start(), m.end()) for m in re.finditer(r"\S+", memo.text)]


class _Drawing:
    """Text that grows, with its styles and where the cursor came to stand."""

    def __init__(self, lit: Fact | None) -> None:
        self.text, self.spans, self.lit = "", [], lit  # type: tuple[str, list[Span], Fact | None]
        self.begun, self.cursor_at = False, 0

    def put(self, text: str, *styles: str | Style) -> None:
        start = len(self.text)
        self.text += clean(text)
        self.spans += [Span(start, len(self.text), style) for style in styles if style]

    def word(self, n: int, word: Word, said: str, *, here: bool) -> None:
        lit = self.lit
        within = lit is not None and word.start < lit.end and word.end > lit.start
        if lit is not None and within and not self.begun:
            self.begun = True
            self.put("‹", "bold")
        if here:
            self.cursor_at = len(self.text)
        doubtful = word.sure is not None and word.sure < DOUBTFUL
        styles = ["underline $text-warning" if doubtful else "", "bold $text-accent" if within else ""]
        self.put(said, *styles, "reverse" if here else "", Style.from_meta({"word": n}))
        self.put("(?)" if doubtful else "", "$text-warning")
        self.put(f" [heard: {word.raw}]" if word.raw else "", "$muted italic")
        if lit is not None and within and word.end >= lit.end:
            self.put("›", "bold")


def drawn(memo: Memo, lit: Fact | None, cursor: int) -> tuple[Content, int]:
    """The memo's words, those of the fact `lit` marked, and where in them the cursor stands."""
    drawing, here = _Drawing(lit), 0
    for n, word in enumerate(words_of(memo)):
        drawing.put(memo.text[here : word.start])
        drawing.word(n, word, memo.text[word.start : word.end], here=n == cursor)
        here = word.end
    drawing.put(memo.text[here:])
    return Content(drawing.text, drawing.spans), drawing.cursor_at


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

    memo: Memo | None = None
    fact: Fact | None = None
    cursor = -1

    def compose(self) -> ComposeResult:
        yield Static("", id="memo-head", markup=False)
        yield Static("", id="memo-words", markup=False)
        yield Static("", id="memo-foot", markup=False)

    def show(self, memo: Memo | None, fact: Fact | None = None, note: str = "") -> None:
        """Show `memo` with the words of `fact`; the cursor goes to the first of them."""
        self.memo, self.fact = memo, fact
        if memo:
            starts = [word.start for word in words_of(memo)]
            self.cursor = max(0, bisect_right(starts, fact.start) - 1) if fact and starts else -1
        self._draw(note)

    def step(self, by: int) -> None:
        """Move the cursor by words."""
        if self.memo and (count := len(words_of(self.memo))):
            self._to(min(max(self.cursor + by, 0), count - 1))

    def _to(self, cursor: int) -> None:
        self.cursor = cursor
        self.post_message(self.Moved(self))
        self._draw(moved=True)

    def follow(self, second: float) -> None:
        """Move the cursor to the word that is heard at `second`."""
        words = words_of(self.memo) if self.memo else ()
        here = max((n for n, word in enumerate(words) if word.at is not None and word.at <= second), default=-1)
        if here not in (-1, self.cursor):
            self.cursor = here
            self._draw(moved=True)

    def spoken(self, fact: Fact) -> tuple[float, float] | None:
        """The seconds of the first and last word of a fact; None where its words have none."""
        words = words_of(self.memo) if self.memo and self.memo.id == fact.memo else ()
        own = [w for w in words if w.start < fact.end and w.end > fact.start and w.at is not None]
        return (own[0].at or 0.0, own[-1].until or own[-1].at or 0.0) if own else None

    @property
    def word(self) -> Word | None:
        """The word under the cursor."""
        words = words_of(self.memo) if self.memo else ()
        return words[self.cursor] if 0 <= self.cursor < len(words) else None

    def _draw(self, note: str = "", *, moved: bool = False) -> None:
        head, text, foot = (self.query_one(f"#memo-{name}", Static) for name in ("head", "words", "foot"))
        if self.memo is None:
            head.update("")
            text.update(Content(clean(note)))
            foot.update("")
            return
        content, cursor_at = drawn(self.memo, self.fact, self.cursor)
        head.update(Content(clean(_heading(self.memo, self.fact))))
        text.update(content)
        foot.update(LEGEND)
        self.call_after_refresh(self._into_sight, content[: cursor_at + 1], moved)

    def _into_sight(self, until: Content, moved: bool) -> None:
        """Bring the word that ends `until` into sight; where the cursor only `moved`, no further than it must."""
        words = self.query_one("#memo-words")
        if not words.size.width:
            return
        line, height = words.virtual_region.y + until.get_height({}, words.size.width) - 1, self.size.height
        if not moved or not 0 <= line - self.scroll_offset.y < height:
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
