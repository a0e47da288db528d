"""Numbers as they are spoken or written, for what facts have no field for: clips, falls, elbows. Pure and light."""

from __future__ import annotations

import re

_LOW = (
    "nought", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_HIGH = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_VALUES = {w: n for n, w in enumerate(_LOW)} | {w: 10 * n for n, w in enumerate(_HIGH, 2)}
_ONE = rf"(?:{'|'.join(sorted(_VALUES, key=len, reverse=True))}|hundred)"
_AND_PART = re.compile(r" and a (half|quarter)$")

NUMBER = rf"(?:\d+(?:\.\d+)?|{_ONE}(?:[ -](?:and )?{_ONE})*(?: and a (?:half|quarter))?|half an?)"
"""A pattern for one number, spoken or in digits, to build others from."""


def number(words: str) -> float:
    """The value of words that NUMBER found: 'twenty-two', 'two and a half', 'six hundred', '1.5'."""
    text = " ".join(words.lower().split())
    if text[:1].isdigit():
        return float(text)
    if text.startswith("half"):
        return 0.5
    part = _AND_PART.search(text)
    total = 0
    for word in re.split(r"[ -](?:and )?", _AND_PART.sub("", text)):
        total = max(total, 1) * 100 if word == "hundred" else total + _VALUES[word]
    return total + ({"half": 0.5, "quarter": 0.25}[part[1]] if part else 0)
