"""How many photos a memo says were taken ('two pictures of the manifold'): 0 where it gives no number.

A single 'a photo' is no number: people say it of three as well. Pure, and without spaCy.
"""

from __future__ import annotations

import re
from functools import lru_cache

from notes.lexicon import Lexicon
from notes.reading.numbers import UNITS
from notes.reading.wordlists import pattern, words

_NUMBERS = {**UNITS, "couple": 2, "pair": 2, "half a dozen": 6, "dozen": 12}
_CLAUSE = re.compile(r"[.;:!?\n]|\bbut\b")
_NOT_TAKEN = pattern("photos-not-taken")


def photos_counted(text: str, lexicon: Lexicon) -> int:
    """The sum of the numbers said of photos in clauses that tell nothing of photos not taken, or yet to take."""
    if not _counted().search(text.lower()):
        return 0
    clauses = _CLAUSE.split(_without_rooms(text, lexicon).lower().replace("’", "'"))
    return sum(_in_clause(clause) for clause in clauses if not _NOT_TAKEN.search(clause))


def _without_rooms(text: str, lexicon: Lexicon) -> str:
    """The two of 'bed 2 photos taken' counts no photos."""
    for hit in reversed(lexicon.scan(text)):
        if hit.kind == "room":
            text = text[: hit.start] + "_" + text[hit.end :]
    return text


def _in_clause(clause: str) -> int:
    numbers = [found["before"] or found["after"] for found in _counted().finditer(clause)]
    return sum(int(number) if number.isdecimal() else _NUMBERS[number] for number in numbers)


@lru_cache(maxsize=1)
def _counted() -> re.Pattern[str]:
    number = rf"[1-9]\d?|{'|'.join(sorted(_NUMBERS, key=len, reverse=True))}"
    kinds, photos = "|".join(words("photo-kinds")), "|".join(words("photos"))
    told_before = "".join(rf"(?<!\b{word} )" for word in ("the", "them", "those", "these"))
    return re.compile(
        rf"{told_before}\b(?P<before>{number}) (?:(?:{kinds}) ){{0,2}}(?:{photos})\b"
        rf"|\b(?:{photos}),? (?P<after>{number})(?= actually| in all| of (?:them|it|that)|\W*$)"
    )
