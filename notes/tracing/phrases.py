"""Finds the phrases of a table in a few words, the longest first. A pattern would take longer to build than to use."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

_TOKEN = re.compile(r"\d+\.\d+|[a-z0-9&]+(?:['’][a-z]+)*|[.,;:?!]")
_OWN = re.compile(r"['’]s$")


def tokens(text: str) -> list[str]:
    """Words in lower case without the 's of an owner; a stop is a word of its own, so that no phrase goes across it."""
    return [_OWN.sub("", token) for token in _TOKEN.findall(text.lower())]


class Found(NamedTuple):
    """A phrase: what the table calls it, its words, and the word after it."""

    key: str
    words: str
    after: str


class Phrases:
    """A table from phrases to what they mean."""

    def __init__(self, pairs: Iterable[tuple[str, str]]) -> None:
        self._keys = {tuple(tokens(words)): key for words, key in pairs}
        self._longest = max(map(len, self._keys), default=0)

    def find(self, text: str) -> list[Found]:
        """The phrases in `text`, none overlapping."""
        return self.split(text)[0]

    def split(self, text: str) -> tuple[list[Found], str]:
        """The phrases in `text`, and the words that are in none of them."""
        said, found, rest, at = tokens(text), [], [], 0
        while at < len(said):
            if size := self._size(said, at):
                words, after = tuple(said[at : at + size]), said[at + size : at + size + 1]
                found.append(Found(self._keys[words], " ".join(words), "".join(after)))
            else:
                rest.append(said[at])
            at += size or 1
        return found, " ".join(rest)

    def _size(self, said: list[str], at: int) -> int:
        most = min(self._longest, len(said) - at)
        return next((n for n in range(most, 0, -1) if tuple(said[at : at + n]) in self._keys), 0)
