"""Which memo and room a photo belongs to, and keeping that so as memos arrive."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from notes import decisions, ledger, rows
from notes.decisions import Kind
from notes.lexicon import Lexicon
from notes.model import Photo
from notes.quality import Look, first_alike

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
    look: Look | None = None
    taker: str | None = None
    """Who took it, where that is known."""
    seen: str = ""
    """What is written in the picture."""
    chalked: str | None = None
    """The room that is written in it, read with high confidence."""


@dataclass(frozen=True, slots=True)
class Talk:
    """A memo as far as photos need it: when it was said (seconds since 1970), how long, its rooms as they came.

    `shown` are the rooms of what it says was photographed; `other` tells that another person speaks than took it.
    """

    memo: str
    moment: float
    seconds: float
    rooms: tuple[str, ...]
    shown: tuple[str, ...] = ()
    other: bool = False

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

    Of two memos that are near, the one that speaks of photos. `told`: somebody named the memo.
    """
    talk = min(talks, key=lambda t: _order(t, moment), default=None)
    if talk is None or (talk.away(moment) > FAR and not told):
        return Place(None, named, named is not None)
    rooms = talk.shown or talk.rooms
    # before it was said the photo shows where it begins, after it where it ended
    room = next(iter(rooms if moment < talk.moment else rooms[::-1]), None)
    near = told or (talk.away(moment) <= NEAR and not talk.other)
    return Place(talk.memo, named or room, named is not None or (near and len(set(rooms)) == 1))


def _order(talk: Talk, moment: float) -> tuple[bool, bool, bool, float]:
    away = talk.away(moment)
    return away > FAR, talk.other, not (talk.shown and away <= NEAR), away


def insert(db: sqlite3.Connection, new: NewPhoto) -> str | None:
    """File a photo, not linked yet; the id it got, None where it was filed before."""
    if db.execute("SELECT 1 FROM photos WHERE digest = ?", (new.digest,)).fetchone():
        return None
    photo = new.photo
    id = rows.free_id(photo.id, _Ids(db))
    row = {
        "id": id, "digest": new.digest, "media": new.media, "moment": photo.at.timestamp(), "at": photo.at.isoformat(),
        "at_source": new.at_source, "at_sure": photo.sure, "told_memo": photo.memo, "caption": photo.caption,
        "sure": False, "sharp": photo.sharp, "seen": new.seen, "chalked": new.chalked, "taker": new.taker,
    }  # fmt: skip
    if new.look:
        row |= {name: getattr(new.look, name) for name in ("sharpness", "brightness", "burnt", "phash")}
    sql = f"INSERT INTO photos ({rows.columns(row)}) VALUES ({', '.join(':' + name for name in row)})"
    db.execute(sql, row)
    return id


class _Ids:
    """The ids in use, asked one by one: to read them all for each photo would take a day's work with a year's."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def __contains__(self, id: object) -> bool:
        return self._db.execute("SELECT 1 FROM photos WHERE id = ?", (id,)).fetchone() is not None


def twin(db: sqlite3.Connection, moment: float, phash: str) -> str | None:
    """A photo of nearly the same view, taken within the same half day."""
    sql = "SELECT id, phash FROM photos WHERE moment BETWEEN ? AND ? ORDER BY abs(moment - ?) LIMIT 500"
    return first_alike(phash, db.execute(sql, (moment - FAR, moment + FAR, moment)).fetchall())


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
    put = put_by_hand(db)
    for row in photos:
        told = row["told_memo"] is not None
        named = put.get(row["digest"]) or _captioned(lexicon, row["caption"]) or row["chalked"]
        found = place(row["moment"], named, told, _talks(db, row))
        sure = found.sure and bool(row["at_sure"] or told or named)
        if (found.memo, found.room, sure) != (row["memo"], row["room"], bool(row["sure"])):
            values = (found.memo, found.room, sure, row["row"])
            db.execute("UPDATE photos SET memo = ?, room = ?, sure = ? WHERE row = ?", values)
            touched |= {found.room, row["room"]}
    return touched


def put_by_hand(db: sqlite3.Connection) -> dict[str, str]:
    """The rooms that people moved photos to, by the photo's digest; the last decision that stands counts."""
    stand = decisions.standing(ledger.all_of(db, (Kind.PLACE,)))
    return {d.about["photo"]: d.value["room"] for d in stand if d.kind is Kind.PLACE}


def _captioned(lexicon: Lexicon, caption: str) -> str | None:
    return next((hit.key for hit in lexicon.scan(caption) if hit.kind == "room"), None)


_AROUND = """
SELECT * FROM (SELECT * FROM memos WHERE moment <= :moment {own} ORDER BY moment DESC, row DESC LIMIT 1)
UNION ALL
SELECT * FROM (SELECT * FROM memos WHERE moment > :moment {own} ORDER BY moment, row LIMIT 1)
"""


def _talks(db: sqlite3.Connection, photo: sqlite3.Row) -> list[Talk]:
    """The memo that was named, else the last before the photo and the first after it, of the same person and of all."""
    if photo["told_memo"]:
        found = db.execute("SELECT * FROM memos WHERE id = ?", (photo["told_memo"],)).fetchall()
        return [_talk(db, memo, None) for memo in found]
    taker = photo["taker"]
    found = db.execute(_AROUND.format(own=""), {"moment": photo["moment"]}).fetchall()
    if taker:
        own = {"moment": photo["moment"], "taker": taker}
        found += db.execute(_AROUND.format(own="AND speaker = :taker"), own).fetchall()
    return [_talk(db, memo, taker) for memo in {memo["id"]: memo for memo in found}.values()]


def _talk(db: sqlite3.Connection, memo: sqlite3.Row, taker: str | None) -> Talk:
    sql = "SELECT room, action FROM facts WHERE memo = ? AND room IS NOT NULL ORDER BY n"
    facts = db.execute(sql, (memo["id"],)).fetchall()
    shown = tuple(fact["room"] for fact in facts if fact["action"] == "photograph")
    rooms = tuple(fact["room"] for fact in facts)
    other = taker is not None and memo["speaker"] not in (None, taker)
    return Talk(memo["id"], memo["moment"], memo["seconds"] or 0.0, rooms, shown, other)
