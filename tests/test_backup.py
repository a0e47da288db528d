"""A backup is whole, made while the job is in use, cheap the second time, and never replaced by one that knows less."""

from __future__ import annotations

import json
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conftest import Ran, jsonl, said
from house import JOB, Quiet, a_filled_job, a_job, copy, quick_folder, told

from notes import backup, book, intake, verify
from notes import job as jobs
from notes.errors import BookError, UsageError, VoidbookError
from notes.store import Store


@pytest.fixture(scope="module")
def whole() -> Iterator[Path]:
    with quick_folder() as folder:
        yield a_filled_job(folder)


@pytest.fixture
def root(whole: Path) -> Path:
    return copy(whole, whole.parent / "copy")


def take(root: Path, *paths: Path) -> None:
    with book.opened(root) as db:
        assert intake.take(db, root, JOB, paths, Quiet()) == []


def files(folder: Path) -> dict[str, tuple[int, int]]:
    found = [path for path in folder.rglob("*") if path.is_file()]
    return {str(p.relative_to(folder)): (p.stat().st_mtime_ns, p.stat().st_ino) for p in found}


def test_a_backup_is_a_whole_job_and_comes_back_the_same(root: Path, tmp_path: Path) -> None:
    kept = backup.backup(root, tmp_path / "backup")
    assert (kept.memos, kept.copied, kept.wrong) == (6, 5, ())
    assert json.loads((tmp_path / "backup" / backup.MADE).read_text())["memos"] == 6
    assert verify.check(tmp_path / "backup", JOB, deep=True, young=0) == []
    assert backup.restore(tmp_path / "backup", tmp_path / "again").copied == 5
    assert verify.check(tmp_path / "again", jobs.load(tmp_path / "again"), deep=True, young=0) == []
    assert told(tmp_path / "again") == told(root)
    assert (tmp_path / "again" / jobs.NAME).read_text() == (root / jobs.NAME).read_text()


def test_the_second_backup_copies_only_what_is_new(root: Path, tmp_path: Path) -> None:
    backup.backup(root, tmp_path / "backup")
    before = files(tmp_path / "backup" / "media")
    take(root, jsonl(tmp_path / "b.jsonl", said("m9", "In the scullery. Capped the gas.", hours=9)))
    assert backup.backup(root, tmp_path / "backup").copied == 1
    after = files(tmp_path / "backup" / "media")
    assert before.items() < after.items()
    assert told(tmp_path / "backup") == told(root)


def test_a_backup_of_a_job_in_use_is_of_one_moment(root: Path, tmp_path: Path) -> None:
    """A writer adds to two tables at once, all the time; no backup sees one without the other."""
    stop = threading.Event()

    def write() -> None:
        with book.opened(root) as db:
            while not stop.is_set():
                with book.write(db):
                    for path in ("a", "b"):
                        sql = "INSERT INTO problems (path, line, reason, at) SELECT ?, count(*), '', '' FROM problems"
                        db.execute(sql, (path,))

    writer = threading.Thread(target=write)
    writer.start()
    try:
        counts = []
        for _ in range(12):
            backup.backup(root, tmp_path / "backup")
            with closing(sqlite3.connect(tmp_path / "backup" / book.NAME)) as db:
                counts.append(db.execute("SELECT total(path = 'a'), total(path = 'b') FROM problems").fetchone())
    finally:
        stop.set()
        writer.join()
    assert all(a == b for a, b in counts)
    assert counts[-1] > counts[0]  # there was a writer


def test_a_changed_original_is_told_and_never_replaces_the_good_copy(root: Path, tmp_path: Path) -> None:
    backup.backup(root, tmp_path / "backup")
    sha, path = next(iter(Store(root / "media").walk()))
    path.write_bytes(path.read_bytes()[::-1])
    assert backup.backup(root, tmp_path / "backup").wrong == ()
    Store(tmp_path / "backup" / "media").verify(sha)
    (wrong,) = backup.backup(root, tmp_path / "other").wrong
    assert (wrong.what, wrong.file) == ("its bytes have changed on the disk", str(path))
    assert sha not in dict(Store(tmp_path / "other" / "media").walk())
    (missing,) = backup.restore(tmp_path / "other", tmp_path / "again").wrong
    assert "was not in the backup" in missing.what


def test_a_damaged_book_never_replaces_a_backup(root: Path, tmp_path: Path) -> None:
    backup.backup(root, tmp_path / "backup")
    good = (tmp_path / "backup" / book.NAME).read_bytes()
    data = bytearray((root / book.NAME).read_bytes())
    data[4096:40960] = b"\xff" * (40960 - 4096)
    (root / book.NAME).write_bytes(data)
    with pytest.raises(BookError, match="damaged"):
        backup.backup(root, tmp_path / "backup")
    assert (tmp_path / "backup" / book.NAME).read_bytes() == good


def test_a_backup_is_not_replaced_by_a_book_that_knows_less(root: Path, tmp_path: Path) -> None:
    backup.backup(root, tmp_path / "backup")
    other = a_job(tmp_path / "other")
    with pytest.raises(UsageError, match="holds 6 memos that this job does not know"):
        backup.backup(other, tmp_path / "backup")
    assert told(tmp_path / "backup") == told(root)


def test_places_that_are_not_for_it_are_refused(root: Path, tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"x")
    for place, what in ((root, "can't lie"), (root / "x", "can't lie"), (tmp_path / "photos", "something else")):
        with pytest.raises(UsageError, match=what):
            backup.backup(root, place)
    with pytest.raises(UsageError, match="no backup"):
        backup.restore(tmp_path / "photos", tmp_path / "new")
    backup.backup(root, tmp_path / "backup")
    with pytest.raises(UsageError, match="not empty"):
        backup.restore(tmp_path / "backup", root)
    assert sorted(p.name for p in (tmp_path / "photos").iterdir()) == ["a.jpg"]


def test_what_was_forgotten_goes_from_the_backup_too(root: Path, tmp_path: Path) -> None:
    from notes import forget

    backup.backup(root, tmp_path / "backup")
    with book.opened(root) as db:
        forget.forget(db, root, JOB, "m2", "A")
    backup.backup(root, tmp_path / "backup")
    holding = [p for p in (tmp_path / "backup").rglob("*") if p.is_file() and b"zebrano" in p.read_bytes()]
    assert holding == []
    assert told(tmp_path / "backup") == told(root)


def test_the_commands_tell_what_they_did(root: Path, tmp_path: Path, voidbook: Callable[..., Ran]) -> None:
    ran = voidbook("backup", tmp_path / "backup", "--job", root)
    assert (ran.code, ran.err) == (0, f"backed up into {tmp_path}/backup: 6 memos, 5 originals copied\n")
    ran = voidbook("restore", tmp_path / "backup", tmp_path / "new")
    assert (ran.code, ran.err) == (0, f"restored into {tmp_path}/new: 6 memos, 5 originals copied\n")
    assert voidbook("restore", tmp_path / "backup", tmp_path / "new").code == 2


def test_a_disk_that_fails_is_one_line(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    def fail(*_: Any) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(VoidbookError, match="Input/output error"):
        backup.backup(root, tmp_path / "backup")
