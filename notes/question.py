"""Plain speech -> what is asked for: rooms, services, fixtures, sizes, materials, states, and the words left over."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from notes.lexicon import PAIRS, Lexicon, terms
from notes.model import ITEMS, MATERIALS, PIPES, Job, Room
from notes.tracing.ends import named, telling
from notes.tracing.phrases import Found, Phrases

_WANTS = r"(?:(?:wants?|needs?)(?: its| a| some)?|(?:still )?to be|waiting (?:for|on)(?: its| a| some)?)"
_STATES = {
    "capped": r"capped|caps?|stop(?:ped)?[ -]end\w*|(?:stopped|closed) off|bung\w*|plugg\w*|blank\w*",
    "open": r"open|left|hanging|loose|what (?:did|have) (?:\w+ ){1,2}leave",
    "connected": r"connected|connect|piped(?: up)?|joined|hooked up|plumbed in",
    "not tested": r"untested|(?:not|never|nobody|\w+n't|no|without)(?: been| yet| a| any| ever)* (?:test\w*|pressure)|"
    rf"{_WANTS} test\w*",
    "tested": r"test(?:ed|s)?|hold(?:s|ing)?|held|pass(?:ed)?(?! (?:through|under|over|along|by))|under pressure|gauge",
    "not insulated": r"unlagged|uninsulated|(?:not|never|\w+n't|no|without)(?: been| yet| any)* (?:lagg\w*|insulat\w*)|"
    rf"{_WANTS} (?:lagg\w*|insulat\w*)",
    "insulated": r"lagg\w*|insulat\w*",
    "covered": r"cover\w*|board\w*|til(?:ed|es)|screed\w*|plaster\w*|box\w*|panel\w*|sheet\w*|clos(?:ed|ing) up|"
    r"buried|backfilled|filled (?:in|back|over)|hidden",
    "dropped": r"dropped|scrubbed|cancelled|not happening",
    "removed": r"removed|taken out|cut out|stripped",
    "failed": r"fail\w*|leak\w*",
    "temporary": r"temporary|for now",
}
_YES_NO = re.compile(r"\s*(?:is|are|was|were|has|have|had|did|do|does|can|could)\b", re.IGNORECASE)
_ANY = re.compile(
    r"\b(?:any|anything|all|every|everything|which|list|what(?:'s| is| are)? (?:still|left|not))\b", re.IGNORECASE
)
_ALL = re.compile(r"\b(?:both|all(?! right)|every\w*|each)\b")
_UPPER = re.compile(r"first|second|third|fourth|upper|top|loft|attic|roof", re.IGNORECASE)
_COUNTED = re.compile(r"ground|first|second|third|fourth|upper|lower|top|\d\w*", re.IGNORECASE)
_LOWER = re.compile(r"ground|lower|basement|cellar", re.IGNORECASE)
_ENDS = re.compile(r"\b(?:stops?|(?<!in the )ends?|finish(?:es)?|terminates?|left off|tails?)\b")
_FROM = re.compile(r"\b(?:from|off|after|beyond) (?:the |its |his )?((?!(?:still|yet|now|in|and)\b)\w+(?: \w+)?)")
_PIPES = re.compile(r"\b(?:pipes?|pipework|tails?|feeds?|drops?)\b")
_OF_A_FIXTURE = r"(?! (?:hot|cold|wastes?|soil|gas|oil|flow|returns?|condensate|pipes?|pipework|tails?|feeds?)\b)"
"""'The shower waste' names no room, even where one is called 'Shower block'."""
_HALF = {"flow": ("heating flow", "ufh flow"), "return": ("hot return", "heating return", "ufh return")}
_THING = re.compile(
    r"\b(?:still (?:going|getting|having|coming|wanted|happening)|(?:getting|having|putting|fitting) (?:an?|the|in)|"
    r"going in|been (?:fitted|hung)|"
    r"fitted|hung|ordered|arrived|come(?! (?:up|out|in|down|through|off|from|across|along))|"
    r"turned up|scrubbed|cancelled)\b"
)
_FITTED = frozenset(ITEMS) - {"fitting", "clips", "insulation", "joist", "wall", "floor", "sleeve"}
"""Items that somebody may ask for; walls and floors only say where."""
_DRAINS = frozenset(("drain", "drains", "drainage"))
_NUMBERS = {
    "six": 6, "eight": 8, "ten": 10, "twelve": 12, "fifteen": 15, "sixteen": 16, "eighteen": 18, "twenty": 20,
    "twenty-two": 22, "twenty-five": 25, "twenty-eight": 28, "thirty-two": 32, "thirty-five": 35, "forty": 40,
    "forty-two": 42, "fifty": 50, "fifty-four": 54, "sixty-three": 63, "hundred and ten": 110,
    "inch and a quarter": 32, "inch and a half": 40, "two inch": 50, "four inch": 110,
}  # fmt: skip
_COUNTS = dict(zip("123456789", "one two three four five six seven eight nine".split(), strict=True))
_COUNTS |= {word: digit for digit, word in _COUNTS.items()}
_SIZE = re.compile(
    r"(?<![\w-])(?:(\d{1,3}(?:\.\d)?)(?: ?mm| mil)?|("
    + "|".join(sorted((n.replace("-", "[ -]") for n in _NUMBERS), key=len, reverse=True))
    + r"))s?(?![\w-])"
)


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked for. `near` are rooms by a part of their name or their floor; `words` is what nothing else took.

    `only` says that the states are wanted ('anything open'), not asked about ('is it open').
    """

    rooms: frozenset[str] = frozenset()
    near: frozenset[str] = frozenset()
    onward: bool = False
    """The room is where it goes ('from the cylinder to the kitchen'), not where it is."""
    subjects: tuple[str, ...] = ()
    fixtures: frozenset[str] = frozenset()
    sizes: frozenset[float] = frozenset()
    materials: frozenset[str] = frozenset()
    states: frozenset[str] = frozenset()
    words: frozenset[str] = frozenset()
    things: tuple[str, ...] = ()
    """Items that are named with no pipe, the first first: 'a water heater under the sink'."""
    itself: bool = False
    """They are asked for themselves ('is the shower still going in'), not for a pipe to them."""
    pipes: bool = False
    """Only 'the pipes' were named: those that bring, before those that drain."""
    starts: frozenset[str] = frozenset()
    """The words after 'from', 'off', 'after': where it comes from."""
    ends: bool = False
    """Asked where it stops: of two stretches the one with an end."""
    asks_whether: bool = False
    of_all: bool = False
    """Asked of both or of all of them."""
    only: bool = False


def read(question: str, lexicon: Lexicon, job: Job) -> Question:
    """What `question` asks for, in the words of `lexicon` and the rooms of `job`."""
    text = " ".join(question.lower().replace("’", "'").split())
    here, rest = _rooms(text, job.rooms)
    near, rest = (frozenset[str](), rest) if here else _near(rest, job.rooms)
    onward = bool(here) and any(
        _room_after(text, name) for room in job.rooms if room.name in here for name in _names(room)
    )
    whether = bool(_YES_NO.match(text))
    verb = whether or re.match(r"\s*(?:where|what|how|when|who)\b", text)
    states, other = _states(rest)
    begins = _FROM.search(rest)
    hits = _phrases(lexicon).find(rest)
    subjects, pipes = tuple(dict.fromkeys(_subjects(hits))), bool(_PIPES.search(rest))
    things = () if subjects or pipes else tuple(dict.fromkeys(h.key for h in hits if h.key in _FITTED))
    return Question(
        rooms=here, near=near, subjects=subjects, fixtures=named(rest), pipes=pipes,
        ends=bool(_ENDS.search(text)),
        onward=onward, things=things, itself=bool(things and _THING.search(rest)),
        sizes=frozenset(_sizes(rest)), materials=frozenset(h.key for h in hits) & set(MATERIALS),
        states=states, words=telling(other) - _named_words(hits),
        starts=telling(begins[1]) if begins else frozenset(),
        asks_whether=whether, of_all=bool(_ALL.search(text)),
        only=bool(states and (_ANY.search(text) or not verb)),
    )  # fmt: skip


def _rooms(text: str, rooms: Iterable[Room]) -> tuple[frozenset[str], str]:
    """Rooms named in full, and the text without them; 'nave kitchen' is not hidden by another room's 'the nave'."""
    found, rest = Phrases((name, room.name) for room in rooms for name in _names(room)).split(text)
    return frozenset(f.key for f in found), rest


def _names(room: Room) -> Iterable[str]:
    said = (name.lower().removeprefix("the ") for name in (*room.aliases, room.name))
    return (way for words in said for way in _counted(words))


def _room_after(text: str, name: str) -> bool:
    """Whether a way from somewhere to the room is asked for."""
    return bool(re.search(rf"\b(?:from|between)\b.*\b(?:to|and) (?:the )?{re.escape(name)}\b", text))


def _counted(name: str) -> tuple[str, ...]:
    """'flat one' beside 'flat 1'."""
    spelt = " ".join(_COUNTS.get(word, word) for word in name.split())
    return (name,) if spelt == name else (spelt, name)


@lru_cache(maxsize=8)
def _phrases(lexicon: Lexicon) -> Phrases:
    return Phrases((term.words, term.key) for term in lexicon.terms)


def _subjects(hits: Iterable[Found]) -> Iterable[str]:
    for hit in hits:
        if hit.words in _DRAINS:
            yield from ("waste", "soil", "rainwater")
        elif hit.key in PIPES:
            yield hit.key
        else:
            yield from PAIRS.get(hit.key, ()) or _HALF.get(hit.key, ())


def _named_words(hits: Iterable[Found]) -> frozenset[str]:
    """The words that name services: they tell no place apart ('the sink cold' is where another pipe comes from)."""
    return frozenset().union(*(telling(hit.words) for hit in hits if hit.key in PIPES or hit.key in PAIRS))


def _states(text: str) -> tuple[frozenset[str], str]:
    """The states that are named, 'not tested' not also as 'tested'; and the text without their words."""
    found = []
    for state, pattern in _STATES.items():
        text, many = re.subn(rf"(?<!\w)(?:{pattern})(?!\w)", " ", text)
        found += [state] * bool(many)
    return frozenset(found), text


def _sizes(text: str) -> Iterable[float]:
    for digits, words in _SIZE.findall(text):
        size = float(digits) if digits else float(_NUMBERS.get(words) or _NUMBERS[words.replace(" ", "-")])
        if size >= 6:
            yield size


def _near(text: str, rooms: Iterable[Room]) -> tuple[frozenset[str], str]:
    """Rooms by floor or by the first words of their name ('flat 2'), and the text without those words.

    Where several are named, the rooms that all of them may be: 'the bathroom upstairs', 'the kitchen in flat 2'.
    """
    near: frozenset[str] = frozenset()
    for pattern, found in (*_floors(rooms), *_families(text, rooms)):
        if near and (len(near) == 1 or not near & found):
            continue
        # 'the spare for the dairy' tells where it goes, not where it is
        if (match := re.search(pattern, text)) and not re.search(r"\b(?:for|to|off) (?:the )?$", text[: match.start()]):
            near, text = near & found or found, text[: match.start()] + " " + text[match.end() :]
    return near, text


def _floors(rooms: Iterable[Room]) -> Iterable[tuple[str, frozenset[str]]]:
    rooms = list(rooms)
    yield r"\bupstairs\b", frozenset(r.name for r in rooms if _UPPER.search(r.floor))
    yield r"\bdownstairs\b", frozenset(r.name for r in rooms if _LOWER.search(r.floor))
    on: dict[str, list[str]] = defaultdict(list)
    for room in rooms:
        on[room.floor].append(room.name)
    for floor in sorted(filter(None, on)):
        tail = r" floor\b" if _COUNTED.fullmatch(floor) else r"\b"
        yield rf"\b{re.escape(floor.lower())}{tail}", frozenset(on[floor])


def _owners(room: Room) -> Iterable[str]:
    """Whose a room is by one of its other names: "the cox's basin" is in "the cox's bathroom"."""
    said = (re.match(r"(?:the )?(\w+)(?:['’]s|(?<=s)['’]) \w", alias.lower()) for alias in room.aliases)
    return dict.fromkeys(found[1] for found in said if found)


@lru_cache(maxsize=1)
def _services() -> frozenset[str]:
    """The words that name services: 'the main' is no 'Main bedroom'."""
    return frozenset(term.words for term in terms() if term.kind == "service")


def _families(text: str, rooms: Iterable[Room]) -> list[tuple[str, frozenset[str]]]:
    """Rooms by the first words of their names or the last, as far as the text has them: a big job has thousands.

    Words that may also be a fixture ('shower' of 'Shower block') come last.
    """
    families: dict[str, list[str]] = defaultdict(list)
    for room in rooms:
        words = room.name.lower().replace("’", "'").split()
        for n in range(1, len(words)):
            families[" ".join(words[:n]).removesuffix("'s")].append(room.name)
        if len(words) > 1 and not named(words[-1]):  # 'the toilet' may be the pan
            families[words[-1]].append(room.name)
        for owner in _owners(room):
            families[owner].append(room.name)
    said = (start for start in families if start in text and start not in _services())
    there = sorted(said, key=lambda s: (bool(named(s)), -len(s), s))
    return [
        (rf"\b{re.escape(start)}\b(?:'s)?{_OF_A_FIXTURE * bool(named(start))}", frozenset(families[start]))
        for start in there
    ]
