"""What follows from memos and decisions, kept in step inside the writer's transaction: facts, follow-ups."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import replace

from notes import decisions, ledger, rows
from notes.checks import follow_ups, touched
from notes.joining import standing_runs
from notes.model import Fact, FollowUp, Job

Rooms = frozenset[str | None] | None
"""Rooms by name, with None among them for what was said of no room. None alone stands for every room."""


def settle(db: sqlite3.Connection, memo: str) -> set[Fact]:
    """Replay the decisions on a memo over its facts as the machine read them; the facts that came or went."""
    said = db.execute("SELECT said FROM memos WHERE id = ?", (memo,)).fetchone()["said"]
    new = decisions.replay(rows.facts_from(said), ledger.of_memo(db, memo))
    old = facts(db, "memo = ?", (memo,))
    changed = set(new) ^ {_bare(fact) for fact in old}
    if changed:
        _put(db, memo, new)
    return changed


def _bare(fact: Fact) -> Fact:
    return replace(fact, id=None)


def _put(db: sqlite3.Connection, memo: str, new: Iterable[Fact]) -> None:
    """Facts keep their row as long as they keep their number, so that what is on a screen stays valid."""
    kept = []
    for fact in new:
        row = rows.fact_row(fact)
        sets = ", ".join(f'"{name}" = excluded."{name}"' for name in row if name not in ("memo", "n"))
        marks = ", ".join(f":{name}" for name in row)
        sql = f"INSERT INTO facts ({rows.columns(row)}) VALUES ({marks}) ON CONFLICT (memo, n) DO UPDATE SET {sets}"
        db.execute(sql, row)
        kept.append(fact.n)
    marks = ", ".join("?" * len(kept))
    db.execute(f"DELETE FROM facts WHERE memo = ? AND n NOT IN ({marks})", (memo, *kept))


def facts(db: sqlite3.Connection, where: str = "1", values: Iterable[object] = ()) -> list[Fact]:
    """Facts in the order they were said."""
    sql = f"SELECT facts.* FROM facts JOIN memos ON memos.id = facts.memo WHERE {where} ORDER BY moment, row, n"
    return [rows.fact(row) for row in db.execute(sql, tuple(values))]


def rooms_of(db: sqlite3.Connection, changed: Iterable[Fact]) -> Rooms:
    """The rooms whose follow-ups these facts may change: their own, and those with a service spoken of everywhere."""
    own, services = touched(changed)
    sql = f"SELECT DISTINCT room FROM facts WHERE subject IN ({', '.join('?' * len(services))})"
    return own | frozenset(row["room"] for row in db.execute(sql, tuple(services)))


def joined(rooms: Rooms, others: Iterable[str | None]) -> Rooms:
    """`rooms` and `others` together."""
    return None if rooms is None else rooms | frozenset(others)


def refresh(db: sqlite3.Connection, job: Job, rooms: Rooms) -> None:
    """Derive the follow-ups of these rooms again."""
    if rooms is not None and not rooms:
        return
    where, values = _of_rooms("facts.room", rooms, " OR facts.room IS NULL OR everywhere")
    said = facts(db, where, values)
    memos = {row["id"]: rows.memo(row) for row in db.execute(f"{_MEMOS} WHERE {where}) ORDER BY moment, row", values)}
    when = {id: memo.at for id, memo in memos.items()}
    shown, rooms_ = _of_rooms("room", rooms, " OR room IS NULL")
    sql = f"SELECT * FROM photos WHERE {shown} ORDER BY moment, row"
    photos = [rows.photo(row) for row in db.execute(sql, rooms_)]
    runs = standing_runs(said, when, job.rooms, ledger.all_of(db, decisions.ON_RUNS))
    found = follow_ups(said, runs, memos, photos, job)
    wanted = [item for item in found if rooms is None or item.room in rooms]
    ruled = decisions.overlay(wanted, ledger.all_of(db, decisions.ON_FOLLOWUPS))
    _put_followups(db, ruled, rooms)


_MEMOS = """
SELECT row, id, at, at_sure, speaker, raw, text, seconds FROM memos WHERE id IN (SELECT memo FROM facts"""


def _of_rooms(column: str, rooms: Rooms, also: str = "") -> tuple[str, tuple[str | None, ...]]:
    if rooms is None:
        return "1", ()
    of_none = f" OR {column} IS NULL" if None in rooms else ""  # IN never meets NULL
    return f"({column} IN ({', '.join('?' * len(rooms))}){of_none}{also})", tuple(rooms)


def _put_followups(db: sqlite3.Connection, items: Iterable[FollowUp], rooms: Rooms) -> None:
    """Store them under keys that last, so that an id a person has read stays the same follow-up's."""
    where, values = _of_rooms("room", rooms)
    stale = {row["key"] for row in db.execute(f"SELECT key FROM followups WHERE {where}", values)}
    for key, item in keyed(items):
        row = {"key": key, **rows.followup_row(item)}
        sets = ", ".join(f'"{name}" = excluded."{name}"' for name in row if name != "key")
        marks = ", ".join(f":{name}" for name in row)
        db.execute(
            f"INSERT INTO followups ({rows.columns(row)}) VALUES ({marks}) ON CONFLICT (key) DO UPDATE SET {sets}", row
        )
        stale.discard(key)
    db.executemany("DELETE FROM followups WHERE key = ?", [(key,) for key in stale])


def keyed(items: Iterable[FollowUp]) -> list[tuple[str, FollowUp]]:
    """Each with a key of its own that depends on nothing but what it is about."""
    seen: dict[str, int] = {}
    found = []
    for item in items:
        key = "|".join((item.check, item.memo or "", item.room or "", item.subject or "", item.quote))
        seen[key] = seen.get(key, 0) + 1
        found.append((f"{key}|{seen[key]}", item))
    return found
