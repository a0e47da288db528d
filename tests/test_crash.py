"""Killed at any moment: nothing wrong is left but litter, and doing it again ends as if nothing had happened."""

from __future__ import annotations

import random
import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from forks import Forks, newer
from house import JOB, ROUNDS, a_job, an_inbox, copy, quick_folder, told

from notes import book, points, schema, verify
from notes import job as jobs
from notes.store import Store, sha_of

KILLED = -9
BY_CHANCE = ROUNDS or 8
"""Rounds for each thing that may be killed, eleven of them."""


@dataclass(frozen=True)
class Doing:
    """Something that may be killed: what runs, in which job it begins, the named places in it, what it makes."""

    name: str
    what: str
    args: tuple[str, ...]
    begins: str
    points: tuple[str, ...]
    makes: str = "job"
    again: tuple[int, ...] = ()
    """Exit codes of doing it again that are right besides 0, as it may have been done already."""


DOINGS = (
    Doing("take", "command", ("take", "{inbox}"), "empty", points.TAKE),
    Doing("move", "command", ("take", "--move", "{inbox}"), "empty", (*points.TAKE, *points.MOVE), again=(4,)),
    Doing("decide", "decide", (), "filled", points.DECIDE),
    Doing("migrate", "migrate", (), "filled", (*points.MIGRATE, *points.BOOK)),
    Doing("back up", "command", ("backup", "{folder}/backup"), "filled", points.BACKUP, "backup"),
    Doing("restore", "command", ("restore", "{former}", "{folder}/new"), "filled", points.RESTORE, "new", (2,)),
    Doing("record", "command", ("record", "--whole", "--out", "{folder}/out.md"), "filled", points.WRITE),
    Doing("export", "command", ("export", "{folder}/out"), "decided", points.EXPORT, again=(2,)),
    Doing("import", "command", ("import", "{exported}", "--job", "{folder}/new"), "empty", points.IMPORT, "new", (2,)),
    Doing("merge", "command", ("import", "{exported}"), "other", points.MERGE),
    Doing("forget", "command", ("forget", "m2", "--yes", "--by", "A"), "decided", points.FORGET, again=(2,)),
)
EACH = pytest.mark.parametrize("doing", DOINGS, ids=lambda doing: doing.name)


@dataclass(frozen=True)
class Kit:
    """What all rounds share: jobs to begin with, and how each doing ends when nobody kills it, after how long."""

    folder: Path
    forks: Forks
    ends: dict[str, Any]
    lasts: dict[str, float]

    def place(self, doing: Doing) -> Path:
        """A folder in which `doing` can begin anew."""
        place = self.folder / "round"
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir()
        for name in ("inbox", "former", "exported"):
            copy(self.folder / name, place / name)
        copy(self.folder / doing.begins, place / "job")
        return place

    def run(self, doing: Doing, place: Path, **kill: Any) -> int:
        names = {"inbox": place / "inbox", "folder": place, "former": place / "former", "exported": place / "exported"}
        return self.forks.run(place / "job", doing.what, *(arg.format(**names) for arg in doing.args), **kill)

    def round(self, doing: Doing, *, look_first: bool, **kill: Any) -> int:
        """Run `doing` and kill it; then do it again, and all must be as if it had not been killed."""
        place = self.place(doing)
        code = self.run(doing, place, **kill)
        assert code in (0, KILLED), _talk(place)
        if look_first:
            _sound(place, doing)
        assert self.run(doing, place) in (0, *doing.again), _talk(place)
        _sound(place, doing)
        assert _state(place, doing) == self.ends[doing.name]
        return code


def _talk(place: Path) -> str:
    return (place / "said.txt").read_text()[-2000:]


def _sound(place: Path, doing: Doing) -> None:
    """Nothing is wrong but litter, and that can be swept; what was moved is kept, what was not is untouched."""
    for root in {place / "job", place / doing.makes}:
        if not (root / jobs.NAME).exists():  # a backup or a restored job that was not finished
            continue
        wrong = verify.check(root, JOB, deep=True, young=0)
        assert [problem for problem in wrong if problem.error] == []
        mended, left = verify.repair(root, JOB, deep=True, young=0)
        assert left == []
        assert set(mended) == set(wrong)
    if doing.name == "move":
        for original in (place.parent / "inbox").iterdir():
            there, sha = place / "inbox" / original.name, sha_of(original)
            if there.exists():
                assert sha_of(there) == sha
            else:
                Store(place / "job" / "media").verify(sha)


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _state(place: Path, doing: Doing) -> Any:
    """What `doing` makes, and what it must leave."""
    found: dict[str, Any] = told(place / doing.makes)
    if doing.name == "move":
        found["inbox"] = [path.name for path in (place / "inbox").iterdir()]
        found["problems"] = []  # a folder that has become empty is told as one
    if doing.name == "export":
        found["export"] = [(str(p.relative_to(place)), p.read_bytes()) for p in _files(place / "out")]
    if doing.name == "record":
        found["lines"] = [line for line in (place / "out.md").read_text().splitlines() if "Issued" not in line]
    if doing.name == "forget":
        found["traces"] = [p for p in (place / "job").rglob("*") if p.is_file() and b"zebrano" in p.read_bytes()]
        assert found["traces"] == []
    return found


@pytest.fixture(scope="module")
def kit() -> Iterator[Kit]:
    with Forks() as forks, quick_folder() as folder:
        an_inbox(folder / "inbox")
        empty = a_job(folder / "empty")
        filled = copy(empty, folder / "filled")
        assert forks.run(filled, "command", "take", folder / "inbox") == 0
        decided = copy(filled, folder / "decided")
        assert forks.run(decided, "decide") == 0
        assert forks.run(decided, "command", "backup", folder / "former") == 0
        assert forks.run(decided, "command", "export", folder / "exported") == 0
        other = copy(empty, folder / "other")
        note = folder / "other note" / "note.txt"
        note.parent.mkdir()
        note.write_text("In the scullery. Capped the gas.")
        assert forks.run(other, "command", "take", note) == 0
        yield Kit(folder, forks, {}, {})


@pytest.fixture
def ready(kit: Kit, doing: Doing, monkeypatch: pytest.MonkeyPatch) -> Kit:
    """The kit with the end of `doing` known."""
    if doing.name == "migrate":
        monkeypatch.setattr(schema, "STEPS", schema.STEPS)  # so that they are put back
        monkeypatch.setattr(schema, "VERSION", schema.VERSION)
        newer(schema)
    if doing.name not in kit.ends:
        place, since = kit.place(doing), time.monotonic()
        assert kit.run(doing, place) == 0, _talk(place)
        kit.lasts[doing.name] = time.monotonic() - since
        kit.ends[doing.name] = _state(place, doing)
    return kit


@EACH
def test_killed_at_every_named_point(ready: Kit, doing: Doing) -> None:
    for name in doing.points:
        assert ready.round(doing, look_first=True, kill_at=name) == KILLED, f"{name} is never reached"
        times = range(2, 1000) if ROUNDS else (random.randint(2, 4),)
        for n in times:
            if ready.round(doing, look_first=n % 2 == 0, kill_at=f"{name}:{n}") == 0:
                break


@EACH
def test_killed_at_any_moment(ready: Kit, doing: Doing) -> None:
    longest, killed = ready.lasts[doing.name], 0
    for n in range(4 * BY_CHANCE):
        if n >= BY_CHANCE and killed > BY_CHANCE // 3:
            break
        code = ready.round(doing, look_first=n % 2 == 0, kill_after=random.uniform(0, longest))
        longest *= 1.1 if code == KILLED else 0.8  # a busy machine is now fast, now slow
        killed += code == KILLED
    assert killed > BY_CHANCE // 3  # or nothing was shown


def test_every_named_point_is_in_the_program() -> None:
    sources = "".join(p.read_text() for p in Path(points.__file__).parent.rglob("*.py"))
    assert [name for name in points.ALL if f'reach("{name}")' not in sources] == []


def test_a_book_of_each_earlier_schema_opens_after_a_backup(tmp_path: Path) -> None:
    for version in range(1, schema.VERSION + 1):
        root = tmp_path / str(version)
        root.mkdir()
        _book_of(version, root)
        with book.opened(root) as db:
            assert db.execute("PRAGMA user_version").fetchone()[0] == schema.VERSION
            assert db.execute("SELECT raw FROM memos").fetchone()["raw"] == "Capped the hot."
        kept = list(root.glob(f"{book.NAME}.v{version}.*"))
        assert len(kept) == (version < schema.VERSION)
        jobs.create(root, JOB)
        wrong = verify.check(root, JOB, deep=True, young=0)
        assert [p for p in wrong if "as it was made" in p.what or "index" in p.what] == []


def _book_of(version: int, root: Path) -> None:
    """The book as the program of that version left it."""
    import sqlite3

    dump = Path(__file__).parent / "books" / f"v{version}.sql"
    with sqlite3.connect(root / book.NAME) as db:
        db.executescript(dump.read_text())
    db.close()
