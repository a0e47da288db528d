"""A room said after what was told: 'No, not the front, the little room.', 'That's the kitchen.'"""

from __future__ import annotations

from collections.abc import Iterable

from notes.reading.event import Event
from notes.reading.rooms import spots
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_RIGHT = pattern("room-put-right", "^", "$")
_THIS_IS = pattern("room-said-last", "^", "$")


def _bare(said: Said) -> tuple[str, str] | None:
    """(room, words with R for its name) of a sentence that does no more than name one, or deny one for it."""
    if said.end - said.start > _SHORT or said.acts_told():
        return None
    named = [s for s in spots(said.row, said.start, said.end, said.scene.room, said.rooms) if len(s.rooms) == 1]
    if not named or named[-1].node != said.end - 1:
        return None
    at = {s.node for s in named}
    told = ["R" if i in at else said.norm(i) for i in range(said.start, said.end) if said.row[i].kind != "mark"]
    return named[-1].rooms[0], " ".join(told)


_SHORT = 16


def other_room(said: Said) -> bool:
    """Whether the sentence puts the room of the last one right; if so the facts of that one are moved there."""
    found = _bare(said)
    if found is None or not said.scene.recent or not _RIGHT.match(found[1]):
        return False
    was = said.scene.room
    for event in said.scene.recent:
        if event.rooms in ((was,), (None,)):
            event.rooms = (found[0],)
    _moved(said, found[0])
    return True


def said_last(said: Said, events: Iterable[Event]) -> bool:
    """'..., lagged to the ceiling. That's the hall.': the room of what was told in no room so far."""
    homeless = [e for e in events if e.rooms == (None,)]
    found = _bare(said) if homeless else None
    if found is None or not _THIS_IS.match(found[1]):
        return False
    for event in homeless:
        event.rooms = (found[0],)
    _moved(said, found[0])
    return True


def _moved(said: Said, room: str) -> None:
    """One is in this room, and speaks of the same pipes as before."""
    scene = said.scene
    group, serves, last = scene.group, scene.serves, scene.last
    scene.enter(room)
    scene.group, scene.serves, scene.last = group, serves, last
    scene.name(group)
