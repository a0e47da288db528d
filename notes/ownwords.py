"""Checks the job's own words: what is heard -> what is meant. Pure; needs no language library."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from notes.lexicon import Hit, Lexicon
from notes.plain import clean


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is wrong with one of the job's own words, and what to do about it."""

    heard: str
    meant: str
    what: str
    todo: str


def doubts(words: Mapping[str, str], lexicon: Lexicon) -> list[Doubt]:
    """What is wrong with `words`, in their order, by the terms and rooms of `lexicon`."""
    return [
        Doubt(heard, meant, what, todo)
        for heard, meant in words.items()
        for what, todo in _wrong(heard, meant, words, lexicon)
    ]


def _wrong(heard: str, meant: str, words: Mapping[str, str], lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    if not heard.strip() or not meant.strip():
        yield "one side is empty", "drop it"
        return
    if clean(heard) != heard or clean(meant) != meant:
        yield "it has characters that can't be spoken", "type it again"
    if _even(heard) == _even(meant):
        yield "it means itself", "drop it"
        return
    yield from _too_wide(heard, meant, lexicon)
    if not lexicon.scan(meant):
        yield f"{meant!r} is no word of the trade and no room", "check its spelling; it is read as plain words"
    yield from _beside_others(heard, words)


def _too_wide(heard: str, meant: str, lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    """Words that are said all the time with their own meaning."""
    if len(heard.strip()) < 3 or _even(heard) in _EVERYDAY:
        yield f"{heard!r} is said all the time", "use a longer stretch of what is heard"
    elif (known := _whole(heard, lexicon)) and known.key not in {hit.key for hit in lexicon.scan(meant)}:
        yield f"{heard!r} is a word for {known.key} already", f"what is meant as {known.key} will be read as {meant!r}"


_EVERYDAY = frozenset(
    ("the", "and", "not", "but", "for", "was", "has", "had", "have", "with", "that", "this", "them", "all", "both",
     "done", "left", "need", "needs", "want", "wants", "one", "two", "three", "now", "here", "there", "it's")
)  # fmt: skip


def _whole(words: str, lexicon: Lexicon) -> Hit | None:
    hits = lexicon.scan(words)
    return hits[0] if len(hits) == 1 and hits[0].end - hits[0].start == len(words) else None


def _beside_others(heard: str, words: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    twins = [other for other in words if other != heard and _even(other) == _even(heard)]
    if twins and list(words).index(twins[0]) < list(words).index(heard):
        yield f"it is the same as {twins[0]!r}", "drop one of them"


def _even(words: str) -> str:
    return " ".join(words.lower().split())
