"""What a job's rooms may be called: names and nicknames, numbers as they are spoken, bare nouns, last words. Pure."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache

from notes.model import Room
from notes.reading.numbers import NUMERALS
from notes.reading.wordlists import words as word_list

_HEADS = tuple(head.replace("_", " ") for head in sorted(word_list("room-heads")))


def called(rooms: Sequence[Room]) -> list[tuple[str, str]]:
    """(room, what it may be called)."""
    names = [(room.name, name) for room in rooms for name in (room.name, *room.aliases)]
    # 'boilerhouse'
    names += [(room, name.replace(" ", "")) for room, name in names if name.count(" ") == 1 and len(name) > 8]
    names += [(room, name[4:]) for room, name in names if name.lower().startswith("the ")]
    names += [(room, way) for room, name in names for way in _said_ways(name)]
    names += [(room.name, way) for room in rooms for way in _run_together((room.name, *room.aliases))]
    several = _of_several(rooms)
    return [(room, name) for room, name in names if squash(name) not in several]


def heads(rooms: Sequence[Room]) -> list[str]:
    """Bare nouns that may mean a room."""
    return list(dict.fromkeys((*_HEADS, *_shared_tails(tuple(room.name for room in rooms)), *_of_several(rooms))))


def _of_several(rooms: Sequence[Room]) -> list[str]:
    """What more than one room is called: the 'kitchen end' of each lodge."""
    count = Counter(name for room in rooms for name in {squash(name) for name in room.aliases})
    return [name for name, rooms_so_called in count.items() if rooms_so_called > 1]


@lru_cache(maxsize=8)
def _shared_tails(names: tuple[str, ...]) -> tuple[str, ...]:
    """What several rooms' names end in, said alone: the 'bunk room' of the shore house and of the top house."""
    tails = Counter(tail for name in names for tail in {" ".join(name.lower().split()[n:]) for n in range(1, 4)})
    return tuple(t for t, count in tails.items() if count > 1 and " " in t and not t[0].isdigit())


_IN_WORDS = {figure: word for word, figure in NUMERALS.items()}


def _said_ways(name: str) -> list[str]:
    """How else a name with a number is said: 'Flat 2 kitchen' as 'flat two kitchen', 'No 7' as 'number seven'."""
    low = squash(name).replace("no. ", "no ").split()
    spoken = [_IN_WORDS.get(w) or NUMERALS.get(w) or w for w in low]
    if spoken == low:
        return []
    ways = [spoken, *(["number" if w == "no" else w for w in way] for way in (low, spoken))]
    if len(low) > 2 and low[1].isdigit():
        # 'flat 2, room 1', 'room 1 in flat 2', 'two kitchen' for 'Flat 2 kitchen'
        for front, rest in ((low[:2], low[2:]), (spoken[:2], spoken[2:])):
            ways += [[*front, ",", *rest], [*rest, "in", *front], [*rest, ",", *front]]
        ways += [spoken[1:]] if not rest[-1].isdigit() and spoken[1] in NUMERALS else []
    # 'flat two's kitchen'
    ways += [[w + "'s" if w in NUMERALS or w.isdigit() else w for w in way] for way in (low, *ways)]
    return list(dict.fromkeys(" ".join(way) for way in ways if way != low))


def _run_together(names: Sequence[str]) -> list[str]:
    """'old shop' and 'shop floor' said as 'old shop floor'."""
    parts = [name.split() for name in names if name.count(" ") == 1 and not name.lower().startswith("the ")]
    return [f"{a} {b} {c}" for a, b in parts for first, c in parts if b.lower() == first.lower()]


def called_by_number(words: Sequence[str], i: int) -> bool:
    """Whether the word at i may name a room: a number only in 'In one, ...', 'Five. Hot's in.', 'in one, two and
    three', never in 'off each one' or 'four of them'; a word of all days only in 'out in the run', 'the well.'"""
    if words[i] in _COMMON:
        where, article = [".", ".", *words[max(0, i - 2) : i]][-2:]
        alone = article == "." and words[i + 1 : i + 2] == ["."]
        return alone or (article in ("the", "this", "our") and where in _WHERE)
    if words[i] not in NUMERALS and not words[i].isdigit():
        return True
    before, after = (words[i - 1] if i else "."), (words[i + 1] if i + 1 < len(words) else ".")
    if before in ("and", ",") and after in _ON_FROM_IT | {"and"}:
        return i > 1 and words[i - 2].isalnum() and words[i - 2] in NUMERALS and called_by_number(words, i - 2)
    return before in _BEFORE_IT and after in _ON_FROM_IT | {"and"}


_COMMON = word_list("room-common")
_WHERE = frozenset(". , in at out down over across up round".split())
_BEFORE_IT = frozenset((".", "in", "number", "now", "then", "next", "right", "is"))
_ON_FROM_IT = frozenset(".,:;") | frozenset("'s is the i we it there has have had now then next first".split())


def squash(words: str) -> str:
    return " ".join(words.lower().split())


@lru_cache(maxsize=8)
def last_words(rooms: Sequence[Room]) -> dict[str, str]:
    """The last word of a name, where it is one room's only: 'bays' of the training bays, 'walkway', 'showers'."""
    found: dict[str, set[str]] = {}
    for room in rooms:
        for name in (room.name, *room.aliases):
            if len(words := _words(name)) > 1:
                found.setdefault(words[-1], set()).add(room.name)
    return {w: next(iter(names)) for w, names in found.items() if len(names) == 1 and len(w) > 3 and w not in _NO_NAMES}


@lru_cache(maxsize=8)
def first_words(rooms: Sequence[Room]) -> dict[str, str]:
    """The first word of a room's name of two, where it is in no other room's: 'archway' of the archway passage."""
    used = Counter(w for room in rooms for w in {w for name in (room.name, *room.aliases) for w in _words(name)})
    found = {_words(room.name)[0]: room.name for room in rooms if len(_words(room.name)) == 2}
    return {w: room for w, room in found.items() if used[w] == 1 and len(w) > 4 and w not in _NO_NAMES | _WHICH}


def _words(name: str) -> list[str]:
    return re.findall(r"[\w']+", name.lower())


_NO_NAMES = word_list("room-no-names")
_WHICH = frozenset("first second third upper lower middle small little north south other spare public staff".split())
