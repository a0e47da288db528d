"""What the screens read: light to import, as the first of them waits for it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from notes import absent, job, paging, search, signing, wording
from notes.absent import Gap
from notes.clock import zone_of
from notes.lexicon import Lexicon
from notes.lexicon import load as load_lexicon
from notes.model import Fact, FollowUp, Memo, Severity
from notes.paging import PAGE, Picture, RoomLine, Seen, Wanted, Where
from notes.search import Found, Said
from notes.signing import Signed


@dataclass(frozen=True, slots=True)
class House:
    """What the first screen shows."""

    days: list[tuple[str, int]]
    rooms: list[RoomLine]
    signed: Signed | None
    new: int
    problems: int
    day: str | None
    """The day that is shown; None for all."""


@dataclass(frozen=True, slots=True)
class Log:
    """A page of the log, with the signature over all of it, if there is one."""

    said: list[Said]
    signed: Signed | None
    new: frozenset[str]
    gaps: tuple[str, ...] = ()
    """The memos that were forgotten of that time, in words."""
    gone: int = 0
    """How many entries were signed that are there no more."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A page of follow-ups, and how many are open by severity."""

    items: list[FollowUp]
    counts: dict[Severity, int]


class Looking:
    """One job, looked at by `who`, who had `seen` it so far."""

    def __init__(self, root: Path, who: str = "somebody", seen: Seen | None = None) -> None:
        self.root, self.who, self.seen = root, who, seen or Seen()
        self._job_as_of = self._written(job.NAME)
        self.job = job.load(root)
        self._words: Lexicon | None = None

    @property
    def words(self) -> Lexicon:
        if self._words is None:
            self._words = load_lexicon(self.job)
        return self._words

    def read_job_again(self) -> None:
        """Read job.toml again, as after a word was added to it."""
        self.job, self._words = job.load(self.root), None

    def keep_up(self) -> None:
        """Read job.toml again if it was written to by somebody else. Raises Wrong, once, where it can't be read: then
        the job stays as it was."""
        if (now := self._written(job.NAME)) != self._job_as_of:
            self._job_as_of = now
            self.read_job_again()

    def stamp(self) -> tuple[int, ...]:
        """Changes when anything is written to the book or to job.toml, by whomever."""
        return self._written("book.db", "book.db-wal", job.NAME)

    def _written(self, *names: str) -> tuple[int, ...]:
        files = (self.root / name for name in names)
        states = (file.stat() for file in files if file.exists())
        return tuple(n for state in states for n in (state.st_mtime_ns, state.st_size))

    def latest(self) -> Seen:
        with search.opened(self.root) as db:
            return paging.latest(db)

    def house(self, day: str | None, *, last: bool = False) -> House:
        """A day of all rooms; with `last` the last day, where none is named: one comes in the evening to look at it."""
        with search.opened(self.root) as db:
            days = paging.days(db)
            day = days[-1][0] if last and not day and days else day
            rooms = paging.rooms(db, self.job, day, self.seen)
            signed = signing.over(signing.signatures(db), Where(day=day, anywhere=True))
            wrong = len(search.problems(db))
            return House(days, rooms, signed, len(paging.new_memos(db, self.seen)), wrong, day)

    def log(self, where: Where, offset: int = 0, limit: int = PAGE) -> Log:
        with search.opened(self.root) as db:
            signed = signing.over(signing.signatures(db), where)
            said = paging.said(db, where, offset, limit)
            gone = len(signing.gone(db, signed, where)) if signed and not offset else 0
            gaps = self._told(absent.gaps(db, day=where.day))
            return Log(said, signed, paging.new_memos(db, self.seen), gaps, gone)

    def _told(self, gaps: Sequence[Gap]) -> tuple[str, ...]:
        zone = zone_of(self.job.zone)
        return tuple(f"{wording.day(gap.at)}, {gap.told(zone)}" for gap in gaps)

    def days(self) -> list[str]:
        with search.opened(self.root) as db:
            return [day for day, _ in paging.days(db)]

    def memo(self, id: str) -> Memo:
        with search.opened(self.root) as db:
            return search.memo(db, id)

    def followups(self, wanted: Wanted, offset: int = 0, limit: int = PAGE) -> Opened:
        with search.opened(self.root) as db:
            return Opened(paging.followups(db, wanted, offset, limit), paging.severities(db, wanted))

    def choices(self) -> dict[str, list[str]]:
        """What follow-ups can be filtered by."""
        with search.opened(self.root) as db:
            return {name: paging.choices(db, name) for name in ("check", "assignee")}

    def evidence(self, id: int) -> list[Fact]:
        with search.opened(self.root) as db:
            return paging.evidence(db, id)

    def find(self, words: str, limit: int = 20) -> tuple[list[Found], bool]:
        with search.opened(self.root) as db:
            return search.find(db, words, self.words, limit=limit, typing=True)

    def photos(self, where: Where, memo: str | None = None) -> list[Picture]:
        with search.opened(self.root) as db:
            return paging.photos(db, where, memo)

    def first_of(self, memo: str) -> Fact | None:
        """The first fact of a memo."""
        with search.opened(self.root) as db:
            return next(iter(search.of_memo(db, memo)), None)

    def problems(self) -> list[tuple[str, str]]:
        """Files that could not be filed, each with the reason."""
        with search.opened(self.root) as db:
            return [(os.fsdecode(row["path"]), row["reason"]) for row in search.problems(db)]
