"""A job to test with, the commands as a person runs them, and a book filled with facts that no rule had to read."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from notes import book, derive, filing, job
from notes.cli import main
from notes.model import Fact, Job, Memo, Room, Status
from notes.reading import Carry, Reading

# how long an example may take says more of the machine than of the program
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

ROOMS = (
    Room("House bathroom", "First", ("main bathroom", "family bathroom")),
    Room("Scullery", "Ground", ("back kitchen",)),
    Room("Boiler house", "Outside", ("the shed",)),
)
MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Ran:
    """What a command printed and its exit code."""

    out: str
    err: str
    code: int

    @property
    def rows(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.out.splitlines()]


@pytest.fixture
def a_job() -> Job:
    return Job("Hollin Bank", ROOMS, crew=("A", "B"))


@pytest.fixture
def root(tmp_path: Path, a_job: Job) -> Path:
    """A job with an empty book."""
    folder = tmp_path / "job"
    job.create(folder, a_job)
    book.connect(folder).close()
    return folder


@pytest.fixture
def db(root: Path) -> Iterator[Any]:
    with closing(book.connect(root)) as connection:
        yield connection


@pytest.fixture
def voidbook(root: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Runs a command in the job's folder."""
    monkeypatch.chdir(root)
    monkeypatch.setenv("COLUMNS", "80")

    def run(*args: object) -> Ran:
        capsys.readouterr()
        with pytest.raises(SystemExit) as end:
            main([str(arg) for arg in args])
        said = capsys.readouterr()
        return Ran(said.out, said.err, int(end.value.code or 0))

    return run


def a_fact(memo: str, n: int, text: str, quote: str, **values: Any) -> Fact:
    """A fact whose words stand in `text`."""
    start = text.index(quote)
    base = {"room": "House bathroom", "subject": "hot", "action": "cap", "status": Status.DONE}
    return Fact(**{**base, **values, "memo": memo, "n": n, "quote": quote, "start": start, "end": start + len(quote)})


def put(
    db: Any, job: Job, memo: str, text: str, facts: Iterable[Fact], *, hours: float = 0, speaker: str = "A"
) -> None:
    """File a memo with these facts as if the rules had read them."""
    at = MONDAY + timedelta(hours=hours)
    said = tuple(facts)
    with book.write(db):
        db.execute("INSERT OR IGNORE INTO media VALUES ('0', 'memos', 'memos.jsonl', 1, '2026')")
        row = int(db.execute("SELECT coalesce(max(row), 0) + 1 FROM memos").fetchone()[0])
        new = filing.NewMemo(Memo(memo, at, speaker, text, text, order=row), memo, "told", "0")
        filing._put_memo(db, row, Reading(new.memo, said, Carry()), new)
        changed = derive.settle(db, memo)
        derive.refresh(db, job, derive.rooms_of(db, changed))


@pytest.fixture
def filled(db: Any, a_job: Job) -> Any:
    """Two memos: the hot and cold capped in the bathroom, a waste left open in the scullery."""
    first = (
        "In the bathroom. I've capped the hot and the circulation behind the basin, twenty-two mil. Cold wants lagging."
    )
    second = "Back kitchen now. Left the waste open under the sink, inch and a half."
    both = {
        "quote": "capped the hot and the circulation behind the basin",
        "place": "behind the basin",
        "size_mm": 22.0,
    }
    put(
        db,
        a_job,
        "m01",
        first,
        [
            a_fact("m01", 0, first, **both),
            a_fact("m01", 1, first, **both, subject="hot return"),
            a_fact("m01", 2, first, "Cold wants lagging", subject="cold", action="insulate", status=Status.TO_DO),
        ],
    )
    waste = {"room": "Scullery", "subject": "waste", "action": "leave", "size_mm": 40.0, "place": "under the sink"}
    put(db, a_job, "m02", second, [a_fact("m02", 0, second, "Left the waste open under the sink", **waste)], hours=26)
    return db


def jsonl(path: Path, *memos: dict[str, Any] | str) -> Path:
    """A file of text memos; a plain string is written as it is."""
    lines = (memo if isinstance(memo, str) else json.dumps(memo) for memo in memos)
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return path


def said(id: str, text: str, *, hours: float = 0, speaker: str = "A", **more: Any) -> dict[str, Any]:
    """A text memo as it stands in a .jsonl file."""
    return {"id": id, "at": (MONDAY + timedelta(hours=hours)).isoformat(), "speaker": speaker, "text": text, **more}
