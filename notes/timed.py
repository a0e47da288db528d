"""Words with their times as short JSON: most of a book is these. Pure.

`[at, long, sure, start, end, raw]` a word, from hundredths of a second, hundredths, ten-thousandths; what is at the end
and empty is left out. Without `start` and `end` it is the next stretch of the text without white space, as nearly every
word is. A checksum of the text stands beside them: the words have no letters of their own to hold against it.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from notes.model import Word

_NEXT = re.compile(r"\S+")


def packed(words: Iterable[Word], text: str) -> dict[str, Any]:
    """The words of `text` with a checksum, ready for JSON."""
    short = list(_short(words, text))
    return {"crc": zlib.crc32(text.encode("utf-8", "surrogatepass")), "words": short}


def unpacked(data: Mapping[str, Any], text: str) -> tuple[Word, ...]:
    """The words that `packed` was given, to the hundredth of a second. Raises what a broken value raises."""
    return tuple(_long(data["words"], text))


def agree(data: Mapping[str, Any], text: str) -> bool:
    """Whether the text has not changed since its words were packed; books had no checksum before."""
    return "crc" not in data or data["crc"] == zlib.crc32(text.encode("utf-8", "surrogatepass"))


def _short(words: Iterable[Word], text: str) -> Iterator[list[Any]]:
    here = 0
    for word in words:
        found = _NEXT.search(text, here)
        place = (None, None) if found and found.span() == (word.start, word.end) else (word.start, word.end)
        at, until = _times(word.at, 100), _times(word.until, 100)
        long = None if until is None else until - (at or 0)
        row = [at, long, _times(word.sure, 10_000), *place, word.raw]
        while row and row[-1] is None:
            row.pop()
        yield row
        here = word.end


def _times(value: float | None, by: int) -> int | None:
    return None if value is None else round(value * by)


def _long(short: Iterable[list[Any]], text: str) -> Iterator[Word]:
    here = 0
    for row in short:
        whole: list[Any] = row + [None] * (6 - len(row))
        at, long, sure, start, end, raw = whole
        if start is None:
            found = _NEXT.search(text, here)
            if found is None:
                raise ValueError("there are more words than the text has")
            start, end = found.span()
        until = None if long is None else ((at or 0) + long) / 100
        seconds = None if at is None else at / 100
        yield Word(text[start:end], start, end, seconds, until, None if sure is None else sure / 10_000, raw)
        here = end
