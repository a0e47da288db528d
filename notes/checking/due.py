"""The day that a plan is due, from words like 'by Thursday' or 'tomorrow', relative to the day of the memo. Pure."""

from __future__ import annotations

import re
from bisect import bisect_right
from datetime import date, timedelta
from functools import lru_cache

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_NAMED = re.compile(
    rf"(?<!last )\b(next |this |a week on )?({'|'.join(_DAYS)})(?:'s|’s)?(?! (?:just gone|gone))\b|"
    r"\b(today|tonight|this (?:aft|avo|afternoon|evening)|tomorrow|end of (?:the )?week|next week)\b",
    re.IGNORECASE,
)
_PAST = re.compile(r"\b(?:since|was|were|rang|spoke|told|last|came|did|been)\b(?: (?!by\b)\w+){0,2}\s*$", re.IGNORECASE)
_PLAIN = {"tomorrow": 1, "next week": 7}


def due(words: str, day: date) -> str | None:
    """The ISO date that `words`, said on `day`, name for a plan; None where they name none. Weekdays are the next."""
    for match in _NAMED.finditer(words):
        which, weekday, plain = match.groups()
        if weekday and not _PAST.search(words[: match.start()]):
            ahead = (_DAYS.index(weekday.lower()) - day.weekday() - 1) % 7 + 1
            week = 7 if (which or "").lower().startswith("a week") else 0
            return (day + timedelta(days=ahead + week)).isoformat()
        if plain:
            return (day + timedelta(days=_ahead(plain.lower(), day))).isoformat()
    return None


def _ahead(plain: str, day: date) -> int:
    return max(4 - day.weekday(), 0) if plain.startswith("end of") else _PLAIN.get(plain, 0)


@lru_cache(maxsize=1024)  # each judgement asks for it anew
def sentence(text: str, start: int, end: int) -> str:
    """The sentence of `text` that holds the characters `start:end`."""
    starts, ends = _bounds(text)
    first, last = bisect_right(starts, start) - 1, bisect_right(ends, max(end - 1, start))
    return _between(text, starts[first], ends[last] if last < len(ends) else len(text))


@lru_cache(maxsize=256)
def _bounds(text: str) -> tuple[list[int], list[int]]:
    """Where sentences start and end, looked for once in a memo: one of an hour has hundreds of facts."""
    starts = [0, *(m.end() for m in re.finditer(r"[.?!]\s+", text))]
    return starts, [m.end() for m in re.finditer(r"[.?!](?:\s|$)", text)]


@lru_cache(maxsize=16384)
def _between(text: str, first: int, last: int) -> str:
    return text[first:last].strip()


@lru_cache(maxsize=16384)
def tells(pattern: re.Pattern[str], sentence: str) -> bool:
    """Whether a sentence has what `pattern` looks for; a long one holds many facts, and is asked for each."""
    return pattern.search(sentence) is not None
