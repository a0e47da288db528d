"""What follows from memos and decisions, kept in step inside the writer's transaction: facts, follow-ups."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from notes import concerning, decisions, ledger, rows
from notes.checks import follow_ups, once_a_job, touched
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
    """Derive the follow-ups of these rooms again, and what is reminded of once a job."""
    if rooms is not None and not rooms:
        return
    firsts = {} if rooms is None else _reminded_by(db)
    found = _follow_ups(db, job, rooms, [fact for fact in firsts.values() if fact])
    if _moved(found, firsts):  # what a reminder rested on is not said any more: the next such fact is anywhere
        everything = _follow_ups(db, job, None)
        found = [f for f in found if f.check not in once_a_job()] + [f for f in everything if f.check in once_a_job()]
    wanted = [item for item in found if rooms is None or item.room in rooms or item.check in once_a_job()]
    decided = _decided(db, wanted, rooms)
    others = _elsewhere(db, decided, rooms)
    _put_followups(db, decisions.overlay([*wanted, *others], decided)[: len(wanted)], rooms)


def _elsewhere(db: sqlite3.Connection, decided: Iterable[decisions.Decision], rooms: Rooms) -> list[FollowUp]:
    """Follow-ups of other rooms that these decisions may be about: each holds for the one it is most like, and that
    one must be among those it is held against."""
    asked = {f"{d.about['check']}|{d.memo}" for d in decided if d.kind in decisions.ON_FOLLOWUPS}
    between = "SELECT * FROM followups WHERE key > ? AND key < ?"
    found = [row for key in asked for row in db.execute(between, (f"{key}|", f"{key}}}")).fetchall()]  # '}' follows '|'
    near = once_a_job()
    return [
        rows.followup(row)
        for row in found
        if rooms is not None and row["room"] not in rooms and row["check"] not in near
    ]


def _reminded_by(db: sqlite3.Connection) -> dict[str, Fact | None]:
    """The fact that each reminder of this job rests on; None where it is gone."""
    found: dict[str, Fact | None] = {}
    for row in _reminders(db):
        ((memo, n),) = json.loads(row["facts"])
        found[row["check"]] = next(iter(facts(db, "memo = ? AND n = ?", (memo, n))), None)
    return found


def _reminders(db: sqlite3.Connection) -> list[Any]:
    sql = 'SELECT * FROM followups WHERE room IS NULL AND "check" IN (SELECT value FROM json_each(?))'
    return db.execute(sql, (json.dumps(sorted(once_a_job())),)).fetchall()


def _moved(found: Iterable[FollowUp], firsts: Mapping[str, Fact | None]) -> bool:
    """Whether a reminder rests on another fact than it did."""
    now = {item.check: (item.facts[0].memo, item.facts[0].n) for item in found}
    return any(fact is None or now.get(check) != (fact.memo, fact.n) for check, fact in firsts.items())


def _follow_ups(db: sqlite3.Connection, job: Job, rooms: Rooms, also: Collection[Fact] = ()) -> list[FollowUp]:
    """Those that the facts of these rooms open, and what is reminded of by them or by the facts `also`."""
    said = concerning.facts(db, rooms or (), roomless=False)
    memos = {row["id"]: rows.memo(row) for row in concerning.memos(db, [*said, *also], _MEMO)}
    when = {id: memo.at for id, memo in memos.items()}
    photos = [rows.photo(row) for row in concerning.of_rooms(db, "photos", "*", rooms, "ORDER BY moment, row")]
    runs = standing_runs(said, when, job.rooms, ledger.all_of(db, decisions.ON_RUNS))
    return list(follow_ups(said, runs, memos, photos, job, also=tuple(also)))


_MEMO = "row, id, at, at_sure, speaker, raw, text, seconds"


def _decided(db: sqlite3.Connection, items: Iterable[FollowUp], rooms: Rooms) -> tuple[decisions.Decision, ...]:
    """The decisions on these follow-ups: by their memos, unless all are worked out."""
    if rooms is None:
        return ledger.all_of(db, decisions.ON_FOLLOWUPS)
    return ledger.of_memos(db, {item.memo for item in items if item.memo})


def _put_followups(db: sqlite3.Connection, items: Iterable[FollowUp], rooms: Rooms) -> None:
    """Store them under keys that last, so that an id a person has read stays the same follow-up's."""
    before = (*concerning.of_rooms(db, "followups", "key", rooms), *_reminders(db))
    stale = {row["key"] for row in before}
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
