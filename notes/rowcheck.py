"""What every row of an export must be, before any of it is written: one that the rest of the program can read.

A folder that anybody may have edited is no book of ours: a size that is text, a day without its offset or a number
without end would be taken in and end every later command. Fuzzing found each of these.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import fields
from datetime import datetime, timedelta
from functools import lru_cache
from types import NoneType
from typing import Any

from notes import absent, book, filing, ledger, rows, schema
from notes.decisions import Decision, Kind
from notes.errors import VoidbookError
from notes.export import TABLES, Export
from notes.kinds import Kind as FileKind
from notes.model import Fact, Status
from notes.verifying.rows import NEEDS

Row = Mapping[str, Any]


def check(export: Export) -> None:
    """Raise VoidbookError for the first row that the rest of the program could not read."""
    for table, found in export.tables.items():
        columns = _columns(table)
        for row in found:
            try:
                _held(row, columns)
                _READ[table](row)
            except (KeyError, ValueError, TypeError, AttributeError, OverflowError, RecursionError) as wrong:
                raise unreadable(table, wrong) from wrong
        _joined(export, table)


def _joined(export: Export, table: str) -> None:
    """Raise VoidbookError where a row of `table` refers to one that is not in the export."""
    for column, other, key in _refers(table):
        known = {None, *(row[key] for row in export.tables[other])}
        for row in export.tables[table]:
            if row.get(column) not in known:
                raise unreadable(table, ValueError(f"its {column} {row[column]!r:.40} is not in the export"))


def unreadable(table: str, wrong: Exception) -> VoidbookError:
    """The error for a row of `table`."""
    return VoidbookError(f"a row of {table} can't be read ({wrong})", todo="export the job again")


# --- columns


@lru_cache(maxsize=len(TABLES))
def _columns(table: str) -> dict[str, tuple[str, bool]]:
    """The type of each column, and whether it may hold nothing."""
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute(str(book.made(schema.VERSION)[table]))
        told = db.execute(f"PRAGMA table_info({table})").fetchall()
    return {name: (_SQL[kind], not needed and not key) for _, name, kind, needed, _, key in told}


@lru_cache(maxsize=len(TABLES))
def _refers(table: str) -> list[tuple[str, str, str]]:
    """The columns that name a row of another table, that table, and its column."""
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute(str(book.made(schema.VERSION)[table]))
        found = db.execute(f"PRAGMA foreign_key_list({table})").fetchall()
    return [(column, other, key) for _, _, other, column, key, *_ in found]


_SQL = {"TEXT": "str", "INTEGER": "int", "REAL": "float", "BLOB": "str"}  # what is kept short is plain in an export


def _held(row: Row, columns: Mapping[str, tuple[str, bool]]) -> None:
    for name, (kind, empty) in columns.items():
        if name in row and not (name == "path" and isinstance(row[name], str)):  # a file's name may be no text
            _must(name, row[name], f"{kind} | None" if empty else kind)


_KINDS: Mapping[str, Any] = {
    "str": str, "int": int, "float": (int, float), "bool": bool, "None": NoneType, "Status": Status,
    "tuple[str, ...]": tuple, "dict": dict, "list": list,
}  # fmt: skip


def _must(name: str, value: object, annotation: str) -> None:
    """Raise where `value` is not of the annotated type, or is what no book can hold."""
    if not any(isinstance(value, _KINDS[kind]) for kind in annotation.split(" | ")):
        raise TypeError(f"{name} can't be {value!r:.40}")
    if isinstance(value, str):
        value.encode()
    elif isinstance(value, (int, float)) and not (math.isfinite(value) and abs(value) < 2**63):
        raise ValueError(f"{name} can't be {value!r:.40}")
    elif isinstance(value, (tuple, list)) and annotation.startswith("tuple"):
        for one in value:
            _must(name, one, "str")


def _sound(values: Iterable[Any]) -> None:
    """Facts, words: every field of what it is said to be."""
    for value in values:
        for field in fields(value):
            _must(field.name, getattr(value, field.name), str(field.type))


def _when(at: datetime) -> None:
    """Raise where a time can't be shown in every zone."""
    if at.tzinfo is None:
        raise ValueError(f"{at.isoformat()} has no offset")
    for days in (-2, 2):
        at + timedelta(days=days)


# --- what they mean together


def _memo(row: Row) -> None:
    memo = rows.memo(row)
    _when(memo.at)
    if memo.at.timestamp() != row["moment"]:
        raise ValueError("its time is told twice and not alike")
    _sound(memo.words)
    _sound(rows.facts_from(row["said"]))
    row["digest"], row["media"], row["transcript"], row["at_source"]


def _photo(row: Row) -> None:
    photo = rows.photo(row)
    _when(photo.at)
    if photo.at.timestamp() != row["moment"]:
        raise ValueError("its time is told twice and not alike")
    if row.get("phash"):  # exports had none once
        rows.look(row)
    row["digest"], row["told_memo"], row["media"]


def _transcript(row: Row) -> None:
    _sound(filing.heard_words(row["transcript"]))
    row["key"], row["media"]


def _followup(row: Row) -> None:
    item = rows.followup(row)
    for at in (item.since, item.closed_at):
        if at:
            _when(at)


def _decision(row: Row) -> None:
    decision = ledger.decision(row)
    _when(decision.at)
    about, value = dict(decision.about), dict(decision.value)
    if lacks := [*NEEDS.get(decision.kind, frozenset()) - {*about, *value}]:
        raise ValueError(f"it does not say {', '.join(sorted(lacks))}")
    for name, held in {**about, **_set(decision)}.items():
        _must(name, held, _DECIDED.get(name, "str | None"))
    for gap in absent.of([decision]):
        _when(gap.at)
        _must("seconds", gap.seconds, "float | None")
        _must("digests", tuple(about["digests"]), "tuple[str, ...]")
    int(row["id"])


_DECIDED = {
    "start": "int", "end": "int", "facts": "dict", "digests": "list", "open": "list", "seconds": "float | None",
    "anywhere": "bool", **dict.fromkeys(("check", "quote", "now", "why", "to", "key", "other", "photo"), "str"),
}  # fmt: skip
_FIELDS = {field.name: str(field.type) for field in fields(Fact)}
_WRITTEN = {"Status": "str", "tuple[str, ...]": "list"}
"""How JSON holds what it has no type for."""


def _set(decision: Decision) -> dict[str, object]:
    """What a decision sets; the fields of facts are looked at here, as they have types of their own."""
    value = dict(decision.value)
    given = {}
    if decision.kind is Kind.CORRECT:
        given = {value["field"]: value.pop("value")}
    elif decision.kind is Kind.ADD:
        given, value = value, {}
    for name, held in given.items():
        _must(name, held, _WRITTEN.get(_FIELDS[name], _FIELDS[name]))
    if "status" in given:
        Status(given["status"])
    return value


_READ: Mapping[str, Any] = {
    "media": lambda row: (FileKind(row["kind"]), row["sha"]),
    "transcripts": _transcript,
    "memos": _memo,
    "photos": _photo,
    "decisions": _decision,
    "facts": lambda row: _sound([rows.fact(row)]),
    "followups": _followup,
    "problems": lambda row: row["path"],
}
