"""Which fixture a pipe's end is at, and which words of a place tell one pipe from another. Pure."""

from __future__ import annotations

import re
from functools import lru_cache

from notes.lexicon import terms
from notes.model import Fact
from notes.tracing.phrases import Phrases

DRAINS = frozenset(("waste", "soil", "condensate", "overflow", "discharge", "rainwater"))
"""Services whose `from` is the fixture; of all others it is `to`."""

RADIATORS = frozenset(("radiator", "towel rail"))
"""Fixtures that only heating goes to."""

_FIXTURES = frozenset(
    ("basin", "sink", "bath", "shower", "toilet", "appliance", "radiator", "towel rail", "boiler", "cylinder",
     "manifold", "tank", "header", "pump", "meter")
)  # fmt: skip
_SAME = {"washer": "washing machine", "range": "cooker", "range cooker": "cooker", "glass washer": "glasswasher",
         "hob": "cooker", "gas hob": "cooker", "combi oven": "oven", "immersion": "cylinder",
         "immersion heater": "cylinder"}  # fmt: skip
_ANY = frozenset(("machine", "appliance", "mixer"))  # may be said of each of them, a mixer of bath, basin and sink
_ROOMS = frozenset(("room", "house", "cupboard", "shed"))
_STOP = frozenset(
    ("the", "a", "an", "of", "in", "at", "to", "on", "and", "by", "where", "its", "it", "is", "are", "for", "with",
     "from", "off", "s", "t")
)  # fmt: skip
_WAYS = frozenset(
    ("above", "against", "along", "behind", "below", "beside", "between", "down", "inside", "into", "near", "next",
     "onto", "out", "outside", "over", "round", "through", "under", "underneath", "up", "just", "there", "here", "this",
     "that", "both", "one", "each")
)  # fmt: skip
_WORD = re.compile(r"[a-z0-9]+")
_WASHER = re.compile(r"(?<!washing )\bwashers?\b", re.IGNORECASE)  # of a tap, where a fitting is spoken of
_OFF = re.compile(
    r"\b(?:from|off|out of)(?: the (?:back|top|bottom|side|front) of)?"
    r"(?: (?:the|a|an|his|her|its|that|old|new))* [\w-]+"
)


_WAS = re.compile(
    r"\bwhere (?:(?:the|his|her|that|an?|old) )*[\w-]+(?: [\w-]+)? (?:was|were|used to be|stood|had been|came out)\b"
)
"""'Where the old ice machine was' is where another pipe ends now."""

_WASTE = re.compile(r"\b[\w-]+ wastes?\b")


@lru_cache(maxsize=1)
def _fixtures() -> Phrases:
    named_so = [(t.words, t.key) for t in terms() if t.kind == "item" and t.key in _FIXTURES]
    return Phrases([*named_so, ("coil", "cylinder")])


@lru_cache(maxsize=65536)
def named(words: str | None) -> frozenset[str]:
    """The fixtures that `words` name; appliances each by their own name. 'Shower room' names a room, not an end."""
    found = ((f.key, f.words.removesuffix("s")) for f in _fixtures().find(words or "") if f.after not in _ROOMS)
    return frozenset(_SAME.get(own, own) if key == "appliance" else key for key, own in found if own not in _ANY)


@lru_cache(maxsize=4096)
def beside(words: str | None) -> frozenset[str]:
    """The telling words of a place beside the fixtures that it names: 'big' of 'the big rad'."""
    return telling(_fixtures().split(words or "")[1])


def ends(fact: Fact) -> frozenset[str]:
    """The fixtures at the end that `fact` speaks of: from its destination, else its place, else its quote.

    Of what is connected the quote may name the end ('the manifold tails') beside what it now goes to.
    """
    return _ends(fact.subject, fact.action, fact.from_, fact.to, fact.place, fact.quote)


@lru_cache(maxsize=65536)  # each fact is held against many others
def _ends(
    subject: str, action: str, from_: str | None, to: str | None, place: str | None, quote: str
) -> frozenset[str]:
    drain = subject in DRAINS
    toward = (from_, to) if drain else (to,)
    place, quote = _WAS.sub(" ", place or ""), _WAS.sub(" ", quote)
    if subject == "fitting":
        quote = _WASHER.sub(" ", quote)
    if subject == "soil":  # 'the shower waste and the soil'
        quote = _WASTE.sub(" ", quote)
    if action == "connect":
        return frozenset().union(*map(named, (*toward, quote))) or named(place)
    other = {"pump"} if action == "test" else set()
    if not drain:  # where it comes from is not where it ends
        other |= named(from_)
        quote = _OFF.sub(" ", quote)
    return next((found for words in (*toward, place, quote) if (found := named(words) - other)), frozenset())


@lru_cache(maxsize=65536)
def telling(words: str | None) -> frozenset[str]:
    """The words of a place that tell it from another."""
    return frozenset(_WORD.findall((words or "").lower())) - _STOP


@lru_cache(maxsize=65536)
def landmarks(words: str | None) -> frozenset[str]:
    """What a place is told by: 'window' of 'just under the windows'."""
    return frozenset(word.removesuffix("s") for word in telling(words) - _WAYS)


def two_places(a: str | None, b: str | None) -> bool:
    """Whether both name places and they have no landmark in common: 'at the window', 'behind the door'."""
    here, there = landmarks(a), landmarks(b)
    return bool(here and there and not here & there)


def apart(a: frozenset[str], b: frozenset[str]) -> bool:
    """Whether both name fixtures and none is shared."""
    return bool(a and b) and not meet(a, b)


def meet(a: frozenset[str], b: frozenset[str]) -> bool:
    """Whether two sets of fixtures have one in common, be it in short: 'the oven' is the combi oven."""
    return bool(a & b) or any(_in_short(one, other) or _in_short(other, one) for one in a for other in b)


@lru_cache(maxsize=4096)
def _in_short(short: str, full: str) -> bool:
    few, many = short.split(), full.split()
    return len(few) < len(many) and few[-1] == many[-1] and set(few) < set(many)
