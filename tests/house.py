"""A job with something of everything in it, and what its book says, to compare two jobs by."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
import wave
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from conftest import MONDAY, ROOMS, jsonl, said

from notes import book, intake, ruling, search, short
from notes import job as jobs
from notes.model import Job
from notes.store import Store
from notes.transcribe import Canned

ROUNDS = int(os.environ.get("VOIDBOOK_ROUNDS", "0"))
"""Rounds of the tests that go by chance; 0 for as many as fit a quick run."""

JOB = Job("Hollin Bank", ROOMS, crew=("A", "B"))


@contextmanager
def quick_folder() -> Iterator[Path]:
    """A folder in memory, where there is one: these tests are about order, not about the disk."""
    place = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    with tempfile.TemporaryDirectory(dir=place, prefix="voidbook-test-") as folder:
        yield Path(folder)


def a_wav(path: Path, seconds: float = 1.0, rate: int = 8000) -> Path:
    """A quiet recording of its own."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(1)
        out.setframerate(rate)
        out.writeframes(path.name.encode() + b"\x80" * int(rate * seconds))
    return path


def a_photo(path: Path, **exif: Any) -> Path:
    from PIL import Image

    path.parent.mkdir(parents=True, exist_ok=True)
    Image.effect_noise((64, 48), 80).save(path, **exif)
    return path


MEMOS = (
    said("m1", "In the scullery. Left the waste open under the sink, forty mil."),
    said("m2", "Still in here. Capped the hot. Cold wants lagging behind the zebrano.", hours=1),
    said("m3", "In the boiler house. Ran the flow in twenty-two copper to the pump.", hours=2),
)


def an_inbox(folder: Path) -> Path:
    """One file of each kind, and a recording of more than two slices."""
    a_wav(folder / "20260302-101500.wav", 1)
    a_wav(folder / "20260302-111500.wav", 70, rate=1000)
    a_photo(folder / "2026-03-02 08.20.00.png")
    (folder / "note.txt").write_text("In the house bathroom. Capped the cold behind the basin.")
    jsonl(folder / "week.jsonl", *MEMOS)
    for file in folder.iterdir():
        os.utime(file, (MONDAY.timestamp(), MONDAY.timestamp()))
    return folder


def a_job(root: Path) -> Path:
    """A job with an empty book."""
    jobs.create(root, JOB)
    book.connect(root).close()
    return root


_TABLES = {
    "media": "sha, kind, name, size",
    "transcripts": "key, media, transcript",
    "memos": "*",
    "photos": "*",
    "facts": "*",
    "followups": "*",
    "decisions": "id, who, kind, memo, about, value, undoes",
    "problems": "path, line, reason",
}
_WITHIN = {"facts": ("id",), "followups": ("id", "closed_at")}
"""Columns that depend on when or how often a thing was done."""


def told(root: Path, *, order: bool = True) -> dict[str, list[str]]:
    """All that the book of `root` says, and the originals it keeps; where wanted, in which order they were filed."""
    with closing(book.connect(root)) as db:
        all_of = {table: _rows(db, table, columns, order) for table, columns in _TABLES.items()}
    known = {json.loads(row)["sha"] for row in all_of["media"]}
    return {**all_of, "kept": [sha for sha, _ in Store(root / "media").walk() if sha in known]}


def _rows(db: Any, table: str, columns: str, order: bool) -> list[str]:
    rows = [dict(row) for row in db.execute(f"SELECT {columns} FROM {table}")]
    for row in rows:
        for name in (*_WITHIN.get(table, ()), *(() if order else ("row",))):
            row.pop(name, None)
    return sorted(json.dumps(row, sort_keys=True, default=short.full) for row in rows)


def copy(of: Path, to: Path) -> Path:
    """A folder with times and all, in place of what was there."""
    shutil.rmtree(to, ignore_errors=True)
    return shutil.copytree(of, to)


class Quiet:
    """Tells nothing of a take."""

    def begin(self, files: int) -> None: ...
    def doing(self, path: Path, what: str, share: float | None = None) -> None: ...
    def filed(self, path: Path, outcome: Any) -> None: ...
    def failed(self, path: Path, wrong: Exception) -> None: ...


HEARD = Canned({}, "In the scullery. Capped the hot.")


def a_filled_job(folder: Path) -> Path:
    """A job with all of `an_inbox` in it, and some decisions."""
    root, inbox = a_job(folder / "job"), an_inbox(folder / "inbox")
    with book.opened(root) as db:
        assert intake.take(db, root, JOB, [inbox], Quiet(), transcriber=HEARD) == []
        fact = search.of_memo(db, "m2")[0]
        ruling.correct(db, JOB, fact.id or 0, "A", "size_mm", 15.0)
        ruling.put_word_right(db, JOB, "m1", "A", MEMOS[0]["text"].index("waste"), "waste", "soil")
        ruling.close(db, JOB, search.followups(db)[0].id or 0, "A", "looked at")
    return root
