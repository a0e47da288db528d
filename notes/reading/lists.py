"""Lists of what to order: 'shopping list: two elbows, a trap', 'Need a few bits. Two lockshields, a bag of olives.'"""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.ellipsis import bare_things
from notes.reading.event import Event
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_HEADS, _NO_LIST = pattern("to-order-follows"), pattern("no-list")
_SHORT = 10
"""Words that a heading takes at most."""


def listed_to_order(said: Said, events: Sequence[Event]) -> list[Event]:
    """What a list says is to be ordered, where the sentence told nothing else; the scene keeps that a list is on."""
    if not said.clauses:
        return []
    # 'Right, shopping list'
    first = 1 if len(said.clauses) > 1 and said.clauses[0].end - said.clauses[0].start == 1 else 0
    heads = not events and _heads(said, said.clauses[first])
    listing, said.scene.listing = said.scene.listing, heads
    if events or not (listing or heads) or said.clauses[0].question:
        return []
    rest = list(enumerate(said.clauses))[first + 1 if heads else 0 :]
    if heads and not rest:
        return []
    things = [(n, c, i) for n, c in rest for i in bare_things(said, c)]
    said.scene.listing = heads or bool(things)
    return [_to_order(said, *thing) for thing in things]


def _heads(said: Said, clause: Clause) -> bool:
    """'shopping list', 'what's missing, then', 'need a few bits'."""
    text = said.joined(clause.start, clause.end)
    named = said.items(clause) or said.mentioned(clause)
    return not named and clause.end - clause.start <= _SHORT and bool(_HEADS.search(text)) and not _NO_LIST.search(text)


def _to_order(said: Said, number: int, clause: Clause, i: int) -> Event:
    act, span = Act("order", "todo", "item", i, i + 1), (clause.start, clause.end)
    return Event(act, number, Status.TO_DO, "on a list", said.row[i].keys[:1], None, said.here(), span=span)
