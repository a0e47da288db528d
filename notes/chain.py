"""Memos in the order of time, each beginning with what the one before left: which of them have to be read."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Collection, Container, Iterable, Iterator
from dataclasses import dataclass

from notes import short
from notes.reading.scene import Carry


@dataclass(frozen=True, slots=True)
class Link:
    """A memo's place in the order of time. `after` is what it left for the next one, None if it was never read."""

    row: int
    moment: float
    after: str | None
    must: bool = False
    """Whether it is to be read whatever it begins with."""


def follow(links: Iterable[Link], before: str, read_one: Callable[[Link, str], str], must: int) -> None:
    """Call `read_one` with every link that must be read or begins otherwise than it did, and what it begins with.

    `read_one` gives what the memo leaves for the next one. Of `links` no more are asked for than it takes: of those
    that must be read there are `must`.
    """
    was = now = before
    for link in links:
        must -= link.must
        after = was if link.after is None else link.after
        if link.must or was != now:
            was, now = after, read_one(link, now)
        else:
            was = now = after
        if not must and was == now:
            return


def in_time(link: Link) -> tuple[float, int]:
    """Sorts links by time, then as they were filed."""
    return link.moment, link.row


def named(db: sqlite3.Connection, ids: Collection[str]) -> list[Link]:
    """The links of these memos of the book, which must be read again."""
    sql = "SELECT row, moment FROM memos WHERE id IN (SELECT value FROM json_each(?))"
    return [Link(row["row"], row["moment"], None, must=True) for row in db.execute(sql, (json.dumps(list(ids)),))]


def later(db: sqlite3.Connection, first: Link, again: Container[int]) -> Iterator[Link]:
    """The memos of the book from `first` on, as they are asked for: mostly there are none."""
    sql = "SELECT row, moment, carry FROM memos WHERE (moment, row) >= (?, ?) ORDER BY moment, row"
    for row in db.execute(sql, in_time(first)):
        yield Link(row["row"], row["moment"], short.full(row["carry"]), row["row"] in again)


def before(db: sqlite3.Connection, link: Link) -> str:
    """What the memo before `link` left for it."""
    sql = "SELECT carry FROM memos WHERE (moment, row) < (?, ?) ORDER BY moment DESC, row DESC LIMIT 1"
    found = db.execute(sql, in_time(link)).fetchone()
    return short.full(found["carry"]) if found else Carry().to_json()
