"""Files that could not be filed: kept with their reason until they are."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from notes.book import write
from notes.errors import VoidbookError


def remember(db: sqlite3.Connection, path: Path, wrong: Iterable[VoidbookError]) -> None:
    """What is wrong with a file now, in place of what was wrong with it before."""
    name = storable(str(path.absolute()))
    with write(db):
        db.execute("DELETE FROM problems WHERE path = ?", (name,))
        for error in wrong:
            line = (error.file or "").rpartition(":")[2]
            row = (
                name,
                int(line) if line.isdigit() else 0,
                _reason(error),
                datetime.now(UTC).isoformat(timespec="seconds"),
            )
            db.execute("INSERT OR REPLACE INTO problems (path, line, reason, at) VALUES (?, ?, ?, ?)", row)


def failed(db: sqlite3.Connection) -> list[Path]:
    """The files that could not be filed, to be tried again."""
    rows = db.execute("SELECT DISTINCT path FROM problems ORDER BY id").fetchall()
    return [Path(os.fsdecode(row["path"])) for row in rows]


def _reason(error: VoidbookError) -> str:
    return f"{error.what}; {error.todo}" if error.todo else error.what


def storable(path: str) -> str | bytes:
    """The path; as bytes where its name is not valid text, so that it can be found again."""
    try:
        path.encode()
    except UnicodeEncodeError:
        return os.fsencode(path)
    return path
