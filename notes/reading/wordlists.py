"""Word lists and short patterns that rules lean on, from data/words.toml."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from functools import lru_cache
from typing import Any

from notes.errors import VoidbookError
from notes.lexicon import data_text

FILE = "words.toml"
_KEYS = frozenset(("about", "words", "any"))


def parse(text: str) -> dict[str, tuple[str, ...]]:
    """Every list by name. Raises VoidbookError naming the list and what is wrong with it."""
    return {name: _entry(name, raw) for name, raw in tomllib.loads(text).items()}


def _entry(name: str, raw: dict[str, Any]) -> tuple[str, ...]:
    if unknown := sorted(set(raw) - _KEYS):
        raise VoidbookError(f"{name}: no key {unknown[0]!r}", file=FILE, todo=f"allowed: {', '.join(sorted(_KEYS))}")
    if not raw.get("about") or ("words" in raw) == ("any" in raw):
        raise VoidbookError(f"{name}: wants 'about', and one of 'words' and 'any'", file=FILE)
    entries = tuple(raw["words"].split()) if "words" in raw else tuple(raw["any"])
    if twice := [entry for entry, n in Counter(entries).items() if n > 1]:
        raise VoidbookError(f"{name}: {twice[0]!r} stands there twice", file=FILE)
    if "any" in raw:
        _compiled(name, entries)
    elif loud := [word for word in entries if word != word.lower()]:
        raise VoidbookError(f"{name}: {loud[0]!r} must be in lower case", file=FILE)
    return entries


def _compiled(name: str, entries: tuple[str, ...]) -> re.Pattern[str]:
    try:
        return re.compile("|".join(entries))
    except re.error as wrong:
        raise VoidbookError(f"{name}: not a pattern: {wrong}", file=FILE) from wrong


@lru_cache(maxsize=1)
def _lists() -> dict[str, tuple[str, ...]]:
    return parse(data_text(FILE))


def words(name: str) -> frozenset[str]:
    """The words of a list."""
    return frozenset(_lists()[name])


def pattern(name: str, before: str = "", after: str = "") -> re.Pattern[str]:
    """A pattern that fits any entry of a list, between `before` and `after`."""
    joined = "|".join(_lists()[name])
    return re.compile(f"{before}(?:{joined}){after}" if before or after else joined)
