"""A disk that is full or fails: one clear line, nothing half filed, and all is well once there is room."""

from __future__ import annotations

import errno
import os
import sqlite3
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from house import HEARD, JOB, Quiet, a_job, an_inbox, copy, quick_folder, told

from notes import backup, book, intake, ruling, search, verify
from notes.errors import VoidbookError


@pytest.fixture(scope="module")
def whole() -> Iterator[Path]:
    """An inbox, and a job that has all of it."""
    with quick_folder() as folder:
        an_inbox(folder / "inbox")
        with book.opened(a_job(folder / "job")) as db:
            assert take(db, folder / "job", folder) == []
        yield folder


def take(db: Any, root: Path, place: Path) -> list[VoidbookError]:
    return intake.take(db, root, JOB, [place / "inbox"], Quiet(), transcriber=HEARD)


def sound(root: Path) -> None:
    assert [p for p in verify.check(root, JOB, deep=True, young=0) if p.error] == []
    assert verify.repair(root, JOB, deep=True, young=0)[1] == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of two megabytes."""
    place = tmp_path / "disk"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)], capture_output=True, check=False
    )
    if made.returncode:
        pytest.skip("no right to mount a small disk here")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


def fill(place: Path, leave: int) -> Path:
    """Leave so many bytes free."""
    room = os.statvfs(place)
    filler = place / "filler"
    filler.write_bytes(b"x" * max(0, room.f_bavail * room.f_frsize - leave))
    return filler


@pytest.mark.parametrize("leave", [0, 8_192, 40_960, 100_000, 200_000, 400_000])
def test_a_full_disk_files_nothing_by_halves(small_disk: Path, whole: Path, leave: int) -> None:
    root = a_job(small_disk / "job")
    filler = fill(small_disk, leave)
    wrong: list[VoidbookError] = []
    try:
        with book.opened(root) as db:
            wrong = take(db, root, whole)
    except VoidbookError as failure:
        wrong = [failure]
    assert wrong
    assert all("disk is full" in str(w) or "can't be used" in str(w) for w in wrong), wrong
    assert any("disk is full" in str(w) for w in wrong), wrong
    filler.unlink()
    sound(root)
    with book.opened(root) as db:
        assert take(db, root, whole) == []
    assert told(root, order=False) == told(whole / "job", order=False)


def test_a_backup_onto_a_full_disk_leaves_the_former_one(small_disk: Path, whole: Path, tmp_path: Path) -> None:
    root = copy(whole / "job", tmp_path / "job")
    backup.backup(root, small_disk / "backup")
    before = told(small_disk / "backup")
    with book.opened(root) as db:
        ruling.accept(db, JOB, search.of_memo(db, "m2")[0].id or 0, "A")
    filler = fill(small_disk, 20_000)
    with pytest.raises(VoidbookError, match=r"disk is full|No space"):
        backup.backup(root, small_disk / "backup")
    filler.unlink()
    assert told(small_disk / "backup") == before
    sound(small_disk / "backup")
    backup.backup(root, small_disk / "backup")
    assert told(small_disk / "backup") == told(root)


# --- faults


class Faulty(sqlite3.Connection):
    """Fails with an I/O error at the statement whose turn it is."""

    left = -1
    code = sqlite3.SQLITE_IOERR

    def execute(self, sql: str, *args: Any) -> sqlite3.Cursor:
        if sql.startswith(("INSERT", "UPDATE", "DELETE", "COMMIT", "BEGIN")):
            Faulty.left -= 1
            if Faulty.left == 0:
                wrong = sqlite3.OperationalError("disk I/O error")
                wrong.sqlite_errorcode = Faulty.code
                raise wrong
        return super().execute(sql, *args)


@pytest.mark.parametrize("code", [sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL])
def test_an_error_at_any_statement_is_told_and_undone(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    real = sqlite3.connect
    monkeypatch.setattr(sqlite3, "connect", lambda *a, **k: real(*a, **{**k, "factory": Faulty}))
    monkeypatch.setattr(Faulty, "code", code)
    should, seen = told(whole / "job", order=False), 0
    for n in (1, 2, 3, 5, 8, 13, 21, 34, 55, 89):
        root = a_job(tmp_path / str(n))
        with book.opened(root) as db:
            Faulty.left = n
            wrong = take(db, root, whole)
            Faulty.left = -1
            seen += bool(wrong)
            assert all("can't be used" in str(w) or "disk is full" in str(w) for w in wrong)
            sound(root)
            assert take(db, root, whole) == []
        assert told(root, order=False) == should
    assert seen >= 5


@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC, errno.EROFS])
@pytest.mark.parametrize("call", ["os.fsync", "Path.replace", "BufferedReader.read"])
def test_an_error_of_the_disk_at_any_file_is_told_and_undone(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, number: int
) -> None:
    from notes import store

    root = a_job(tmp_path / "job")

    def fail(*_: Any) -> None:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patch, book.opened(root) as db:
        where = {"os.fsync": (os, "fsync"), "Path.replace": (Path, "replace"), "BufferedReader.read": (store, "_copy")}
        patch.setattr(*where[call], fail)
        wrong = take(db, root, whole)
    assert len(wrong) == 5
    for one in wrong:
        assert "disk is full" in str(one) if number == errno.ENOSPC else os.strerror(number) in str(one)
    sound(root)
    with book.opened(root) as db:
        assert take(db, root, whole) == []
    assert told(root, order=False) == told(whole / "job", order=False)
