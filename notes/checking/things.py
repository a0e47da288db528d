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


@lru_cache(maxsize=4096)
def named_in(subject: str, quote: str) -> tuple[str, ...]:
    """The names that a quote gives things of this subject, each as of one: 'elbow', 'union' of 'elbows and a union'."""
    found = (re.sub(r"[\s-]+", " ", name) for name in _names(subject).findall(quote.lower()))
    return tuple(dict.fromkeys(_of_one(subject, name) for name in found))


def _of_one(subject: str, name: str) -> str:
    """'elbow' for 'elbows', where the trade's words know it; 'tees' stays, as a tee may be work."""
    one = re.sub(r"(?<=[^s])s$", "", name)
    return one if _names(subject).fullmatch(one) else name


def only_some(opened: Fact, fact: Fact) -> bool:
    """Whether `fact` names some of the things that `opened` asked for in one breath, and not all: 'the elbows came'."""
    if opened.subject not in _VAGUE:
        return False
    named = set(named_in(fact.subject, fact.quote)) - {fact.subject}
    wanted = set(named_in(opened.subject, opened.quote))
    return bool(named) and len(wanted) > 1 and not wanted <= named


def share_a_word(a: str, b: str) -> bool:
    """Whether two quotes have a telling word in common, be it 'cap' or 'capped'."""
    return bool(_long(a) & _long(b))


def _long(quote: str) -> frozenset[str]:
    return frozenset(_bare(word) for word in telling(quote) if len(word) > 3)


def _things(subject: str, quote: str) -> frozenset[str]:
    words = (word for name in _names(subject).findall(quote.lower()) for word in re.split(r"[\s-]+", name))
    return frozenset(map(_bare, words)) - {_bare(subject), _bare(f"{subject}s")}


@lru_cache(maxsize=64)
def _names(subject: str) -> re.Pattern[str]:
    """One name of its things, or several in a row: 'lockshield valve'."""
    words = sorted((t.words for t in terms() if t.key == subject), key=len, reverse=True)
    name = rf"(?:{'|'.join(map(spaced, words))})"
    return re.compile(rf"(?<!\w){name}(?:[\s-]+{name})*(?!\w)")


def _bare(word: str) -> str:
    return _ENDING.sub("", word)
