"""Before the boards go up: for each pipe that is or will soon be covered, is there a photo that shows anything?"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from notes import rows
from notes.lexicon import Lexicon
from notes.model import Photo, Run
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
    look = Look(row["sharpness"], row["brightness"], row["burnt"], row["phash"]) if row["phash"] else None
    return Shot(rows.photo(row), look, row["seen"], row["media"] is not None, twins)


@dataclass(frozen=True, slots=True)
class Missing:
    """A memo that tells of more photos than are filed with it."""

    memo: str
    told: int
    filed: int


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
