"""A room said after what was told: 'No, not the front, the little room.', 'That's the hall.', 'Hall, I should say.'"""

from __future__ import annotations

from collections.abc import Iterable

from notes.reading.clauses import sentence_before
from notes.reading.event import Event
from notes.reading.rooms import spots
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_RIGHT = pattern("room-put-right", "^", "$")
_THIS_IS = pattern("room-said-last", "^", "$")
_LATE = pattern("room-said-late", "^", "$")


def _bare(said: Said) -> tuple[str, str] | None:
    """(room, words with R for its name) of a sentence that does no more than name one, or deny one for it."""
    if said.end - said.start > _SHORT:
        return None
    named = [s for s in spots(said.row, said.start, said.end, said.scene.room, said.rooms) if len(s.rooms) == 1]
    if not named:
        return None
    at = {s.node for s in named}
    told = ["R" if i in at else said.norm(i) for i in range(said.start, said.end) if said.row[i].kind != "mark"]
    return named[-1].rooms[0], " ".join(told)


_SHORT = 16


def other_room(said: Said) -> bool:
    """Whether the sentence puts the room of the last one right; if so the facts of that one are moved there."""
    found = _bare(said)
    if found is None or not said.scene.recent or said.acts_told() or not _RIGHT.match(found[1]):
        return False
    _file(said, said.scene.recent, found[0])
    return True


def said_last(said: Said, events: Iterable[Event]) -> bool:
    """'..., lagged to the ceiling. That's the hall.': the room of what was told in no room so far.

    One who is in a room goes on to another with 'then' or 'after dinner'; what was told since is in the room said last.
    """
    found = _bare(said)
    if found is None:
        return False
    late = _LATE.match(found[1]) is not None
    if not late and (said.acts_told() or not _THIS_IS.match(found[1])):
        return False
    told = [e for e in events if e.rooms == (None,)]
    if said.scene.room is not None and (since := _gone_on(said)) is not None:
        told = [e for e in events if e.span[0] >= since]
    if not told and late:
        told = said.scene.recent
    if not told:
        return False
    _file(said, told, found[0])
    return True


def _gone_on(said: Said) -> int | None:
    """The node where one was last said to go on to something else, since the room one is in was named."""
    end = said.start
    while end > 0:
        start = sentence_before(said.row, end)
        led = [n.norm for n in said.row[start : start + 3] if n.norm not in _SO]
        if led and led[0] in _NEXT:
            return start
        if any(said.scene.room in n.keys for n in said.row[start:end]):
            return None
        end = start
    return None


_SO = frozenset("and so well right now , but".split())
_NEXT = frozenset("then next after afterwards".split())


def _file(said: Said, told: Iterable[Event], room: str) -> None:
    """What was told is in this room, where one is now, and speaks of the same pipes as before."""
    scene = said.scene
    for event in told:
        if event.rooms in ((scene.room,), (None,)):
            event.rooms = (room,)
    group, serves, last = scene.group, scene.serves, scene.last
    scene.enter(room)
    scene.group, scene.serves, scene.last = group, serves, last
    scene.name(group)
