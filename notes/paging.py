"""Reading the book a page at a time and by index, for screens that stay quick on a book of any size."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple

from notes import rows
from notes.model import Fact, FollowUp, Job, Photo, Room, Severity
from notes.search import Said

PAGE = 200


class Seen(NamedTuple):
    """How far a person has looked: the last memo and follow-up filed by then."""

    memo: int = 0
    followup: int = 0


@dataclass(frozen=True, slots=True)
class RoomLine:
    """What is filed of a room; `name` is None for what was said of no room."""

    name: str | None
    floor: str
    said: int
    photos: int
    new: int
    open: Mapping[Severity, int] = field(default_factory=dict)


class Where(NamedTuple):
    """A part of the log: a room (None: said of no room) unless `anywhere`, a day (YYYY-MM-DD) or every day."""

    room: str | None = None
    day: str | None = None
    anywhere: bool = False


class Wanted(NamedTuple):
    """Which follow-ups are wanted; None wants all."""

    room: str | None = None
    check: str | None = None
    assignee: str | None = None
    due: bool = False
    closed: bool = False


class Picture(NamedTuple):
    """A photo and the SHA-256 of its original, where there is one."""

    photo: Photo
    media: str | None


def latest(db: sqlite3.Connection) -> Seen:
    """How far the book goes."""
    memo, followup = db.execute("SELECT (SELECT max(row) FROM memos), (SELECT max(id) FROM followups)").fetchone()
    return Seen(memo or 0, followup or 0)


def days(db: sqlite3.Connection) -> list[tuple[str, int]]:
    """Days on which something was said (and be it forgotten) or pictured, with how many memos, the first day first."""
    sql = """
        SELECT day, sum(memos) AS memos FROM (
            SELECT substr(at, 1, 10) AS day, count(*) AS memos FROM memos GROUP BY 1
            UNION ALL SELECT DISTINCT substr(at, 1, 10), 0 FROM photos
            UNION ALL SELECT substr(json_extract(value, '$.said'), 1, 10), 0 FROM decisions WHERE kind = 'forget')
        GROUP BY day ORDER BY day"""
    return [(row["day"], row["memos"]) for row in db.execute(sql)]


def rooms(db: sqlite3.Connection, job: Job, day: str | None, seen: Seen) -> list[RoomLine]:
    """The job's rooms in the order of job.toml, then others that were spoken of, then what was said of no room."""
    said, photos, new = _said(db, day), _pictured(db, day), _new(db, seen)
    still_open = _open(db)
    known = {room.name for room in job.rooms}
    spoken = {*said, *photos, *still_open} - known
    others = [Room(name) for name in sorted(name for name in spoken if name)]
    lines = [(room.name, room.floor) for room in (*job.rooms, *others)]
    return [
        RoomLine(name, floor, said[name], photos[name], new[name], still_open.get(name, {}))
        for name, floor in [*lines, *([(None, "")] if None in spoken else [])]
    ]


def _said(db: sqlite3.Connection, day: str | None) -> Counter[str | None]:
    if day is None:
        return _counted(db, "SELECT room, count(*) FROM facts GROUP BY room")
    return _counted(db, f"SELECT room, count(*) FROM {_OF_DAY} GROUP BY room", day, _end(day))


def _pictured(db: sqlite3.Connection, day: str | None) -> Counter[str | None]:
    where, values = ("at BETWEEN ? AND ?", (day, _end(day))) if day else ("1", ())
    return _counted(db, f"SELECT room, count(*) FROM photos WHERE {where} GROUP BY room", *values)


def _new(db: sqlite3.Connection, seen: Seen) -> Counter[str | None]:
    if not seen.memo:
        return Counter()  # where nothing was looked at yet, to say that all is new says nothing
    sql = "SELECT room, count(*) FROM memos CROSS JOIN facts ON facts.memo = memos.id WHERE memos.row > ? GROUP BY room"
    return _counted(db, sql, seen.memo)


def _counted(db: sqlite3.Connection, sql: str, *values: object) -> Counter[str | None]:
    return Counter(dict(tuple(row) for row in db.execute(sql, values)))


def _open(db: sqlite3.Connection) -> dict[str | None, dict[Severity, int]]:
    found: dict[str | None, dict[Severity, int]] = defaultdict(dict)
    for row in db.execute(f"SELECT room, severity, count(*) FROM followups WHERE {_OPEN} GROUP BY 1, 2"):
        found[row[0]][Severity(row[1])] = row[2]
    return found


_OPEN = "closed_by IS NULL AND closed_at IS NULL"
# the day's memos first: the planner would otherwise walk through all facts
_OF_DAY = "memos CROSS JOIN facts ON facts.memo = memos.id WHERE memos.at BETWEEN ? AND ?"


def _end(day: str) -> str:
    return f"{day}~"  # behind every time of that day in the order of text


# --- the log


def said(db: sqlite3.Connection, where: Where, offset: int = 0, limit: int = PAGE) -> list[Said]:
    """Facts as they were said; of one day from morning on, of all days the newest memo first."""
    conditions, values = ["1"], []
    if not where.anywhere:
        conditions.append(f"{'+' if where.day else ''}facts.room IS ?")  # of a day, by its memos: they are few
        values.append(where.room)
    if where.day:
        conditions.append("memos.at BETWEEN ? AND ?")
        values += [where.day, _end(where.day)]
    join = "memos CROSS JOIN facts" if where.day or where.anywhere else "facts JOIN memos"
    way = "" if where.day else "DESC"
    sql = f"""
        SELECT facts.*, memos.at, memos.speaker, memos.at_sure FROM {join} ON facts.memo = memos.id
        WHERE {" AND ".join(conditions)} ORDER BY memos.moment {way}, memos.row {way}, facts.n LIMIT ? OFFSET ?"""
    found = db.execute(sql, (*values, limit, offset))
    return [Said(rows.fact(r), datetime.fromisoformat(r["at"]), r["speaker"], bool(r["at_sure"])) for r in found]


def fact(db: sqlite3.Connection, id: int) -> Fact | None:
    """One fact by its number."""
    row = db.execute("SELECT * FROM facts WHERE id = ?", (id,)).fetchone()
    return rows.fact(row) if row else None


def new_memos(db: sqlite3.Connection, seen: Seen) -> frozenset[str]:
    """The memos filed after `seen`."""
    if not seen.memo:
        return frozenset()
    return frozenset(row["id"] for row in db.execute("SELECT id FROM memos WHERE row > ?", (seen.memo,)))


def recording(db: sqlite3.Connection, memo: str) -> str | None:
    """The SHA-256 of the recording of a memo; None for what was typed."""
    sql = "SELECT sha FROM memos JOIN media ON media.sha = memos.media WHERE memos.id = ? AND media.kind = 'recording'"
    row = db.execute(sql, (memo,)).fetchone()
    return row["sha"] if row else None


# --- follow-ups


def followups(db: sqlite3.Connection, wanted: Wanted, offset: int = 0, limit: int = PAGE) -> list[FollowUp]:
    """Follow-ups, worst first, then the oldest; closed ones last; by the day they are due where that is asked."""
    where, values = _wanted(wanted)
    first = "due, " if wanted.due else ""
    # the ids alone are sorted: rows are wide
    sql = f"""
        SELECT followups.* FROM (
            SELECT id FROM followups WHERE {where}
            ORDER BY closed_by IS NOT NULL, {first}{_WORST}, since, id LIMIT ? OFFSET ?
        ) AS page CROSS JOIN followups ON followups.id = page.id"""
    return [rows.followup(row) for row in db.execute(sql, (*values, limit, offset))]


_WORST = "CASE severity WHEN 'high' THEN 0 WHEN 'medium' THEN 1 WHEN 'low' THEN 2 ELSE 3 END"


def severities(db: sqlite3.Connection, wanted: Wanted) -> dict[Severity, int]:
    """How many are open of what is wanted, by severity."""
    where, values = _wanted(wanted)
    sql = f"SELECT severity, count(*) FROM followups WHERE {where} AND {_OPEN} GROUP BY severity"
    found = {row[0]: row[1] for row in db.execute(sql, values)}
    return {severity: found[severity] for severity in Severity if severity in found}


def choices(db: sqlite3.Connection, column: str) -> list[str]:
    """What follow-ups have in `check` or `assignee`."""
    if column not in ("check", "assignee"):
        raise ValueError(column)
    sql = f'SELECT DISTINCT "{column}" AS it FROM followups WHERE it IS NOT NULL ORDER BY it'
    return [row["it"] for row in db.execute(sql)]


def evidence(db: sqlite3.Connection, id: int) -> list[Fact]:
    """The facts that a follow-up rests on, first the one that opened it."""
    row = db.execute("SELECT facts FROM followups WHERE id = ?", (id,)).fetchone()
    found = []
    for memo, n in json.loads(row["facts"]) if row else ():
        hit = db.execute("SELECT * FROM facts WHERE memo = ? AND n = ?", (memo, n)).fetchone()
        found += [rows.fact(hit)] if hit else []
    return found


def _wanted(wanted: Wanted) -> tuple[str, list[object]]:
    given = {"room": wanted.room, '"check"': wanted.check, "assignee": wanted.assignee}
    conditions = [f"{column} = ?" for column, value in given.items() if value is not None]
    conditions += ["due IS NOT NULL"] if wanted.due else []
    conditions += [] if wanted.closed else [_OPEN]
    return " AND ".join(conditions) or "1", [value for value in given.values() if value is not None]


# --- photos


def photos(db: sqlite3.Connection, where: Where, memo: str | None = None, limit: int = 500) -> list[Picture]:
    """Photos in the order they were taken: of a memo, or of a part of the log."""
    given: dict[str, object] = {"memo = ?": memo} if memo else {}
    if not memo and not where.anywhere:
        given["room IS ?"] = where.room
    values = list(given.values())
    if where.day and not memo:
        given["at BETWEEN ? AND ?"] = None
        values += [where.day, _end(where.day)]
    sql = f"SELECT * FROM photos WHERE {' AND '.join(given) or '1'} ORDER BY moment, row LIMIT ?"
    return [Picture(rows.photo(row), row["media"]) for row in db.execute(sql, (*values, limit))]


# --- runs


def count(db: sqlite3.Connection, rooms: Iterable[str] = (), subjects: Iterable[str] = ()) -> int:
    """How many facts the runs of these rooms and services (all, where none are named) are joined from, at most."""
    conditions = []
    values: list[str] = []
    for column, wanted in (("room", list(rooms)), ("subject", list(subjects))):
        if wanted:
            conditions.append(f"{column} IN ({', '.join('?' * len(wanted))})")
            values += wanted
    return int(db.execute(f"SELECT count(*) FROM facts WHERE {' AND '.join(conditions) or '1'}", values).fetchone()[0])
