"""What is put in and is to come out again is put in for the time being. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from itertools import takewhile

from notes.model import Fact, Status

_PUT_IN = frozenset(("fit", "connect", "cap", "run"))
_IT = re.compile(r"\b(?:it|that|they|them|those|which|this|these)(?=['’\s])", re.IGNORECASE)
_WAS_THERE = re.compile(r"\b(?:old|o[wu]ld|auld|ol|ole|existing|dead)\b", re.IGNORECASE)


def in_passing(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """The facts of one memo; what was last put in before 'that has to come off again' marked as temporary."""
    told = list(facts)
    for spot, fact in enumerate(told):
        if (fact.action, fact.status) == ("remove", Status.TO_DO) and _said_of_it(fact.quote):
            same = (n for n in range(spot - 1, -1, -1) if _last(told[n], fact))
            put_in = (n := next(same, None)) is not None and told[n].action in _PUT_IN and told[n].status is Status.DONE
            if put_in and n is not None and not _comes_back(told[spot + 1 :], fact):
                told[n] = replace(told[n], temporary=True)
    return tuple(told)


def _last(before: Fact, fact: Fact) -> bool:
    return (before.subject, before.room, before.memo) == (fact.subject, fact.room, fact.memo)


def _comes_back(after: Iterable[Fact], fact: Fact) -> bool:
    """'That's to come out, it goes back in copper': it is wrong, and was not meant for the time being."""
    onward = takewhile(lambda other: _last(other, fact), after)
    return any(o.action in _PUT_IN and o.status is Status.TO_DO and o.material for o in onward)


def _said_of_it(quote: str) -> bool:
    return bool(_IT.search(quote)) and not _WAS_THERE.search(quote)
