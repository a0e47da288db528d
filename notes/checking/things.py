"""Whether two quotes name one thing, where the subject ('fitting', 'valve') stands for many. Pure."""

from __future__ import annotations

import re
from functools import lru_cache

from notes.lexicon import spaced, terms
from notes.model import Fact
from notes.tracing.ends import apart, telling

_VAGUE = frozenset(("fitting", "valve", "appliance"))
_ENDING = re.compile(r"(?:er|ing|s)$")


def same_thing(a: Fact, b: Fact) -> bool:
    """Whether both may speak of one thing: elbow and elbow, not elbow and collar; 'got them' may be anything."""
    return a.subject not in _VAGUE or not apart(_things(a.subject, a.quote), _things(b.subject, b.quote))


def share_a_word(a: str, b: str) -> bool:
    """Whether two quotes have a telling word in common, be it 'cap' or 'capped'."""
    return bool(_long(a) & _long(b))


def _long(quote: str) -> frozenset[str]:
    return frozenset(_bare(word) for word in telling(quote) if len(word) > 3)


def _things(subject: str, quote: str) -> frozenset[str]:
    words = (word for name in _names(subject).findall(quote.lower()) for word in re.split(r"[\s-]+", name))
    return frozenset(map(_bare, words)) - {_bare(subject)}


@lru_cache(maxsize=len(_VAGUE))
def _names(subject: str) -> re.Pattern[str]:
    words = sorted((t.words for t in terms() if t.key == subject), key=len, reverse=True)
    return re.compile(r"(?<!\w)(?:" + "|".join(map(spaced, words)) + r")(?!\w)")


def _bare(word: str) -> str:
    return _ENDING.sub("", word)
