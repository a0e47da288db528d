"""The words of a memo, laid out once and drawn a line at a time: hours of speech cost a key no more than a minute."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from textual.content import Content, Span
from textual.geometry import Size
from textual.strip import Strip
from textual.style import Style
from textual.visual import Visual
from textual.widget import Widget

from tui.bridge import Fact, Memo, Word, clean, wording

DOUBTFUL = 0.5
"""Below this probability a word is marked."""
DOUBT = "(?)"
WIDEST = 1_000
"""Cells of one word that are shown at most: it would be no word."""

Line = tuple[int, int, int]
"""The chunks of a line, first and behind the last; of a chunk that is wider than a line, which piece of it this is."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """What stays on one line: a word with what stands at it, or what was heard in its place."""

    text: str
    word: int
    apart: bool
    """Whether a space stands before it."""
    doubtful: bool = False
    heard: bool = False

    @property
    def cells(self) -> int:
        wide = len(self.text) if self.text.isascii() else cell_len(self.text)
        return min(WIDEST, wide + (len(DOUBT) if self.doubtful else 0))


class Script:
    """A memo in chunks. `first` tells the first chunk of each word, and behind them how many there are."""

    def __init__(self, memo: Memo) -> None:
        self.memo = memo
        typed = [Word(m.group(), m.start(), m.end()) for m in re.finditer(r"\S+", memo.text)]
        self.words: Sequence[Word] = memo.words or typed
        self.chunks: list[Chunk] = []
        self.first: list[int] = []
        self._cut()
        self.first.append(len(self.chunks))
        self._sizes = [(chunk.cells, int(chunk.apart)) for chunk in self.chunks]
        self._starts, self._ends = [w.start for w in self.words], [w.end for w in self.words]

    def _cut(self) -> None:
        text, words = self.memo.text, self.words
        before = text[: words[0].start] if words else text
        apart = False
        for n, word in enumerate(words):
            behind = text[word.end : words[n + 1].start if n + 1 < len(words) else len(text)]
            said = before.strip() + text[word.start : word.end] + behind.rstrip()
            doubtful = word.sure is not None and word.sure < DOUBTFUL
            self.first.append(len(self.chunks))
            self.chunks.append(Chunk(_harmless(said), n, apart, doubtful))
            if heard := wording.misheard(word):
                self.chunks.append(Chunk(f"[heard: {_harmless(heard)}]", n, True, heard=True))
            before, apart = "", behind != behind.rstrip()

    def lit(self, fact: Fact | None) -> tuple[int, int]:
        """The first and last word of a fact; the last before the first where it has none."""
        if fact is None:
            return 0, -1
        return bisect_right(self._ends, fact.start), bisect_left(self._starts, fact.end) - 1

    def at(self, character: int) -> int:
        """The word at a character."""
        return max(0, bisect_right(self._starts, character) - 1) if self.words else -1

    def lines(self, width: int, lit: tuple[int, int]) -> list[Line]:
        """The chunks in lines of `width` cells."""
        found: list[Line] = []
        sizes = self._with_marks(lit)
        first = used = 0
        for n, (cells, space) in enumerate(sizes):
            if n > first and used + space + cells > width:
                found += _line(first, n, used, width)
                first, used = n, cells
            else:
                used += cells + (space if n > first else 0)
        return [*found, *_line(first, len(sizes), used, width)] if sizes else []

    def _with_marks(self, lit: tuple[int, int]) -> list[tuple[int, int]]:
        """The cells of each chunk, and of the space before it, with the signs around what is lit."""
        sizes = self._sizes.copy()
        for n in (self.first[lit[0]], self.first[lit[1] + 1] - 1) if lit[0] <= lit[1] else ():
            sizes[n] = (sizes[n][0] + 1, sizes[n][1])
        return sizes


def _line(first: int, end: int, used: int, width: int) -> list[Line]:
    return [(first, end, 0)] if used <= width else [(first, end, piece) for piece in range(-(-used // width))]


def _harmless(text: str) -> str:
    return text if text.isprintable() else clean(text)


class Words(Widget):
    """The words, in as many lines as they need; the cursor stands on one of them."""

    ALLOW_SELECT = False
    script: Script | None = None
    lit = (0, -1)
    cursor = -1

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.auto_links = False  # looked up for every line drawn otherwise
        self._lines: list[Line] = []
        self._laid: tuple[object, ...] = ()

    def show(self, script: Script | None, fact: Fact | None, cursor: int) -> None:
        """Show `script`, with the words of `fact` lit and the cursor on a word."""
        had = len(self._lines)
        self.script, self.lit, self.cursor = script, script.lit(fact) if script else (0, -1), cursor
        self._lay_out(self.content_size.width)
        self.refresh(layout=len(self._lines) != had)

    def _lay_out(self, width: int) -> None:
        wanted = (self.script, width, self.lit)
        if width > 0 and wanted != self._laid:
            self._laid = wanted
            self._lines = self.script.lines(width, self.lit) if self.script else []

    @property
    def line(self) -> int:
        """The line that the cursor is on."""
        if not self.script or self.cursor < 0:
            return 0
        return max(0, bisect_right(self._lines, self.script.first[self.cursor], key=lambda line: line[0]) - 1)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        self._lay_out(width)
        return len(self._lines)

    def render_line(self, y: int) -> Strip:
        width, base = self.content_size.width, self.visual_style
        if not 0 <= y < len(self._lines):
            return Strip.blank(width, base.rich_style)
        words = self.content(y)
        whole = max(width, words.cell_length)
        (strip,) = Visual.to_strips(self, words, whole, 1, base, apply_selection=False)
        piece = self._lines[y][2]
        return strip.crop(piece * width, (piece + 1) * width).adjust_cell_length(width, base.rich_style)

    def content(self, y: int) -> Content:
        """A line with its styles, whole where it is shown in pieces."""
        assert self.script
        first, end, _ = self._lines[y]
        text, spans = "", []
        for n in range(first, end):
            chunk = self.script.chunks[n]
            text += " " if chunk.apart and n > first else ""
            for part, styles in self._parts(n, chunk):
                spans += [Span(len(text), len(text) + len(part), style) for style in styles if style]
                text += part
        return Content(text, spans)

    def _parts(self, n: int, chunk: Chunk) -> list[tuple[str, tuple[str | Style, ...]]]:
        assert self.script
        within, here = self.lit[0] <= chunk.word <= self.lit[1], chunk.word == self.cursor
        said: tuple[str | Style, ...] = ("$muted italic",)
        if not chunk.heard:
            said = ("underline $text-warning" if chunk.doubtful else "", "bold $text-accent" if within else "",
                    "reverse" if here else "", Style.from_meta({"word": chunk.word}))  # fmt: skip
        opens = within and n == self.script.first[self.lit[0]]
        closes = within and n == self.script.first[self.lit[1] + 1] - 1
        return [("‹" if opens else "", ("bold",)), (chunk.text[:WIDEST], said),
                (DOUBT if chunk.doubtful else "", ("$text-warning",)), ("›" if closes else "", ("bold",))]  # fmt: skip
