"""A whole job as plain files, and back: JSON Lines a table, media under their SHA-256, and a list of all with hashes.

The list is written last, so what was not written to its end is never taken for an export. Reading trusts nothing: every
name must lie inside the folder and be a plain file, and every byte must be what the list says, before anything is done.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
from collections.abc import Collection
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from notes import book, files, points, schema, short
from notes import job as jobs
from notes.errors import UsageError, VoidbookError
from notes.store import Store, sha_of

LIST = "voidbook.json"
UNFINISHED = "unfinished"
"""Stands in an export as long as it is being written: one that was stopped may be written anew."""
FORMAT = 1
TABLES = ("media", "transcripts", "memos", "photos", "decisions", "facts", "followups", "problems")
"""In the order they are written and read back; each refers only to those before it."""
_ORDER = {"memos": "row", "photos": "row", "decisions": "id", "facts": "id", "followups": "id", "problems": "id"}
_NAME = re.compile(r"[A-Za-z0-9._-]+")

Rows = list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Export:
    """A folder whose files were all read and are what its list says."""

    folder: Path
    tables: dict[str, Rows]
    media: dict[str, Path]
    """Originals by their SHA-256."""


# --- out


def write(root: Path, target: Path) -> int:
    """Write the job in `root` into the new or empty folder `target`; how many files. Raises UsageError."""
    _begin(target)
    hashes = {jobs.NAME: _put(target, jobs.NAME, (root / jobs.NAME).read_bytes())}
    with closing(book.connect(root)) as db:
        db.execute("BEGIN")  # one view of all tables, whatever is filed meanwhile
        for table in TABLES:
            hashes[f"{table}.jsonl"] = _put(target, f"{table}.jsonl", _lines(db, table))
        kept = {row["sha"] for row in db.execute("SELECT sha FROM media")}
        db.execute("ROLLBACK")
    store = Store(root / "media")
    for path in map(store.path, sorted(kept)):
        sha = path.name[:64]
        hashes[f"media/{sha[:2]}/{path.name}"] = _copy(path, target / "media" / sha[:2] / path.name, sha)
    told = {"format": FORMAT, "schema": schema.VERSION, "files": hashes}
    files.write(target / LIST, json.dumps(told, indent=1, sort_keys=True).encode() + b"\n")
    (target / UNFINISHED).unlink()
    return len(hashes)


def _begin(target: Path) -> None:
    """Make the folder, or clear what a stopped export left in it: what was forgotten since must not stay there."""
    mark = target / UNFINISHED
    if mark.exists():
        (target / LIST).unlink(missing_ok=True)
        shutil.rmtree(target / "media", ignore_errors=True)
        for part in target.glob(".*.*"):
            part.unlink()
    elif target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise UsageError(f"{target} is not empty", todo="name a new folder")
    target.mkdir(mode=0o700, parents=True, exist_ok=True)
    mark.touch(mode=0o600)


def _put(target: Path, name: str, data: bytes) -> str:
    files.write(target / name, data)
    return hashlib.sha256(data).hexdigest()


def _copy(source: Path, target: Path, sha: str) -> str:
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        shutil.copyfile(source, target)
        with target.open("rb+") as copied:
            os.fsync(copied.fileno())
    except OSError as wrong:
        raise VoidbookError(f"it can't be copied ({wrong.strerror})", file=target, todo="make room") from wrong
    if sha_of(target) != sha:
        raise VoidbookError("its bytes have changed on the disk", file=source, todo="restore it from a backup")
    points.reach("export media copied")
    return sha


def _lines(db: sqlite3.Connection, table: str) -> bytes:
    found = db.execute(f"SELECT * FROM {table} ORDER BY {_ORDER.get(table, '1')}")
    # names that are no text stand in the book as bytes
    lines = (
        json.dumps(_plain(row, short.COLUMNS.get(table, ())), ensure_ascii=False, sort_keys=True, default=os.fsdecode)
        for row in found
    )
    return "".join(f"{line}\n" for line in lines).encode("utf-8", "surrogatepass")


def _plain(row: sqlite3.Row, kept_short: Collection[str]) -> dict[str, Any]:
    """A row with its text at full length: an export needs no program to be read."""
    told = dict(row)
    return told | {name: short.full(told[name]) for name in kept_short if told[name] is not None}


# --- in


def read(folder: Path) -> Export:
    """The export in `folder`, all of it checked. Raises VoidbookError for the first thing that is not as listed."""
    hashes = _list(folder)
    paths = {name: _inside(folder, name) for name in hashes}
    for name, path in paths.items():
        if sha_of(path) != hashes[name]:
            raise VoidbookError("it is not what was exported", file=path, todo="copy the export again")
    tables = {table: _rows(paths.get(f"{table}.jsonl")) for table in TABLES}
    media = {path.name[:64]: path for name, path in paths.items() if name.startswith("media/")}
    _all_there(folder, tables, media, hashes)
    return Export(folder, tables, media)


def _list(folder: Path) -> dict[str, str]:
    file = folder / LIST
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        named = {str(name): str(sha) for name, sha in told["files"].items()}
        made_by = int(told["format"]), int(told["schema"])
    except OSError:
        raise VoidbookError("there is no whole export here", file=file, todo="name the folder of an export") from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise VoidbookError("this list of an export can't be read", file=file, todo="export the job again") from None
    if made_by[0] > FORMAT or made_by[1] > schema.VERSION:
        raise VoidbookError("it was exported by a newer voidbook", file=file, todo="bring this one up to date")
    return named


def _inside(folder: Path, name: str) -> Path:
    """The file `name` of an export. Refused: what leads out of the folder, and what is no plain file."""
    parts = PurePosixPath(name).parts
    plain = parts and all(_NAME.fullmatch(part) and part.strip(".") for part in parts) and "/".join(parts) == name
    path = folder.joinpath(*parts) if plain else folder
    inside = plain and path.resolve().is_relative_to(folder.resolve()) and path.is_file()
    if not inside or any(p.is_symlink() for p in (path, *path.parents) if p.is_relative_to(folder) and p != folder):
        raise VoidbookError(
            f"the export names {name!r}, which is no file inside it", file=folder / LIST, todo="do not trust it"
        )
    return path


def _rows(path: Path | None) -> Rows:
    if path is None:
        return []
    try:
        found = [json.loads(line) for line in path.read_bytes().decode("utf-8", "surrogatepass").split("\n") if line]
    except (ValueError, RecursionError):
        found = [None]
    if not all(isinstance(row, dict) for row in found):
        raise VoidbookError("it holds no rows", file=path, todo="export the job again")
    return found


def _all_there(folder: Path, tables: dict[str, Rows], media: dict[str, Path], hashes: dict[str, str]) -> None:
    """Originals carry the name of their bytes, and none is missing."""
    missing = [row.get("sha") for row in tables["media"] if row.get("sha") not in media]
    wrong = [path for sha, path in media.items() if hashes[path.relative_to(folder).as_posix()] != sha]
    if missing or wrong:
        what = f"{len(missing) + len(wrong)} originals are missing or are not what their name says"
        raise VoidbookError(what, file=folder, todo="copy the export again")
