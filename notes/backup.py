"""Backing a job up while it is in use, and restoring it.

A backup is a folder that is itself a job: book.db (a snapshot by SQLite's own backup), media, job.toml. Media come
first, the book takes its place last, so a stopped backup leaves the former one whole. What a backup holds is never
given up for a book that knows less.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from notes import book, files, forget, points, rows
from notes import job as jobs
from notes.errors import BookError, MediaError, UsageError, VoidbookError
from notes.store import Store, sha_of

MADE = "backup.json"
_PART = ".part-book.db"

Tell = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, and how many there are."""


@dataclass(frozen=True, slots=True)
class Kept:
    """How many memos the backup has, how many files were copied now, and what could not be backed up."""

    memos: int
    copied: int
    wrong: tuple[VoidbookError, ...]


def backup(root: Path, dest: Path, tell: Tell = lambda *_: None) -> Kept:
    """Bring the backup in the folder `dest` up to date. Raises UsageError, BookError, VoidbookError."""
    _fit(root, dest)
    with _worded(dest):
        dest.mkdir(mode=0o700, parents=True, exist_ok=True)
        part = dest / _PART
        tell("the book", 0, 1)
        _snapshot(root / book.NAME, part)
        points.reach("backup book copied")
        gone = _no_less(part, dest / book.NAME)
        copied, wrong = _copy_media(Store(root / "media"), Store(dest / "media"), gone, tell)
        memos = _settle(part, dest / book.NAME)
        _copy_toml(root, dest)
        for sha in gone:
            forget.remove_file(Store(dest / "media"), sha)
        made = {
            "made": datetime.now(UTC).isoformat(timespec="seconds"),
            "memos": memos,
            "sha256": sha_of(dest / book.NAME),
        }
        files.write(dest / MADE, json.dumps(made).encode(), private=True)
        points.reach("backup told")
    return Kept(memos, copied, tuple(wrong))


def restore(source: Path, root: Path, tell: Tell = lambda *_: None) -> Kept:
    """Make a job in the folder `root` of the backup in `source`, each file checked.

    Raises UsageError where `root` holds something else, BookError where the backup's book is damaged.
    """
    _is_backup(source)
    _is_free(root)
    with _worded(root):
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
        copied, wrong = _copy_media(Store(source / "media"), Store(root / "media"), frozenset(), tell)
        _snapshot(source / book.NAME, root / _PART)
        points.reach("restore book copied")
        memos = _settle(root / _PART, root / book.NAME)
        wrong += _missing(root)
        _copy_toml(source, root)  # last: with it the folder is a job
        points.reach("restore named")
    return Kept(memos, copied, tuple(wrong))


# --- what may be written where


def _fit(root: Path, dest: Path) -> None:
    here, there = root.resolve(), dest.resolve()
    if there == here or here in there.parents or there in here.parents:
        raise UsageError(
            "a backup can't lie in its job, nor a job in its backup", file=dest, todo="choose another folder"
        )
    if not (root / book.NAME).exists():
        raise BookError("the job has no book yet", file=root / book.NAME, todo="take something first")
    others = [p.name for p in dest.iterdir()] if dest.is_dir() else []
    if others and not {MADE, book.NAME, _PART} & set(others):
        raise UsageError(
            "this folder holds something else", file=dest, todo="choose an empty folder, or a former backup"
        )


def _is_backup(source: Path) -> None:
    if not (source / MADE).is_file() or not (source / book.NAME).is_file():
        raise UsageError("this is no backup, or one that was never finished", file=source, todo="choose another folder")


def _is_free(root: Path) -> None:
    names = [path.name for path in root.iterdir()] if root.is_dir() else []
    left = ("media", book.NAME, _PART, f".{jobs.NAME}")  # by a restore that was stopped
    if not all(name.startswith(left) for name in names):
        raise UsageError("this folder is not empty", file=root, todo="choose a new folder")


def _no_less(new: Path, old: Path) -> frozenset[str]:
    """What was forgotten. Raises UsageError where the former backup knows memos that the new one does not."""
    with _reading(new) as db:
        gone, now = forget.forgotten(db), _digests(db)
    if old.exists():
        with _reading(old) as db:
            before = {r["digest"] for r in db.execute("SELECT * FROM memos") if not _told_gone(r, gone)}
        if lost := before - now:
            what = f"it holds {len(lost)} memos that this job does not know"
            raise UsageError(what, file=old.parent, todo="back this job up into another folder")
    return gone


def _digests(db: sqlite3.Connection) -> set[str]:
    return {row["digest"] for row in db.execute("SELECT digest FROM memos")}


def _told_gone(row: rows.Row, gone: frozenset[str]) -> bool:
    return row["digest"] in gone or forget.said_digest(rows.memo(row)) in gone


# --- the book


def _snapshot(file: Path, part: Path) -> None:
    """A checked copy of a book that may be in use."""
    _gone_with_its_log(part)
    book.touch(part)
    uri = f"{file.absolute().as_uri()}?mode=ro"
    with (
        book.worded(file),
        closing(sqlite3.connect(uri, uri=True, timeout=book.PATIENCE)) as source,
        closing(sqlite3.connect(part)) as target,
    ):
        source.backup(target)
        told = target.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if told != "ok":
        raise BookError(f"the book is damaged ({told})", file=file, todo="see what with: voidbook verify --deep")


def _settle(part: Path, target: Path) -> int:
    """Put a copy in its place, durable; how many memos it has."""
    with _reading(part) as db:
        memos = int(db.execute("SELECT count(*) FROM memos").fetchone()[0])
    _sync(part)
    for side in ("-wal", "-shm"):  # of the book that stood there; they would be taken for the new one's
        target.with_name(target.name + side).unlink(missing_ok=True)
        part.with_name(part.name + side).unlink(missing_ok=True)
    part.replace(target)
    points.reach("backup book named")
    _sync(target.parent)
    return memos


def _gone_with_its_log(part: Path) -> None:
    for name in (part.name, f"{part.name}-wal", f"{part.name}-shm", f"{part.name}-journal"):
        part.with_name(name).unlink(missing_ok=True)


@contextmanager
def _reading(file: Path) -> Iterator[sqlite3.Connection]:
    """A book that nobody else has open; nothing is written beside it, unless it was used and stopped."""
    used = file.with_name(f"{file.name}-wal").exists()
    uri = f"{file.absolute().as_uri()}?mode=ro{'' if used else '&immutable=1'}"
    with book.worded(file), closing(sqlite3.connect(uri, uri=True)) as db:
        db.row_factory = sqlite3.Row
        book.check_version(db, file)
        yield db


def _copy_toml(root: Path, dest: Path) -> None:
    files.write(dest / jobs.NAME, (root / jobs.NAME).read_bytes(), private=True)


def _sync(path: Path) -> None:
    if os.name == "nt" and path.is_dir():
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


# --- media


def _copy_media(source: Store, target: Store, gone: frozenset[str], tell: Tell) -> tuple[int, list[VoidbookError]]:
    """Copy what `target` has not; how many, and the files that are not what their names say."""
    wanted = [(sha, path) for sha, path in source.walk() if sha not in gone]
    copied, wrong = 0, list[VoidbookError]()
    for n, (sha, path) in enumerate(wanted):
        tell("originals", n, len(wanted))
        if _there(target, sha, path):
            continue
        try:
            copied += _copy(path, sha, target)
        except MediaError as bad:
            wrong.append(bad)
        points.reach("backup media copied")
        points.reach("restore media copied")
    return copied, wrong


def _there(target: Store, sha: str, path: Path) -> bool:
    """Whether it was copied before: then its bytes were checked, and only its size is looked at."""
    try:
        return target.path(sha).stat().st_size == path.stat().st_size
    except (MediaError, OSError):
        return False


def _copy(path: Path, sha: str, target: Store) -> int:
    put = target.put(path)
    if put.sha != sha:
        if not put.already:
            target.path(put.sha).unlink()
        raise MediaError("its bytes have changed on the disk", file=path, todo="take that file again")
    return 1


def _missing(root: Path) -> list[VoidbookError]:
    """Originals that the restored book knows and the backup did not have."""
    store = Store(root / "media")
    with _reading(root / book.NAME) as db:
        known = db.execute("SELECT sha, name FROM media").fetchall()
    have = {sha for sha, _ in store.walk()}
    return [
        MediaError("this original was not in the backup", file=row["name"], todo="take that file again")
        for row in known
        if row["sha"] not in have
    ]


@contextmanager
def _worded(place: Path) -> Iterator[None]:
    try:
        yield
    except OSError as wrong:
        file = wrong.filename or place
        raise VoidbookError(f"it can't be written ({wrong.strerror})", file=file, todo="check the disk") from wrong
