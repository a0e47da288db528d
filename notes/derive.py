"""What follows from memos and decisions, kept in step inside the writer's transaction: facts, follow-ups."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import replace

from notes import concerning, decisions, ledger, rows
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
    said = concerning.facts(db, rooms or (), roomless=False)
    memos = {row["id"]: rows.memo(row) for row in concerning.memos(db, said, _MEMO)}
    when = {id: memo.at for id, memo in memos.items()}
    photos = [rows.photo(row) for row in concerning.of_rooms(db, "photos", "*", rooms, "ORDER BY moment, row")]
    runs = standing_runs(said, when, job.rooms, ledger.all_of(db, decisions.ON_RUNS))
    found = follow_ups(said, runs, memos, photos, job)
    wanted = [item for item in found if rooms is None or item.room in rooms]
    _put_followups(db, decisions.overlay(wanted, _decided(db, wanted, rooms)), rooms)


_MEMO = "row, id, at, at_sure, speaker, raw, text, seconds"


def _decided(db: sqlite3.Connection, items: Iterable[FollowUp], rooms: Rooms) -> tuple[decisions.Decision, ...]:
    """The decisions on these follow-ups: by their memos, unless all are worked out."""
    if rooms is None:
        return ledger.all_of(db, decisions.ON_FOLLOWUPS)
    return ledger.of_memos(db, {item.memo for item in items if item.memo})


def _put_followups(db: sqlite3.Connection, items: Iterable[FollowUp], rooms: Rooms) -> None:
    """Store them under keys that last, so that an id a person has read stays the same follow-up's."""
    stale = {row["key"] for row in concerning.of_rooms(db, "followups", "key", rooms)}
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
