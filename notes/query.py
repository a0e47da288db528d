"""Plain words -> an FTS5 expression that says the same in all the trade's ways. Pure; never raises on any text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache

from notes.lexicon import Lexicon

_TOKEN = re.compile(r"[^\W_]+")
_STOP = frozenset((
    "a", "an", "and", "are", "at", "by", "did", "do", "does", "for", "from", "has", "have", "i", "in", "is", "it", "of",
    "on", "or", "our", "that", "the", "their", "they", "to", "was", "we", "were", "what", "when", "where", "which",
    "who", "with", "you", "s", "mm", "mil",
))  # fmt: skip

_INCH_MM = {
    "1/4": (8,), "3/8": (10,), "1/2": (15,), "3/4": (20, 22), "1": (25, 28), "1 1/4": (32, 35), "1 1/2": (40, 42),
    "2": (50, 54), "4": (100, 108, 110),
}  # fmt: skip
"""Trade sizes in inches and the nominal millimetres that go by that name: steel and fittings, copper, waste."""
_INCH_SAID = {
    "1/4": "quarter inch", "3/8": "three eighth", "1/2": "half inch", "3/4": "three quarter", "1": "inch",
    "1 1/4": "inch and a quarter", "1 1/2": "inch and a half", "2": "two inch", "4": "four inch",
}  # fmt: skip
_INCH_WAYS = {
    "1/4": r"1/4|¼|quarter[ -]inch", "3/8": r"3/8|three[ -]eighths?", "1/2": r"1/2|½|half[ -](?:an[ -])?inch",
    "3/4": r"3/4|¾|three[ -]quarters?", "1 1/4": r"1[ -]?(?:1/4|¼)|inch and a quarter|one and a quarter",
    "1 1/2": r"1[ -]?(?:1/2|½)|inch and a half|one and a half",
    "2": r'(?:2|two)[ -]?(?:inch(?:es)?|")', "4": r'(?:4|four)[ -]?(?:inch(?:es)?|")',
    "1": r'(?:1|one)[ -]?(?:inch|")',
}  # fmt: skip
_INCHES = "|".join(rf"(?P<i{n}>(?<!\w)(?:{way})(?!\w))" for n, way in reversed(list(enumerate(_INCH_WAYS.values()))))

_UNITS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_SPOKEN = {
    f"{t} {u}" if u else t: 20 + 10 * i + j for i, t in enumerate(_TENS) for j, u in enumerate(["", *_UNITS[1:10]])
}
_SPOKEN |= {word: n for n, word in enumerate(_UNITS) if n > 5} | {"hundred and ten": 110, "hundred and eight": 108}
_MM = (
    r"(?<![\w./])(?:(?P<digits>\d{1,3})|(?P<spoken>"
    + "|".join(w.replace(" ", "[ -]") for w in sorted(_SPOKEN, key=len, reverse=True))
    + r"))(?![./]?\d)[ -]?(?:mm|mils?|millimetres?)?(?!\w)"
)

Ways = tuple[str, ...]
"""The ways to say one thing, as plain words; any of them will do."""


def ways(text: str, lexicon: Lexicon) -> list[Ways]:
    """What `text` asks for, one thing after the other, each in every way that the trade says it."""
    found = sorted(_spans(text, lexicon), key=lambda span: (span[0], -span[1]))  # the longest of those that begin alike
    said: list[Ways] = []
    here = 0
    for start, end, phrases in found:
        if start >= here:
            said += [(word,) for word in _TOKEN.findall(text[here:start])]
            said.append(phrases)
            here = end
    said += [(word,) for word in _TOKEN.findall(text[here:])]
    kept = [w for w in said if not (len(w) == 1 and w[0].lower() in _STOP)]
    return kept or said


def expression(text: str, lexicon: Lexicon, *, any_of: bool = False, typing: bool = False) -> str | None:
    """The FTS5 expression for `text`: all it asks for, or any of it. None where it holds no word.

    `typing` lets the last word be the beginning of one.
    """
    found = groups(ways(text, lexicon), text, typing=typing)
    return joined(found, any_of=any_of) if found else None


def groups(asked: Iterable[Ways], text: str, *, typing: bool = False) -> list[str]:
    """The FTS5 expression for each thing that is `asked`: the `ways` of `text`."""
    found = [group for group in map(_group, asked) if group]
    if typing and found and found[-1].count('"') == 2 and not text[-1:].isspace():
        found[-1] += "*"
    return list(dict.fromkeys(found))


def of_what(asked: Iterable[Ways], subject: str, room: str | None) -> int:
    """How much of what is `asked` names the subject and the room of a fact, not just its words: one for each thing
    that names either or a part of its name, one more for a room by its whole name."""
    return sum(max((_names(phrase, subject, room or "") for phrase in phrases), default=0) for phrases in asked)


@lru_cache(maxsize=65536)  # of a thousand hits most are of the same few subjects and rooms
def _names(phrase: str, subject: str, room: str) -> int:
    said, thing, place = map(_bare, (phrase, subject, room))
    if not said:
        return 0
    return 2 if said == place else int(any(f" {said} " in f" {name} " for name in (thing, place)))


@lru_cache(maxsize=65536)
def _bare(text: str) -> str:
    return " ".join(_TOKEN.findall(text.lower()))


def joined(groups: Iterable[str], *, any_of: bool) -> str:
    """The expression for all of them, or for any."""
    return (" OR " if any_of else " AND ").join(f"({group})" for group in groups)


def _group(phrases: Iterable[str]) -> str:
    # only letters and digits reach FTS5, and those in quotes: nothing of its syntax can be typed
    bare = dict.fromkeys(" ".join(_TOKEN.findall(phrase)) for phrase in phrases)
    return " OR ".join(f'"{phrase}"' for phrase in bare if phrase)


def _spans(text: str, lexicon: Lexicon) -> Iterator[tuple[int, int, Ways]]:
    """Trade words, rooms and sizes in `text`, where they stand."""
    for match in re.finditer(_INCHES, text, re.IGNORECASE):
        name = list(_INCH_WAYS)[int((match.lastgroup or "i0")[1:])]
        sizes = [way for mm in _INCH_MM[name] for way in _mm_ways(mm)]
        yield match.start(), match.end(), (name, _INCH_SAID[name], *sizes)
    for match in re.finditer(_MM, text, re.IGNORECASE):
        mm = int(match["digits"]) if match["digits"] else _SPOKEN[" ".join(re.split("[ -]", match["spoken"].lower()))]
        yield match.start(), match.end(), _mm_ways(mm)
    for hit in lexicon.scan(text):
        yield hit.start, hit.end, _same(hit.kind, hit.key, text[hit.start : hit.end].lower(), lexicon)


def _mm_ways(mm: int) -> Ways:
    spoken = next((words for words, n in _SPOKEN.items() if n == mm), None)
    ways = (str(mm), f"{mm}mm", f"{mm}mil")
    return (*ways, spoken) if spoken else ways


_CLASSES = frozenset(("appliance", "fitting", "valve"))
"""Terms that stand for many things: who asks for a stopcock wants no other valve."""
_ALIKE: tuple[Ways, ...] = (
    ("stop tap", "stoptap", "stopcock", "stop cock", "stop valve"),
    ("isolation valve", "isolating valve", "isolator", "isolators", "service valve"),
    ("drain cock", "drain off", "drain off cock", "drain valve"),
    ("blending valve", "blender", "mixing valve", "mixer valve", "thermostatic mixer", "tmv", "tmvs"),
    ("radiator valve", "rad valve", "trv", "trvs"),
    ("outside tap", "garden tap", "bib tap"),
    ("washing machine", "washer"),
)


def _same(kind: str, key: str, said: str, lexicon: Lexicon) -> Ways:
    """All that means the same as a term: the trade's other words for it, a room's nicknames."""
    if kind == "room":
        room = lexicon.room(key)
        return (key, *room.aliases) if room else (key,)
    if key in _CLASSES and said.removesuffix("s") != key:
        return next((alike for alike in _ALIKE if said.removesuffix("s") in alike or said in alike), (said,))
    return (key, *(term.words for term in lexicon.terms if (term.kind, term.key) == (kind, key)))
