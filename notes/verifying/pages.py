"""The book's pages, tables, keys and full-text indexes: damage that SQLite sees, and what is not as it was made."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from notes import book
from notes.verifying.problem import BACKUP, Mend, Problem


def damage(db: sqlite3.Connection, deep: bool) -> Iterator[Problem]:
    """Damage that SQLite sees itself. An index is made anew from its table; other pages only come from a backup."""
    told = [row[0] for row in db.execute(f"PRAGMA {'integrity' if deep else 'quick'}_check(50)")]
    for line in told:
        if line == "ok" or "FTS5" in line:  # the full-text indexes are looked at by themselves
            continue
        if " index " in line and not line.startswith(("***", "Tree", "Page", "Freelist")):
            yield Problem("an index of the book does not agree with its table", line, "repair makes it anew", _reindex)
        else:
            yield Problem("the book is damaged", line.replace("\n", " "), "restore it from a backup")


def _reindex(db: sqlite3.Connection) -> None:
    db.execute("REINDEX")


def check(db: sqlite3.Connection, file: Path, deep: bool) -> Iterator[Problem]:
    """What is wrong with tables, keys and full-text indexes of a book whose pages can be read."""
    if deep:
        yield from _schema(db, file)
    yield from _foreign_keys(db)
    yield from _indexes(db)


def _schema(db: sqlite3.Connection, file: Path) -> Iterator[Problem]:
    """Tables, indexes and triggers that are not as the program makes them."""
    should = book.made(book.check_version(db, file))
    made = dict(db.execute("SELECT name, sql FROM sqlite_master").fetchall())
    for name in sorted(name for name in {*should, *made} if should.get(name) != made.get(name)):
        yield Problem("a table, index or trigger of the book is not as it was made", name, BACKUP)


def _foreign_keys(db: sqlite3.Connection) -> Iterator[Problem]:
    for table, row, parent, _ in db.execute("PRAGMA foreign_key_check"):
        yield Problem(f"it points to a row of {parent} that is not there", f"{table} {row}", "restore it from a backup")


def _indexes(db: sqlite3.Connection) -> Iterator[Problem]:
    for table in book.indexes(db):
        try:
            # 1 compares the index with the table it is of, word by word
            db.execute(f"INSERT INTO {table}({table}, rank) VALUES ('integrity-check', 1)")
        except sqlite3.DatabaseError as wrong:
            if wrong.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_ERROR):
                raise
            what = "the full-text index does not agree with what was said"
            yield Problem(what, table, "repair makes it anew", _rebuilder(table))


def _rebuilder(table: str) -> Mend:
    def rebuild(db: sqlite3.Connection) -> None:
        db.execute(f"INSERT INTO {table}({table}) VALUES ('rebuild')")

    return rebuild
