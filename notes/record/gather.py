"""The book, as far as a record needs it."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, tzinfo

from notes import absent, decisions, ledger, rows, search
from notes.absent import Gap
from notes.decisions import Decision, Kind
from notes.joining import standing_runs
from notes.model import Fact, FollowUp, Job, Memo, Photo, Run


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo with its original (None where only its name is on record), and where on earth it was taken, if asked."""

    photo: Photo
    media: str | None
    spot: str = ""


@dataclass(frozen=True, slots=True)
class Matter:
    """All of the job that a record can tell. `unfiled` are files that could not be read."""

    job: Job
    issued: datetime
    zone: tzinfo
    memos: Mapping[str, Memo]
    facts: tuple[Fact, ...]
    runs: tuple[Run, ...]
    followups: tuple[FollowUp, ...]
    shots: tuple[Shot, ...]
    decided: tuple[Decision, ...]
    unfiled: tuple[str, ...] = field(default=())

    @property
    def gaps(self) -> list[Gap]:
        """The memos that were forgotten for good."""
        return absent.of(self.decided)

    def day_of(self, memo: str) -> str:
        """The local day on which a memo was said, YYYY-MM-DD."""
        return self.memos[memo].at.date().isoformat() if memo in self.memos else ""

    def rests_on(self, memo: str | None, second: float | None = None) -> str:
        """The memo, who spoke, the day and time, and the place in the recording."""
        if memo is None or memo not in self.memos:
            return memo or ""
        said = self.memos[memo]
        spot = f", {int(second) // 60}:{int(second) % 60:02} in" if second is not None else ""
        return f"{memo}, {moment(said.at)}{'' if said.sure_of_time else ' (time not sure)'}{spot}"

    def by(self, fact: Fact) -> str:
        """What a fact rests on, and the person who put it right."""
        return self.rests_on(fact.memo, fact.second) + (f"; put right by {fact.by}" if fact.by else "")


def moment(at: datetime) -> str:
    """A day and time with its year."""
    from notes import wording

    return f"{wording.moment(at)[:-6]} {at:%Y %H:%M}"


def gather(db: sqlite3.Connection, job: Job, issued: datetime, zone: tzinfo) -> Matter:
    """Everything of the job, in the order it was said."""
    facts = search.for_runs(db)
    memos = {row["id"]: rows.memo(row) for row in db.execute(_MEMOS)}
    decided = ledger.all_of(db, Kind)
    runs = standing_runs(facts, {id: memo.at for id, memo in memos.items()}, job.rooms, decided)
    return Matter(
        job, issued.astimezone(zone), zone, memos, tuple(facts), runs, tuple(_followups(db)),
        tuple(Shot(rows.photo(row), row["media"]) for row in db.execute(_PHOTOS)),
        decisions.standing(decided),
        tuple(f"{os.fsdecode(row['path'])}: {row['reason']}" for row in search.problems(db)),
    )  # fmt: skip


_MEMOS = "SELECT row, id, at, at_sure, speaker, raw, text, seconds FROM memos ORDER BY moment, row"
_PHOTOS = "SELECT * FROM photos ORDER BY moment, row"


def _followups(db: sqlite3.Connection) -> list[FollowUp]:
    return search.followups(db, closed=True)
