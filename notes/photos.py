"""Which memo and room a photo belongs to, and keeping that so as memos arrive."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from notes import rows
from notes.lexicon import Lexicon
from notes.model import Photo

NEAR = 30 * 60
"""Seconds within which a memo is surely about what a photo shows."""
FAR = 12 * 3600
"""Seconds after which it is a photo of another day's work."""


@dataclass(frozen=True, slots=True)
class NewPhoto:
    """A picture on its way into the book. `photo.memo` only where somebody said which."""

    photo: Photo
    digest: str
    at_source: str
    media: str | None = None


@dataclass(frozen=True, slots=True)
class Talk:
    """A memo as far as photos need it: when it was said (seconds since 1970), how long, its rooms as they came."""

    memo: str
    moment: float
    seconds: float
    rooms: tuple[str, ...]

    def away(self, moment: float) -> float:
        """Seconds between `moment` and this memo; 0 while it was said."""
        return max(self.moment - moment, moment - self.moment - self.seconds, 0.0)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a photo belongs, and whether that is sure."""

    memo: str | None = None
    room: str | None = None
    sure: bool = False


def place(moment: float, captioned: str | None, told: bool, talks: Sequence[Talk]) -> Place:
    """The memo nearest in time and its room; the room of the caption before all. `told`: somebody named the memo."""
    talk = min(talks, key=lambda t: t.away(moment), default=None)
    if talk is None or (talk.away(moment) > FAR and not told):
        return Place(None, captioned, captioned is not None)
    # before it was said the photo shows where it begins, after it where it ended
    room = next(iter(talk.rooms if moment < talk.moment else talk.rooms[::-1]), None)
    near = told or talk.away(moment) <= NEAR
    return Place(talk.memo, captioned or room, captioned is not None or (near and len(set(talk.rooms)) == 1))


def insert(db: sqlite3.Connection, new: NewPhoto) -> str | None:
    """File a photo, not linked yet; the id it got, None where it was filed before."""
    if db.execute("SELECT 1 FROM photos WHERE digest = ?", (new.digest,)).fetchone():
        return None
    photo = new.photo
    id = rows.free_id(photo.id, {row["id"] for row in db.execute("SELECT id FROM photos")})
    columns = "id, digest, media, moment, at, at_source, at_sure, told_memo, caption, sure, sharp"
    when = (photo.at.timestamp(), photo.at.isoformat(), new.at_source, photo.sure)
    values = (id, new.digest, new.media, *when, photo.memo, photo.caption, False, photo.sharp)
    db.execute(f"INSERT INTO photos ({columns}) VALUES ({', '.join('?' * len(values))})", values)
    return id


def link_near(db: sqlite3.Connection, lexicon: Lexicon, memos: Iterable[str]) -> set[str | None]:
    """Link again the photos that these memos may concern; the rooms that got or lost one."""
    photos: dict[int, sqlite3.Row] = {}
    for memo in memos:
        photos |= {row["row"]: row for row in db.execute(_BESIDE, {"memo": memo})}
    return link(db, lexicon, photos.values())


_BESIDE = """
SELECT photos.* FROM photos, (SELECT moment AS here FROM memos WHERE id = :memo)
WHERE told_memo = :memo OR photos.memo = :memo OR photos.moment BETWEEN
    (SELECT coalesce(max(moment), -1e12) FROM memos WHERE moment < here) AND
    (SELECT coalesce(min(moment), 1e12) FROM memos WHERE moment > here)
"""


def link(db: sqlite3.Connection, lexicon: Lexicon, photos: Iterable[sqlite3.Row]) -> set[str | None]:
    """Link these photos; the rooms that got or lost one."""
    touched: set[str | None] = set()
    for row in photos:
        named = (hit.key for hit in lexicon.scan(row["caption"]) if hit.kind == "room")
        told = row["told_memo"] is not None
        found = place(row["moment"], next(named, None), told, _talks(db, row))
        sure = found.sure and bool(row["at_sure"] or told)
        if (found.memo, found.room, sure) != (row["memo"], row["room"], bool(row["sure"])):
            values = (found.memo, found.room, sure, row["row"])
            db.execute("UPDATE photos SET memo = ?, room = ?, sure = ? WHERE row = ?", values)
            touched |= {found.room, row["room"]}
    return touched


_AROUND = """
SELECT * FROM (SELECT * FROM memos WHERE moment <= :moment ORDER BY moment DESC, row DESC LIMIT 1)
UNION ALL
SELECT * FROM (SELECT * FROM memos WHERE moment > :moment ORDER BY moment, row LIMIT 1)
"""


def _talks(db: sqlite3.Connection, photo: sqlite3.Row) -> list[Talk]:
    """The memo that was named, else the last before the photo and the first after it."""
    sql = "SELECT * FROM memos WHERE id = :told_memo" if photo["told_memo"] else _AROUND
    memos = db.execute(sql, {"moment": photo["moment"], "told_memo": photo["told_memo"]})
    return [Talk(m["id"], m["moment"], m["seconds"] or 0.0, _rooms(db, m["id"])) for m in memos.fetchall()]


def _rooms(db: sqlite3.Connection, memo: str) -> tuple[str, ...]:
    found = db.execute("SELECT room FROM facts WHERE memo = ? AND room IS NOT NULL ORDER BY n", (memo,))
    return tuple(row["room"] for row in found)
