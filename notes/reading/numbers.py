"""Spoken and written numbers, as typists and speech engines write them, with their units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from notes.reading.wordlists import words as listed

_SMALL = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
UNITS = {w: n for n, w in enumerate(_SMALL)}
TENS = {w: 10 * n for n, w in enumerate(_TENS, start=2)}
PLURAL = {w + "s": n for w, n in UNITS.items() if n > 1} | {"sixes": 6} | {w[:-1] + "ies": n for w, n in TENS.items()}
FRACTIONS = {"half": 0.5, "quarter": 0.25, "quarters": 0.25, "eighth": 0.125, "eighths": 0.125, "third": 1 / 3}
_GLYPHS = {"½": 0.5, "¼": 0.25, "¾": 0.75}  # fmt: skip

NUMERALS = {word: str(n) for word, n in (UNITS | TENS).items()}
"""Number words of one word -> figures: 'flat two' is 'flat 2'."""

MEASURES = {
    word: unit
    for unit in ("mm", "inch", "m", "foot", "bar", "millibar", "min", "hour", "other")
    for word in listed(f"measure-{unit}")
}
"""Words of measure -> unit; 'other' is any that no field has."""
_MILLI = frozenset(("milli", "millie", "milly", "mill", "mil", "mille"))
_DIGITS = re.compile(r"\d+(?:[.,]\d+)?")
_SLASH = re.compile(r"(\d+)/(\d+)")
_WEE_CLOCK = re.compile(r"\d{1,2}:\d\d")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number at tokens `start:end`; `unit` as in MEASURES' values, None where none was said.

    `plural` marks 'fifteens'. `inches` keeps the spoken inches where the unit is inch.
    """

    start: int
    end: int
    value: float
    unit: str | None = None
    plural: bool = False


def _at(words: Sequence[str], i: int) -> str:
    return words[i] if 0 <= i < len(words) else ""


def _skip(words: Sequence[str], i: int, *fillers: str) -> int:
    return i + 1 if _at(words, i) in fillers else i


def _fraction(words: Sequence[str], i: int) -> tuple[float, int] | None:
    """'and a half', 'and three quarters' from the 'and'; also a bare '1/4' after a whole number."""
    word = _at(words, i)
    if m := _SLASH.fullmatch(word):
        return (int(m[1]) / int(m[2]), i + 1) if int(m[2]) else None
    if word in _GLYPHS:
        return _GLYPHS[word], i + 1
    if word != "and":
        return None
    j = _skip(words, i + 1, "a", "an")
    if _at(words, j) in FRACTIONS:
        return FRACTIONS[_at(words, j)], j + 1
    if _at(words, j) == "three" and _at(words, _skip(words, j + 1, "-")) in ("quarters", "quarter"):
        return 0.75, _skip(words, j + 1, "-") + 1
    return None


def _two_digit(words: Sequence[str], i: int) -> tuple[int, int, bool] | None:
    word = _at(words, i)
    if word in TENS:
        j = _skip(words, i + 1, "-")
        last = _at(words, j)
        if 1 <= UNITS.get(last, 0) <= 9:
            return TENS[word] + UNITS[last], j + 1, False
        if 2 <= PLURAL.get(last, 0) <= 9:
            return TENS[word] + PLURAL[last], j + 1, True
        return TENS[word], i + 1, False
    if word in UNITS:
        return UNITS[word], i + 1, False
    if word in PLURAL:
        return PLURAL[word], i + 1, True
    return None


def _hundreds(words: Sequence[str], i: int, lead: int) -> tuple[int, int, bool]:
    """The rest after 'hundred': 'and ten', 'and seventy-five', 'one hundred ten'."""
    j = _skip(words, i, "and")
    rest = _two_digit(words, j)
    # 'two hundred twenty-two mil elbows' are so many elbows
    joined = rest is not None and (
        j > i or rest[0] in _AFTER_HUNDRED or _at(words, rest[1]) == "deep" or "depth" in words[max(0, i - 5) : i]
    )
    return (lead * 100 + rest[0], rest[1], rest[2]) if rest and joined else (lead * 100, i, False)


_AFTER_HUNDRED = frozenset((10, 25, 50, 60, 75))
"""Said straight after 'hundred' by those who leave the 'and' out: soil pipes and joists have such sizes."""


def _whole(words: Sequence[str], i: int) -> tuple[float, int, bool] | None:
    word = _at(words, i)
    if _DIGITS.fullmatch(word):
        if _at(words, i + 1) == "hundred":
            return float(word) * 100, i + 2, False
        many = _at(words, i + 1) == "s"  # the tokens of '15s'
        return float(word.replace(",", ".")), i + 1 + many, many or _packed(words, i)
    if m := re.fullmatch(r"(\d+)s", word):
        return float(m[1]), i + 1, True
    if word == "hundred":
        return _hundreds(words, i + 1, 1)
    first = _two_digit(words, i)
    if first is None:
        return None
    value, j, plural = first
    k = _skip(words, j, "-")
    if _at(words, k) == "hundred":
        return _hundreds(words, k + 1, value)
    if _at(words, j) == "thousand":
        return value * 1000, j + 1, False
    if _at(words, j) == "point" and (tenth := UNITS.get(_at(words, j + 1))) is not None:
        return value + tenth / 10, j + 2, False
    # 'one seventy-five', 'one-fifty', 'two twenty-five': hundreds left out, as depths are spoken
    second = _two_digit(words, k) if 1 <= value <= 9 and not plural and _at(words, i) in UNITS else None
    if second and value == 1 and _at(words, second[1]) in _ONE_OF:
        # 'need one twenty-five stop tap'
        return value, j, plural
    deep = bool(second) and value == 2 and _at(words, second[1] if second else i) == "deep"
    if second and second[0] >= 10 and not second[2] and (value == 1 or deep or second[0] in (25, 50, 75)):
        return value * 100 + second[0], second[1], False
    # the same as speech engines write it: 'one 75 deep'
    if value in (1, 2) and _at(words, k) in ("25", "50", "75") and _at(words, k + 1) == "deep":
        return value * 100 + int(words[k]), k + 1, False
    # 'two two mil': spoken digit by digit
    if second and second[0] <= 9 and value <= 2 and _at(words, second[1]) in MEASURES:
        return value * 10 + second[0], second[1], False
    return value, j, plural or _packed(words, i)


_ONE_OF = frozenset(
    "stop tap taps valve elbow tee coupler coupling isolator isolating lever pump fitting bend rad".split()
)
"""Behind 'one fifteen' they tell that it is one thing of that size."""


def _packed(words: Sequence[str], i: int) -> bool:
    """'a bag of fifteen': that many mm is what each of them is."""
    return i > 1 and words[i - 1] == "of" and words[i - 2] in ("bag", "bags", "box", "boxes")


def _number(words: Sequence[str], i: int) -> tuple[float, int, bool] | None:
    """A number from token i: value, token after it, whether plural."""
    word = _at(words, i)
    if word in _GLYPHS:
        return _GLYPHS[word], i + 1, False
    if m := _SLASH.fullmatch(word):
        return (int(m[1]) / int(m[2]), i + 1, False) if int(m[2]) else None
    found = _whole(words, i)
    if found is None:
        return None
    value, j, plural = found
    if (more := _fraction(words, j)) and (value < 100) and _at(words, j) != "and":
        return value + more[0], more[1], plural
    if more:
        return value + more[0], more[1], plural
    return value, j, plural


def _inch_words(words: Sequence[str], i: int) -> Quantity | None:
    """'inch and a half', 'half inch', 'three-quarter', 'an inch' with no number before."""
    word = _at(words, i)
    if MEASURES.get(word) == "inch" and word.startswith("inch"):
        more = _fraction(words, i + 1)
        return Quantity(i, more[1] if more else i + 1, 1 + (more[0] if more else 0), "inch")
    if word in ("half", "quarter") and MEASURES.get(_at(words, _skip(words, i + 1, "-"))) == "inch":
        return Quantity(i, _skip(words, i + 1, "-") + 1, FRACTIONS[word], "inch")
    if word in ("three", "3"):
        j = _skip(words, i + 1, "-")
        if _at(words, j) in ("quarter", "quarters", "quart", "eighth", "eighths"):
            unit_at = _skip(words, _skip(words, j + 1, "-"), "of")
            unit_at = _skip(words, unit_at, "an", "a")
            value = 3 * FRACTIONS.get(_at(words, j), 0.25)
            if MEASURES.get(_at(words, unit_at)) == "hour":
                return Quantity(i, unit_at + 1, value, "hour")
            end = unit_at + 1 if MEASURES.get(_at(words, unit_at)) == "inch" else j + 1
            return Quantity(i, end, value, "inch")
    return None


def _hour_words(words: Sequence[str], i: int) -> Quantity | None:
    """'half an hour', 'an hour and a half', 'half a metre', 'a bar and a half', 'a foot'."""
    word = _at(words, i)
    if word in ("half", "quarter"):
        j = _skip(words, _skip(words, i + 1, "of"), "an", "a")
        unit = MEASURES.get(_at(words, j))
        return Quantity(i, j + 1, FRACTIONS[word], unit) if unit and unit != "other" else None
    unit = MEASURES.get(word)
    if unit == "hour" and (minutes := _minutes_more(words, i + 1)):
        return Quantity(i, minutes[1], 1 + minutes[0] / 60, unit)
    if unit in ("hour", "m", "foot", "bar") and word not in ("m",):
        more = _fraction(words, i + 1)
        if unit == "m" and i >= 1 and _at(words, i - 1) in ("a", "one") and (rest := _centimetres(words, i + 1)):
            # 'a metre ten off the floor'
            return Quantity(i, rest[1], 1 + rest[0] / 100, unit)
        bare = unit == "foot" and _at(words, i + 1) in ("off", "from")
        if unit == "bar" and not more and _at(words, i - 1) == "the":
            # 'in the bar': a room
            return None
        if more or bare or _at(words, i - 1) in ("a", "an", "full", "whole", "one", "good", "the"):
            return Quantity(i, more[1] if more else i + 1, 1 + (more[0] if more else 0), unit)
    return None


def _minutes_more(words: Sequence[str], i: int) -> tuple[int, int] | None:
    """'hour and ten', 'an hour and twenty minutes' from the 'and': minutes, token after them."""
    number = _two_digit(words, i + 1) if _at(words, i) == "and" else None
    if number is None or not 5 <= number[0] <= 59:
        return None
    unit = MEASURES.get(_at(words, number[1]))
    return (number[0], number[1] + (unit == "min")) if unit in (None, "min") else None


def _centimetres(words: Sequence[str], i: int) -> tuple[int, int] | None:
    """'fifty' of 'one metre fifty': how many, token after them."""
    rest = _two_digit(words, i)
    return rest[:2] if rest and rest[0] >= 10 else None


_BEGINS = frozenset((*UNITS, *TENS, *PLURAL, *FRACTIONS, *_GLYPHS, *MEASURES, "hundred"))
"""Words that a number may begin with, besides figures."""


def quantities(words: Sequence[str]) -> list[Quantity]:
    """All numbers in `words` (lower case, hyphens as tokens of their own), left to right, none overlapping."""
    found: list[Quantity] = []
    i = 0
    while i < len(words):
        if words[i] not in _BEGINS and not words[i][:1].isdigit():
            i += 1
            continue
        if _WEE_CLOCK.fullmatch(words[i]):
            found.append(Quantity(i, i + 1, 0, "other"))
            i += 1
            continue
        q = _inch_words(words, i) or _hour_words(words, i)
        if q is None and (number := _number(words, i)):
            q = _with_unit(words, i, *number)
        if q is None:
            i += 1
        else:
            found.append(q)
            i = q.end
    return found


def _with_unit(words: Sequence[str], i: int, value: float, j: int, plural: bool) -> Quantity:
    k = _skip(words, j, "-")
    unit = MEASURES.get(_at(words, k))
    end = k + 1
    if _at(words, k) in _MILLI and _at(words, _skip(words, end, "-")) in ("bar", "bars"):
        # 'twenty milli bar', as speech engines write it
        unit, end = "millibar", _skip(words, end, "-") + 1
    if unit is None:
        return Quantity(i, j, value, None, plural)
    if unit in ("hour", "m", "bar", "inch") and (more := _fraction(words, end)):
        value, end = value + more[0], more[1]
    elif unit == "hour" and (minutes := _minutes_more(words, end)):
        value, end = value + minutes[0] / 60, minutes[1]
    if unit == "m" and (rest := _centimetres(words, end)):
        # 'one metre fifty'
        value, end = value + rest[0] / 100, rest[1]
    return Quantity(i, end, value, unit, plural)
