"""Where a photo belongs, by the memos around it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

NEAR = 30 * 60
"""Seconds within which a memo is surely about what a photo shows."""
FAR = 12 * 3600
"""Seconds after which it is a photo of another day's work."""


@dataclass(frozen=True, slots=True)
class Talk:
    """A memo as far as photos need it: when it was said (seconds since 1970), how long, its rooms as they came.

    `shown` are the rooms of what it says was photographed; `other` tells that another person speaks than took it.
    `counted`: whether this photo is one of those whose number it tells ('two pictures'), the nearest; None without a
    number.
    """

    memo: str
    moment: float
    seconds: float
    rooms: tuple[str, ...]
    shown: tuple[str, ...] = ()
    other: bool = False
    counted: bool | None = None

    def away(self, moment: float) -> float:
        """Seconds between `moment` and this memo; 0 while it was said."""
        return max(self.moment - moment, moment - self.moment - self.seconds, 0.0)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a photo belongs, and whether that is sure."""

    memo: str | None = None
    room: str | None = None
    sure: bool = False


def place(moment: float, named: str | None, told: bool, talks: Sequence[Talk]) -> Place:
    """Where a photo belongs: the room that is `named` in or with it before all, else that of a memo near in time.

    Of two memos that are near, the one that tells their number as long as that is not reached, then the one that speaks
    of photos. A photo beyond the number is in doubt. `told`: somebody named the memo.
    """
    talk = min(talks, key=lambda t: _order(t, moment), default=None)
    if talk is None or (talk.away(moment) > FAR and not told):
        return Place(None, named, named is not None)
    rooms = talk.shown or talk.rooms
    # before it was said the photo shows where it begins, after it where it ended
    room = next(iter(rooms if moment < talk.moment else rooms[::-1]), None)
    near = told or (talk.away(moment) <= NEAR and not talk.other and talk.counted is not False)
    return Place(talk.memo, named or room, named is not None or (near and len(set(rooms)) == 1))


def _order(talk: Talk, moment: float) -> tuple[bool, bool, int, float]:
    away = talk.away(moment)
    if away > NEAR or talk.counted is False:
        rank = 3
    elif talk.counted:
        rank = 0
    else:
        rank = 1 if talk.shown else 2
    return away > FAR, talk.other, rank, away
