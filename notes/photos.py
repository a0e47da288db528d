"""Filing photos, and keeping each with its memo and room as memos and photos arrive."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from notes import decisions, ledger, rows
from notes.decisions import Kind
from notes.lexicon import Lexicon
from notes.model import Photo
from notes.photo_place import FAR, NEAR, Talk, place
from notes.quality import Look, first_alike
from notes.reading.photo_count import photos_counted


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
        photos |= {row["row"]: row for row in db.execute(_BESIDE, {"memo": memo, "near": NEAR})}
    return link(db, lexicon, photos.values())


_BESIDE = """
SELECT photos.* FROM photos, (SELECT moment AS here, moment + coalesce(seconds, 0) AS until FROM memos WHERE id = :memo)
WHERE told_memo = :memo OR photos.memo = :memo OR photos.moment BETWEEN here - :near AND until + :near
OR photos.moment BETWEEN
    (SELECT coalesce(max(moment), -1e12) FROM memos WHERE moment < here) AND
    (SELECT coalesce(min(moment), 1e12) FROM memos WHERE moment > here)
"""


def link(db: sqlite3.Connection, lexicon: Lexicon, photos: Iterable[sqlite3.Row]) -> set[str | None]:
    """Link these photos, and those that they may push out of a memo's number; the rooms that got or lost one."""
    touched: set[str | None] = set()
    put = put_by_hand(db)
    counts = _Counts(db, lexicon)
    for row in counts.with_pushed(photos):
        told = row["told_memo"] is not None
        named = put.get(row["digest"]) or _captioned(lexicon, row["caption"]) or row["chalked"]
        found = place(row["moment"], named, told, _talks(db, row, counts))
        sure = found.sure and bool(row["at_sure"] or told or named)
        if (found.memo, found.room, sure) != (row["memo"], row["room"], bool(row["sure"])):
            values = (found.memo, found.room, sure, row["row"])
            db.execute("UPDATE photos SET memo = ?, room = ?, sure = ? WHERE row = ?", values)
            touched |= {found.room, row["room"]}
    return touched


class _Counts:
    """The memos that tell how many photos were taken, and the nearest photos of each; asked once a round."""

    def __init__(self, db: sqlite3.Connection, lexicon: Lexicon) -> None:
        self._db, self._lexicon = db, lexicon
        self._told: dict[str, int] = {}
        self._nearest: dict[str, frozenset[int]] = {}

    def near(self, moment: float) -> list[sqlite3.Row]:
        """Memos near in time that tell a number."""
        return [memo for memo in self._db.execute(_NEAR, {"moment": moment, "near": NEAR}) if self._number(memo)]

    def nearest(self, memo: sqlite3.Row) -> frozenset[int]:
        """The rows of as many photos as the memo tells: those named in it, then its speaker's nearest in time."""
        if memo["id"] not in self._nearest:
            found = self._photos(memo, self._number(memo))
            self._nearest[memo["id"]] = frozenset(row["row"] for row in found)
        return self._nearest[memo["id"]]

    def with_pushed(self, photos: Iterable[sqlite3.Row]) -> list[sqlite3.Row]:
        """These photos, with those that they may have pushed out of a memo's number."""
        new = {row["row"]: row for row in photos}
        memos = {memo["id"]: memo for row in new.values() for memo in self.near(row["moment"])}
        beside = [row for memo in memos.values() for row in self._photos(memo, self._number(memo) + len(new))]
        return list({**{row["row"]: row for row in beside}, **new}.values())

    def _number(self, memo: sqlite3.Row) -> int:
        if memo["id"] not in self._told:
            self._told[memo["id"]] = photos_counted(memo["text"], self._lexicon)
        return self._told[memo["id"]]

    def _photos(self, memo: sqlite3.Row, most: int) -> list[sqlite3.Row]:
        here = memo["moment"]
        values = {"memo": memo["id"], "here": here, "until": here + (memo["seconds"] or 0.0), "near": NEAR,
                  "speaker": memo["speaker"], "most": most}  # fmt: skip
        return self._db.execute(_NEAREST, values).fetchall()


# the day is the longest that a recording may be; with it SQLite can use the index
_NEAR = """
SELECT * FROM memos WHERE moment BETWEEN :moment - :near - 86400 AND :moment + :near
AND moment + coalesce(seconds, 0) >= :moment - :near ORDER BY moment, row
"""
_NEAREST = """
SELECT * FROM photos WHERE (told_memo = :memo OR told_memo IS NULL AND moment BETWEEN :here - :near AND :until + :near)
AND (taker IS NULL OR :speaker IS NULL OR taker = :speaker)
ORDER BY told_memo IS NULL, max(:here - moment, moment - :until, 0), moment, row LIMIT :most
"""


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


def _talks(db: sqlite3.Connection, photo: sqlite3.Row, counts: _Counts) -> list[Talk]:
    """The memo that was named, else the last before the photo and the first after it, of the same person and of all.

    With them those near that tell a number of photos.
    """
    if photo["told_memo"]:
        found = db.execute("SELECT * FROM memos WHERE id = ?", (photo["told_memo"],)).fetchall()
        return [_talk(db, memo, None) for memo in found]
    taker = photo["taker"]
    found = db.execute(_AROUND.format(own=""), {"moment": photo["moment"]}).fetchall()
    if taker:
        own = {"moment": photo["moment"], "taker": taker}
        found += db.execute(_AROUND.format(own="AND speaker = :taker"), own).fetchall()
    counting = counts.near(photo["moment"])
    memos = {memo["id"]: memo for memo in [*found, *counting]}
    counted = {memo["id"]: photo["row"] in counts.nearest(memo) for memo in counting}
    return [_talk(db, memo, taker, counted.get(id)) for id, memo in memos.items()]


def _talk(db: sqlite3.Connection, memo: sqlite3.Row, taker: str | None, counted: bool | None = None) -> Talk:
    sql = "SELECT room, action FROM facts WHERE memo = ? AND room IS NOT NULL ORDER BY n"
    facts = db.execute(sql, (memo["id"],)).fetchall()
    shown = tuple(fact["room"] for fact in facts if fact["action"] == "photograph")
    rooms = tuple(fact["room"] for fact in facts)
    other = taker is not None and memo["speaker"] not in (None, taker)
    return Talk(memo["id"], memo["moment"], memo["seconds"] or 0.0, rooms, shown, other, counted)
