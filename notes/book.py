"""The book: one SQLite file for a job. Opening, migrations, and the one way to write."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from notes import points, schema, short
from notes.errors import BookError, VoidbookError

NAME = "book.db"
PATIENCE = 30.0
"""Seconds to wait for another program that is writing."""


def connect(root: Path) -> sqlite3.Connection:
    """The book of the job in `root`, open for writing, made or brought up to date where needed."""
    file = root / NAME
    with worded(file):
        touch(file)
        db = sqlite3.connect(file, timeout=PATIENCE, isolation_level=None)
        try:
            _set_up(db, file)
        except BaseException:
            db.close()
            raise
    return db


@contextmanager
def opened(root: Path) -> Iterator[sqlite3.Connection]:
    """`connect`, closed at the end."""
    with closing(connect(root)) as db:
        yield db


@contextmanager
def write(db: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """All or nothing. The lock is taken first, so what is read inside is still so when it is written."""
    with worded(NAME):
        db.execute("BEGIN IMMEDIATE")
        points.reach("book begun")
        try:
            yield db
            points.reach("book changed")
            db.execute("COMMIT")
            points.reach("book committed")
        except BaseException:
            with suppress(sqlite3.Error):  # a full disk may have rolled back already
                db.rollback()
            raise


@contextmanager
def worded(file: Path | str) -> Iterator[None]:
    """SQLite's errors in a person's words."""
    try:
        yield
    except sqlite3.Error as wrong:
        raise _meant(wrong, file) from wrong
    except UnicodeDecodeError as wrong:  # its text, or SQLite's own word on it, quoting what should be a name
        raise _damaged("text that is none", file) from wrong


def _meant(wrong: sqlite3.Error, file: Path | str) -> VoidbookError:
    detail = getattr(wrong, "sqlite_errorcode", 0)
    code = detail & 0xFF  # the low byte is the kind
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return BookError("another program is writing and did not finish", file=file, todo="try again in a moment")
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return _damaged(wrong, file)
    if code == sqlite3.SQLITE_FULL or detail == sqlite3.SQLITE_IOERR_SHMSIZE:  # no room for the -shm file
        return VoidbookError("the disk is full, nothing of it was filed", file=file, todo="make room")
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return BookError(f"the book can't be opened ({wrong})", file=file, todo="check the rights of the job's folder")
    return BookError(f"the book can't be used ({wrong})", file=file, todo="check the disk")


def _damaged(what: object, file: Path | str) -> BookError:
    return BookError(f"the book is damaged ({what})", file=file, todo="put the last backup in its place")


def check_version(db: sqlite3.Connection, file: Path) -> int:
    """The version of the book. Raises BookError if it is newer than this program."""
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    if version > schema.VERSION:
        raise BookError("the book was written by a newer voidbook", file=file, todo="bring this one up to date")
    return version


def indexes(db: sqlite3.Connection) -> list[str]:
    """The full-text indexes of the book."""
    sql = "SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE VIRTUAL TABLE%fts5%' ORDER BY name"
    return [row[0] for row in db.execute(sql)]


def touch(file: Path) -> None:
    # made with its rights before SQLite writes to it: its -wal and -shm files then get the same
    with suppress(FileExistsError):
        os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))


def _set_up(db: sqlite3.Connection, file: Path) -> None:
    db.row_factory = sqlite3.Row
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA synchronous = FULL")
    if check_version(db, file) < schema.VERSION:
        _log_ahead(db)
        _migrate(db, file)


def _log_ahead(db: sqlite3.Connection) -> None:
    """Switch to a write-ahead log. SQLite does not wait for another program that is just doing so: this does."""
    stop = time.monotonic() + PATIENCE
    while True:
        try:
            db.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as wrong:
            if wrong.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() > stop:
                raise
        time.sleep(0.02)


def _migrate(db: sqlite3.Connection, file: Path) -> None:
    """Run the steps that this book has not seen, in one transaction, after a backup of what it holds."""
    with write(db):
        version = check_version(db, file)  # another program may have been faster
        if version == schema.VERSION:
            return
        points.reach("migrate locked")
        if version:
            _keep(db, file, version)
        points.reach("migrate kept")
        _run_steps(db, schema.STEPS)
        points.reach("migrate stepped")
        db.execute(f"PRAGMA user_version = {schema.VERSION}")


def _keep(db: sqlite3.Connection, file: Path, version: int) -> None:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    kept = file.with_name(f"{file.name}.v{version}.{stamp}")
    touch(kept)
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(kept)) as target:
        source.backup(target)


@lru_cache(maxsize=4)
def made(version: int) -> Mapping[str, str | None]:
    """What sqlite_master of a book of this version holds: the statement that made each thing, by its name."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        _run_steps(db, schema.STEPS[:version])
        return dict(db.execute("SELECT name, sql FROM sqlite_master").fetchall())


def _run_steps(db: sqlite3.Connection, wanted: Iterable[schema.Step]) -> None:
    import sqlite_utils

    db.create_function("short", 1, lambda kept: short.short(short.full(kept)), deterministic=True)
    wrapped = sqlite_utils.Database(db, execute_plugins=False)
    steps = sqlite_utils.Migrations("voidbook")
    for step in wanted:
        steps(name=step.name)(_runner(step))
    steps.apply(wrapped)


def _runner(step: schema.Step) -> Callable[[Any], None]:
    def run(db: Any) -> None:
        db.executescript(step.sql)
        for table, columns in step.indexed:
            db[table].enable_fts(columns, create_triggers=True, tokenize="porter unicode61 remove_diacritics 2")

    return run
