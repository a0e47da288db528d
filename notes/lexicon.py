"""The words of the trade, from data/terms.csv, and the job's own rooms: a light scan that needs no language library."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from typing import NamedTuple

from notes.errors import VoidbookError
from notes.model import ITEMS, MATERIALS, PIPES, Job, Room

_DATA = Path(__file__).parent / "data"
PAIRS = {"heating": ("heating flow", "heating return"), "ufh": ("ufh flow", "ufh return")}
_KEYS = {
    "service": frozenset(PIPES),
    "item": frozenset(ITEMS),
    "material": frozenset(MATERIALS),
    "pair": frozenset(PAIRS),
    "half": frozenset(("flow", "return")),
}


class Term(NamedTuple):
    """One way to say one thing: `words` are lower case, single spaces."""

    kind: str
    key: str
    words: str


class Hit(NamedTuple):
    """A term found at characters `start:end`."""

    kind: str
    key: str
    start: int
    end: int
    text: str


def data_file(name: str) -> Path:
    """Where a file of notes/data is."""
    return _DATA / name


def data_text(name: str) -> str:
    """The text of a file in notes/data."""
    return data_file(name).read_text(encoding="utf-8")


def data_rows(name: str) -> list[dict[str, str]]:
    """The rows of a table in notes/data, by its columns."""
    return list(csv.DictReader(data_text(name).splitlines()))


@lru_cache(maxsize=1)
def terms() -> tuple[Term, ...]:
    """All rows of terms.csv, checked. Raises VoidbookError with the line that is wrong."""
    found = []
    for number, row in enumerate(data_rows("terms.csv"), start=2):
        kind, key, words = row["kind"], row["key"], row["words"]
        if key not in _KEYS.get(kind, ()):
            raise VoidbookError(f"line {number}: no {kind!r} is called {key!r}", file="terms.csv")
        found.append(Term(kind, key, " ".join(words.lower().split())))
    return tuple(found)


def spaced(words: str) -> str:
    """A pattern for `words` that lets any white space or hyphen stand between them, and curly for straight quotes."""
    return r"[\s-]+".join(re.escape(w).replace("'", "['’]") for w in re.split(r"[\s-]+", words))


@dataclass(frozen=True)
class Lexicon:
    """The terms, overlaid with the rooms of one job."""

    terms: tuple[Term, ...]
    rooms: tuple[Room, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict, hash=False)
    """The job's own: what is heard -> what is meant."""

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        # thousands of terms: asked for with every memo
        return hash((self.terms, self.rooms))

    @cached_property
    def _table(self) -> dict[str, Term]:
        table = {_plain(t.words): t for t in self.terms}
        for room in self.rooms:
            for name in (room.name, *room.aliases):
                table[_plain(name)] = Term("room", room.name, name.lower())
        return table

    def scan(self, text: str) -> list[Hit]:
        """Terms and rooms in `text`, longest first, none overlapping, in order."""
        table, plain = self._table, _plain(text)
        said = sorted((words for words in table if words in plain), key=len, reverse=True)
        if not said:
            return []
        pattern = r"(?<!\w)(?:" + "|".join(map(spaced, said)) + r")(?!\w)"
        found = [(table[_plain(m.group())], m) for m in re.finditer(pattern, text, re.IGNORECASE)]
        return [Hit(term.kind, term.key, m.start(), m.end(), m.group()) for term, m in found]

    def room(self, name: str) -> Room | None:
        """The room called `name`, by name or nickname, in any case."""
        wanted = _plain(name)
        for room in self.rooms:
            if wanted in map(_plain, (room.name, *room.aliases)):
                return room
        return None


def _plain(words: str) -> str:
    return " ".join(re.split(r"[\s-]+", words.lower().replace("’", "'").strip()))


def load(job: Job | None = None) -> Lexicon:
    """The lexicon for `job`; without one, the trade's words alone."""
    return Lexicon(terms(), job.rooms, job.words) if job else Lexicon(terms())
