"""Checking a job: what is missing, changed, broken or left over, named exactly; and mending what can be derived.

Problems are returned, nothing is printed. An error is something that was lost or is not to be trusted; litter is what
a stopped program left behind and a sweep removes. Repair never deletes an original: suspect files are put aside.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from notes import book, clock, forget
from notes.errors import BookError, MediaError, VoidbookError
from notes.model import Job
from notes.store import ASIDE as ASIDE
from notes.store import Store, sha_of
from notes.verifying import derived, pages
from notes.verifying import rows as broken
from notes.verifying.problem import Mend, Problem, litter

YOUNG = 3600.0
"""Seconds for which a file may still be in the hands of a program that is filing it."""

Tell = Callable[[str, int, int], None]
"""Called with what is being checked, how many are done, and how many there are."""


@dataclass(frozen=True, slots=True)
class _Look:
    """What every check needs. `young` is the age in seconds below which left-over files are not looked at."""

    root: Path
    job: Job
    db: sqlite3.Connection
    deep: bool
    young: float
    tell: Tell

    @property
    def store(self) -> Store:
        return Store(self.root / "media")


def check(
    root: Path, job: Job, *, deep: bool = False, young: float = YOUNG, tell: Tell = lambda *_: None
) -> list[Problem]:
    """All that is wrong with the job in `root`. `deep` reads every original and every page again."""
    return _with_book(root, lambda db: list(_all(_Look(root, job, db, deep, young, tell))))


def repair(
    root: Path, job: Job, *, deep: bool = False, young: float = YOUNG, tell: Tell = lambda *_: None
) -> tuple[list[Problem], list[Problem]]:
    """Mend what can be derived, put suspect files aside, sweep litter: what was mended, and what is still wrong."""

    def mend(db: sqlite3.Connection) -> list[Problem]:
        mended: list[Problem] = []
        for _ in range(_ROUNDS):
            found = [p for p in _all(_Look(root, job, db, deep, young, tell)) if p.mend and p not in mended]
            with book.write(db):
                for problem in found:
                    if problem.mend:
                        problem.mend(db)
            mended += found
        if forget.forgotten(db):
            forget.wipe(db, root)
        return mended

    mended = _with_book(root, mend, lambda wrong: [])
    left = check(root, job, deep=deep, young=young, tell=tell)
    return [p for p in mended if p not in left], left


_ROUNDS = 3
"""Facts follow from rows, follow-ups from facts: each shows only once the other is right."""


def _with_book(
    root: Path,
    work: Callable[[sqlite3.Connection], list[Problem]],
    failed: Callable[[VoidbookError], list[Problem]] = lambda wrong: [_unreadable(wrong)],
) -> list[Problem]:
    """`work` on the book as it stands, without bringing it up to date; a book that can't be read is a problem."""
    file = root / book.NAME
    if not file.exists():
        return [] if not any(Store(root / "media").walk()) else [_no_book(file)]
    try:
        with book.worded(file), closing(sqlite3.connect(file, timeout=book.PATIENCE, isolation_level=None)) as db:
            db.row_factory = sqlite3.Row
            db.text_factory = lambda data: data.decode("utf-8", "surrogateescape")  # broken text is told with its row
            db.execute("PRAGMA foreign_keys = ON")
            if book.check_version(db, file) == 0:
                return [_no_book(file)]
            return work(db)
    except BookError as wrong:
        return failed(wrong)


def _no_book(file: Path) -> Problem:
    return Problem("the job has media but no book", str(file), "restore it from a backup")


def _unreadable(wrong: VoidbookError) -> Problem:
    return Problem(wrong.what, wrong.file or book.NAME, wrong.todo)


def _all(look: _Look) -> Iterator[Problem]:
    look.tell("the book", 0, 1)
    damage = list(pages.damage(look.db, look.deep))
    yield from damage
    if any(p.mend is None for p in damage):  # nothing read from such pages can be trusted
        yield from _media(look)
        return
    found = [*damage, *pages.check(look.db, look.root / book.NAME, look.deep)]
    found += broken.check(look.db, look.job, look.store, look.deep)
    yield from found[len(damage) :]
    if look.deep and not found:
        yield from derived.out_of_step(look.db, look.job)
    yield from _media(look)
    yield from _litter(look)


# --- originals


def _media(look: _Look) -> Iterator[Problem]:
    """Originals that are missing or changed, and files that nothing in the book is of."""
    known = look.db.execute("SELECT sha, name, size FROM media WHERE typeof(sha) = 'text' ORDER BY sha").fetchall()
    for n, row in enumerate(known):
        look.tell("originals", n, len(known))
        yield from _original(look, row)
    gone = forget.forgotten(look.db)
    for sha, path in list(look.store.walk()):
        if sha in gone:
            what = "it was forgotten, and a stopped program left its file"
            yield litter(what, str(path), "repair removes it", _remover(path))
        elif _age(path) >= look.young and not look.db.execute(_OF, (sha,)).fetchone():
            yield _orphan(look, sha, path)
    for path in forget.copies(look.root, gone, clock.zone_of(look.job.zone)):
        yield litter("it holds what was forgotten", str(path), "repair removes it", _remover(path))


def _original(look: _Look, row: sqlite3.Row) -> Iterator[Problem]:
    about = f"{row['name']} ({row['sha'][:12]})"
    todo = f"take that file again; a backup has it in media/{row['sha'][:2]}/{row['sha'][2:4]}"
    try:
        path = look.store.path(row["sha"])
        if path.stat().st_size != row["size"] or (look.deep and sha_of(path) != row["sha"]):
            aside = _put_aside(look.root, path, lambda _db: sha_of(path) != row["sha"])
            yield Problem("an original's bytes are not what they were", f"{about}: {path}", todo, aside)
    except MediaError as wrong:
        yield Problem(f"an original is missing or can't be read: {wrong.what}", about, todo)


def _orphan(look: _Look, sha: str, path: Path) -> Problem:
    aside = _put_aside(look.root, path, lambda db: not db.execute(_OF, (sha,)).fetchone())
    what = "nothing in the book is of this file: its filing failed or was stopped"
    return litter(what, str(path), f"repair puts it into {ASIDE}/; take it again", aside)


_OF = " UNION ALL ".join(
    f"SELECT 1 FROM {table} WHERE {column} = ?1"
    for table, column in (("media", "sha"), ("memos", "media"), ("photos", "media"), ("transcripts", "media"))
)
"""Whether a file is of anything in the book, even where its own row is lost."""


def _put_aside(root: Path, path: Path, still: Callable[[sqlite3.Connection], bool]) -> Mend:
    """Move a file out of the media, if it is `still` as it was found."""

    def put(db: sqlite3.Connection) -> None:
        folder = root / ASIDE
        folder.mkdir(mode=0o700, exist_ok=True)
        if path.exists() and still(db):
            path.replace(folder / path.name)

    return put


def _remover(path: Path) -> Mend:
    return lambda _db: path.unlink(missing_ok=True)


# --- what was left lying about


def _litter(look: _Look) -> Iterator[Problem]:
    for path in _left(look.root):
        if _age(path) >= look.young:
            yield litter("a stopped program left this", str(path), "repair removes it", _remover(path))


def _left(root: Path) -> Iterable[Path]:
    """Temporary files of the store, of job.toml, of a backup's or restored book, of small copies of photos."""
    names = ("media/.part-*", ".job.toml.*", ".backup.json.*", ".part-book.db*", "thumbnails/*/.*")
    return [path for name in names for path in root.glob(name)]


def _age(path: Path) -> float:
    try:
        return time.time() - path.stat().st_mtime
    except OSError:  # its owner has just filed or removed it
        return -1.0
