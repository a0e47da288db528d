"""The decisions in the book: appended and read, never edited."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from notes import points
from notes.decisions import Decision, Kind


def append(db: sqlite3.Connection, decision: Decision) -> int:
    """Add a decision to the book, inside the caller's transaction; its id."""
    about, value = (json.dumps(dict(v), ensure_ascii=False) for v in (decision.about, decision.value))
    row = (decision.at.isoformat(), decision.who, decision.kind.value, decision.memo, about, value, decision.undoes)
    sql = "INSERT INTO decisions (at, who, kind, memo, about, value, undoes) VALUES (?, ?, ?, ?, ?, ?, ?)"
    id = int(db.execute(sql, row).lastrowid or 0)
    points.reach("decision added")
    return id


def of_memo(db: sqlite3.Connection, memo: str) -> tuple[Decision, ...]:
    """All decisions about a memo, its facts, words and follow-ups, with those that undo them."""
    mine = "SELECT * FROM decisions WHERE memo = ?1"
    return tuple(map(decision, db.execute(mine + " ORDER BY id", (memo,))))


def of_memos(db: sqlite3.Connection, memos: Iterable[str]) -> tuple[Decision, ...]:
    """All decisions about these memos."""
    mine = "SELECT * FROM decisions WHERE memo IN (SELECT value FROM json_each(?)) ORDER BY id"
    return tuple(map(decision, db.execute(mine, (json.dumps(list(memos)),))))


def all_of(db: sqlite3.Connection, kinds: Iterable[Kind]) -> tuple[Decision, ...]:
    """All decisions of these kinds, with every undo."""
    wanted = [kind.value for kind in (*kinds, Kind.UNDO)]
    marks = ", ".join("?" * len(wanted))
    return tuple(map(decision, db.execute(f"SELECT * FROM decisions WHERE kind IN ({marks}) ORDER BY id", wanted)))


def decision(row: Any) -> Decision:
    """The decision in a row of `decisions`."""
    about, value = json.loads(row["about"]), json.loads(row["value"])
    at = datetime.fromisoformat(row["at"])
    return Decision(Kind(row["kind"]), row["who"], at, row["memo"], about, value, row["undoes"], row["id"])
