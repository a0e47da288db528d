"""Phrase patterns over nodes: `left|leave _3 open`, matched around their rarest word.

A pattern is words with a space between: `a|b` a choice, `x?` optional, `_3` up to three words, `~3` up to three words
inside a noun phrase, `ADV` up to one adverb, `SVC ITEM ROOM MAT NUM SIZE BAR TIME DAY` a kind of node, other capitals
a list from macros.csv; `turned_up` is two words, or one node of that name ('stop_end').
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from notes.errors import VoidbookError
from notes.lexicon import data_rows
from notes.reading.mentions import DAYS, Node
from notes.reading.wordlists import words as word_list

_ADVERBS, _NOT_IN_NOUN, _FREQUENT = word_list("adverbs"), word_list("not-in-noun"), word_list("frequent")
_BREAKS = frozenset((",", ".", ";", "?", "!"))
_TAGS = {
    "SVC": ("SVC",), "ITEM": ("ITEM",), "ROOM": ("ROOM",), "MAT": ("MAT",), "NUM": ("Q-num",),
    "SIZE": ("Q-num", "Q-mm", "Q-inch"), "LEN": ("Q-m", "Q-foot"), "BAR": ("Q-bar", "Q-millibar"),
    "TIME": ("Q-min", "Q-hour"),
}  # fmt: skip
_NAMES = frozenset((*_TAGS, "ADV", "DAY"))


@dataclass(frozen=True, slots=True)
class Step:
    """One place in a pattern: words or tags that fit it, or a gap of up to `gap` nodes."""

    words: frozenset[str] = frozenset()
    tags: frozenset[str] = frozenset()
    optional: bool = False
    gap: int = 0
    noun: bool = False

    def fits(self, node: Node) -> bool:
        return node.norm in self.words or (bool(self.tags) and node.tag in self.tags)

    def skips(self, node: Node) -> bool:
        """Whether a gap may run over this node."""
        return node.norm not in (_NOT_IN_NOUN if self.noun else _BREAKS)


@dataclass(frozen=True, slots=True)
class Pattern:
    """A compiled row: steps before the anchor, nearest first, the anchor, steps after it."""

    label: str
    before: tuple[Step, ...]
    anchor: Step
    after: tuple[Step, ...]
    next: frozenset[str] | None = None
    last: frozenset[str] | None = None
    """Words and tags one of which must stand right behind the anchor, and right before it: most patterns end there."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A pattern's label found over nodes `start:end`."""

    label: str
    start: int
    end: int


@lru_cache(maxsize=1)
def macros() -> dict[str, tuple[str, ...]]:
    """Names in capitals that stand for a choice of words."""
    return {r["name"]: tuple(r["words"].split()) for r in data_rows("macros.csv")}


def macro_words(*names: str) -> frozenset[str]:
    """The words of several of them."""
    return frozenset(word for name in names for word in macros()[name])


def tags_of(word: str) -> tuple[str, ...]:
    """The node tags a class word stands for; none for a plain word."""
    return _TAGS.get(word, ())


def options(word: str) -> list[str]:
    """The choices of one pattern word, lists from macros.csv filled in."""
    return [o for part in word.rstrip("?").split("|") for o in macros().get(part, (part,))]


def _step(word: str) -> Step:
    if word.rstrip("?") == "ADV":
        return Step(words=_ADVERBS, optional=True)
    if word[0] in "_~" and word[1:].isdigit():
        return Step(gap=int(word[1:]), noun=word[0] == "~")
    choice = options(word)
    tags = {t for o in choice for t in _TAGS.get(o, ())}
    words = {o for o in choice if o not in _TAGS and o != "DAY"} | (DAYS if "DAY" in choice else set())
    return Step(frozenset(words), frozenset(tags), optional=word.endswith("?"))


def _ways(words: Sequence[str]) -> Iterator[list[Step]]:
    """A row's steps; choices of two words ('turned_up') give rows of their own."""
    if not words:
        yield []
        return
    double = [o for o in options(words[0]) if "_" in o.strip("_") and o[0] not in "_~"]
    for rest in _ways(words[1:]):
        yield [_step(words[0]), *rest]
        for option in double:
            yield [*(Step(frozenset((w,))) for w in option.split("_")), *rest]


def _rarity(step: Step) -> float:
    if step.gap or step.optional:
        return 1e9
    return len(step.words) + 40 * len(step.tags) + 60 * len(step.words & _FREQUENT)


def compile_row(label: str, words: str) -> list[Pattern]:
    """The patterns of one row. Raises VoidbookError where none is sure to match, or capitals name nothing."""
    if unknown := [o for word in words.split() for o in options(word) if o != o.lower() and o not in _NAMES]:
        raise VoidbookError(f"{label}, {words!r}: nothing is called {unknown[0]!r}")
    out = []
    for steps in _ways(words.split()):
        best = min(range(len(steps)), key=lambda n: _rarity(steps[n]))
        if _rarity(steps[best]) >= 1e9:
            raise VoidbookError(f"{label}, {words!r}: needs a word that is not optional")
        before, after = tuple(reversed(steps[:best])), tuple(steps[best + 1 :])
        out.append(Pattern(label, before, steps[best], after, _must(after), _must(before)))
    return out


def _must(steps: Sequence[Step]) -> frozenset[str] | None:
    """What has to stand beside the anchor, where something has to."""
    if not steps or steps[0].gap or steps[0].optional:
        return None
    return steps[0].words | steps[0].tags


class Beside:
    """The patterns of one anchor, by what has to stand right behind it: most end there."""

    def __init__(self) -> None:
        self.any: list[Pattern] = []
        self.next: dict[str, list[Pattern]] = {}

    def add(self, p: Pattern) -> None:
        for name in p.next or ():
            self.next.setdefault(name, []).append(p)
        if p.next is None:
            self.any.append(p)


class Matcher:
    """Finds many patterns over a row of nodes."""

    def __init__(self, rows: Sequence[tuple[str, str]]) -> None:
        self.by_word: dict[str, Beside] = defaultdict(Beside)
        self.by_tag: dict[str, Beside] = defaultdict(Beside)
        for label, words in rows:
            for p in compile_row(label, words):
                for word in p.anchor.words:
                    self.by_word[word].add(p)
                for tag in p.anchor.tags:
                    self.by_tag[tag].add(p)

    def __call__(self, row: Sequence[Node]) -> list[Phrase]:
        """All matches, the longest at each anchor, in order."""
        found = set()
        names = [(node.norm, node.tag) for node in row]
        names.append(("", ""))  # stands behind the last node, and before the first
        for i, (norm, tag) in enumerate(names[:-1]):
            after, before = names[i + 1], names[i - 1]
            for anchored in (self.by_word.get(norm), self.by_tag.get(tag)):
                if anchored is None:
                    continue
                for p in (*anchored.any, *(p for name in after for p in anchored.next.get(name, ()))):
                    if p.last is not None and p.last.isdisjoint(before):
                        continue
                    end = _reach(row, i + 1, 1, p.after)
                    start = _reach(row, i - 1, -1, p.before) if end is not None else None
                    if start is not None and end is not None:
                        found.add(Phrase(p.label, start + 1, end))
        return sorted(found, key=lambda f: (f.start, -f.end, f.label))


def _reach(row: Sequence[Node], i: int, step: int, steps: Sequence[Step], at: int = 0) -> int | None:
    """The node after the furthest match of `steps[at:]` from node i in one direction; None where they don't fit."""
    for n in range(at, len(steps)):
        first = steps[n]
        if first.gap:
            return _over_gap(row, i, step, steps, n)
        fits = 0 <= i < len(row) and first.fits(row[i])
        if first.optional:
            taken = _reach(row, i + step, step, steps, n + 1) if fits else None
            if taken is not None:
                return taken
        elif fits:
            i += step
        else:
            return None
    return i


def _over_gap(row: Sequence[Node], i: int, step: int, steps: Sequence[Step], at: int) -> int | None:
    """The same where `steps[at]` is a gap: its furthest end."""
    best = _reach(row, i, step, steps, at + 1)
    for j in range(i, i + step * steps[at].gap, step):
        if not 0 <= j < len(row) or not steps[at].skips(row[j]):
            break
        longer = _reach(row, j + step, step, steps, at + 1)
        best = longer if longer is not None else best
    return best
