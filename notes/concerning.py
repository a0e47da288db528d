"""The facts and memos that a part of the job is worked out from, by index: no more are read in a bigger book."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterable
from typing import Any

from notes import rows
from notes.model import Fact


def facts(
    db: sqlite3.Connection, rooms: Collection[str | None], subjects: Collection[str] = (), *, roomless: bool = True
) -> list[Fact]:
    """Facts of these rooms (all, where none are named) and services, with those that reach into them, as they were
    said. `roomless`: also what was said of no room and reaches nowhere, since its pipe may go to one of them."""
    names = json.dumps([room for room in rooms if room is not None])
    chosen = ["room IN (SELECT value FROM json_each(:rooms))", _BEYOND] if rooms else ["1"]
    if rooms and (roomless or None in rooms):
        chosen.append("room IS NULL")
    narrow = "AND subject IN (SELECT value FROM json_each(:subjects))" if subjects else ""
    # each by an index of its own: SQLite would read all facts for the three joined by OR
    ids = " UNION ".join(f"SELECT id FROM facts WHERE {condition} {narrow}" for condition in chosen)
    sql = f"""
        SELECT facts.* FROM facts JOIN memos ON memos.id = facts.memo
        WHERE facts.id IN ({ids}) ORDER BY memos.moment, memos.row, facts.n"""
    return [rows.fact(row) for row in db.execute(sql, {"rooms": names, "subjects": json.dumps(list(subjects))})]


_BEYOND = "(everywhere OR (room IS NULL AND \"action\" = 'test'))"
"""As the index facts_beyond has it, and `notes.runs.everywhere`."""


def memos(db: sqlite3.Connection, facts: Iterable[Fact], columns: str) -> list[Any]:
    """These columns of the memos that `facts` were said in, in the order of time."""
    ids = json.dumps(list({fact.memo for fact in facts}))
    sql = f"SELECT {columns} FROM memos WHERE id IN (SELECT value FROM json_each(?)) ORDER BY moment, row"
    return db.execute(sql, (ids,)).fetchall()


def of_rooms(
    db: sqlite3.Connection, table: str, columns: str, rooms: Collection[str | None] | None, order: str = ""
) -> list[Any]:
    """These columns of a table's rows that are of `rooms`, or of all."""
    if rooms is None:
        return db.execute(f"SELECT {columns} FROM {table} {order}").fetchall()
    none = "OR room IS NULL" if None in rooms else ""
    sql = f"SELECT {columns} FROM {table} WHERE room IN (SELECT value FROM json_each(?)) {none} {order}"
    return db.execute(sql, (json.dumps([room for room in rooms if room is not None]),)).fetchall()
