"""Before the boards go up: for each pipe that is or will soon be covered, is there a photo that shows anything?"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from notes import answering, rows
from notes.lexicon import Lexicon
from notes.lexicon import load as load_lexicon
from notes.model import Job, Photo, Run
from notes.quality import Look, groups
from notes.reading.photo_count import photos_counted


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo with what was measured of it, what is written in it, and those that show nearly the same."""

    photo: Photo
    look: Look | None
    seen: str
    here: bool
    """Whether its file is in the job; else only its name is."""
    twins: tuple[str, ...] = ()

    @property
    def wrongs(self) -> tuple[str, ...]:
        """What keeps it from proving anything."""
        if not self.here:
            return ("its file is not in the job",)
        if self.look:
            return self.look.wrongs
        return () if self.photo.sharp else ("not clear enough",)

    @property
    def named(self) -> str:
        """Its name, with all that is in doubt about it."""
        doubts = [*self.wrongs, *([] if self.photo.sure else ["link not sure"])]
        return f"{self.photo.id} ({', '.join(doubts)})" if doubts else self.photo.id


@dataclass(frozen=True, slots=True)
class Board:
    """A run, and the photos that may show it."""

    run: Run
    shots: tuple[Shot, ...]

    @property
    def covered(self) -> bool:
        """Whether it is behind boards already."""
        return "covered" in self.run.state

    @property
    def shown(self) -> bool:
        """Whether a clear photo is surely of its room and goes with a memo that spoke of it."""
        return any(shot.photo.sure and not shot.wrongs for shot in self.shots)

    @property
    def named(self) -> str:
        """Its photos by name, or that there is none."""
        none = "said to be photographed, none filed" if "photographed" in self.run.state else "no photo"
        return ", ".join(shot.named for shot in self.shots) or none


@dataclass(frozen=True, slots=True)
class Missing:
    """A memo that tells of more photos than are filed with it."""

    memo: str
    told: int
    filed: int

    def __str__(self) -> str:
        return f"memo {self.memo} tells of {self.told} photos, {self.filed or 'none'} filed with it"


_TOO_LATE = "Covered, and no clear photo surely shows it"
_NOW = "Open to see: photograph it before it is covered"
_SHOWN = "Shown by a clear photo"


@dataclass(frozen=True, slots=True)
class Before:
    """What there is to see before the boards go up."""

    boards: list[Board]
    missing: list[Missing]
    shots: list[Shot]

    @property
    def bare(self) -> int:
        """How many runs no clear photo surely shows."""
        return sum(not board.shown for board in self.boards)

    def parts(self) -> list[tuple[str, list[Board]]]:
        """The runs by what is to be done, each part with its heading; none that is empty."""
        parts: dict[str, list[Board]] = {heading: [] for heading in (_TOO_LATE, _NOW, _SHOWN)}
        for board in self.boards:
            parts[_SHOWN if board.shown else _TOO_LATE if board.covered else _NOW].append(board)
        return [(heading, part) for heading, part in parts.items() if part]


def before(db: sqlite3.Connection, job: Job, room: str | None = None) -> Before:
    """The runs and photos of a room, or of the whole job."""
    found = shots(db, room)
    runs = answering.runs(db, job, [room] if room else [])
    here = [run for run in runs if room is None or run.room == room]
    return Before(boards(here, found), missing(db, load_lexicon(job), room), found)


def shots(db: sqlite3.Connection, room: str | None = None) -> list[Shot]:
    """Photos of a room, or all, as they were taken."""
    where, values = ("room = ?", (room,)) if room is not None else ("1", ())
    found = db.execute(f"SELECT * FROM photos WHERE {where} ORDER BY moment, row", values).fetchall()
    alike = {id: group for group in groups([(r["id"], r["phash"]) for r in found]) for id in group}
    return [
        _shot(row, tuple(islice((id for id in alike.get(row["id"], ()) if id != row["id"]), _TWINS))) for row in found
    ]


_TWINS = 3
"""As many as are named: of a burst of a thousand nobody reads more."""


def _shot(row: Any, twins: tuple[str, ...]) -> Shot:
    return Shot(rows.photo(row), rows.look(row), row["seen"], row["media"] is not None, twins)


def missing(db: sqlite3.Connection, lexicon: Lexicon, room: str | None = None) -> list[Missing]:
    """Memos that tell of more photos than are with them: those that speak of a room, or all."""
    where, values = ("id IN (SELECT memo FROM facts WHERE room = ?)", (room,)) if room is not None else ("1", ())
    count = "(SELECT count(*) FROM photos WHERE memo = memos.id AND media IS NOT NULL) AS filed"
    found = db.execute(f"SELECT id, text, {count} FROM memos WHERE {where} ORDER BY moment, row", values)
    told = [Missing(row["id"], photos_counted(row["text"], lexicon), row["filed"]) for row in found]
    return [one for one in told if one.told > one.filed]


def boards(runs: Iterable[Run], found: Sequence[Shot]) -> list[Board]:
    """Every run that is there, those that nothing shows before the others, covered ones first."""
    there = [run for run in runs if run.state and not {"dropped", "removed"} & set(run.state)]
    named = [Board(run, tuple(shot for shot in found if _may_show(shot.photo, run))) for run in there]
    return sorted(named, key=lambda board: (board.shown, not board.covered))


def _may_show(photo: Photo, run: Run) -> bool:
    return photo.room == run.room and photo.memo in {step.fact.memo for step in run.steps}
