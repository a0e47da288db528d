"""What is to be ordered or collected: the open follow-ups of that kind, joined by kind and size."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from notes import rows, search
from notes.checking.things import named_in
from notes.model import Fact, Job

CHECK = "to-order"
"""The check that keeps a wish open until it has come, was dropped, or a person closed it."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One thing wanted in one room: the fact that says so, when it was said, by whom, and for whom it is."""

    room: str | None
    fact: Fact
    at: datetime
    speaker: str | None
    assignee: str | None = None
    due: str | None = None

    @property
    def kinds(self) -> tuple[str, ...]:
        """What it is called in its words, each as of one: ('elbow',) of a fitting; () for 'two more'."""
        return named_in(self.fact.subject, self.fact.quote)


@dataclass(frozen=True, slots=True)
class Item:
    """Wishes of one kind, size and material."""

    wishes: tuple[Wish, ...]

    def named(self) -> str:
        """'elbow, 22 to 15 mm copper'; 'fitting (elbow, tee), 22 mm' where one breath named both."""
        fact, kinds = self.wishes[0].fact, self.wishes[0].kinds
        what = kinds[0] if len(kinds) == 1 else f"{fact.subject} ({', '.join(kinds)})" if kinds else fact.subject
        size = " to ".join(f"{mm:g}" for mm in (fact.size_mm, fact.to_size_mm) if mm is not None)
        pipe = " ".join(w for w in (f"{size} mm" if size else "", fact.material or "") if w)
        return f"{what}, {pipe}" if pipe else what

    def amount(self) -> str:
        """'6', '6 and some', 'how many not said', or 'as said' where a number may be that of another kind."""
        if len(self.wishes[0].kinds) > 1:
            return "as said"
        counted = sum(wish.fact.count or 0 for wish in self.wishes)
        open_ended = any(wish.fact.count is None for wish in self.wishes)
        if not counted:
            return "how many not said"
        return f"{counted} and some" if open_ended else str(counted)


def wishes(db: sqlite3.Connection, room: str | None = None) -> list[Wish]:
    """What is wanted, in the order it was said."""
    said = {(s.fact.memo, s.fact.n): s for s in search.said(db)}
    found = []
    for row in db.execute(_OPEN, (CHECK,)):
        item = rows.followup(row)
        if room is not None and item.room != room:
            continue
        wanted = [said[tuple(key)] for key in json.loads(row["facts"]) if tuple(key) in said]
        found += [Wish(item.room, one.fact, one.at, one.speaker, item.assignee, item.due) for one in wanted]
    return found


_OPEN = 'SELECT * FROM followups WHERE "check" = ? AND closed_by IS NULL AND closed_at IS NULL ORDER BY since, id'


def joined(found: Iterable[Wish]) -> list[Item]:
    """Wishes of one kind, size and material as one item, in order of their names."""
    groups: dict[tuple[object, ...], list[Wish]] = {}
    for wish in found:
        fact = wish.fact
        groups.setdefault((fact.subject, wish.kinds, fact.size_mm, fact.to_size_mm, fact.material), []).append(wish)
    return sorted((Item(tuple(group)) for group in groups.values()), key=Item.named)


def by_room(found: Sequence[Wish], job: Job) -> dict[str | None, list[Item]]:
    """What each room wants: rooms in the order of job.toml, then others, then what was said of no room."""
    order = {room.name: n for n, room in enumerate(job.rooms)}
    named = {wish.room for wish in found}
    ordered = sorted(named, key=lambda name: (name is None, order.get(name or "", len(order)), name or ""))
    return {name: joined(wish for wish in found if wish.room == name) for name in ordered}
