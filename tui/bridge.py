"""The only caller of `notes`: what the screens read and decide. Every call opens the book anew, so that any thread may
make it; reads never stand in a writer's way."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from notes import (
    absent,
    answering,
    boards,
    dictations,
    editable,
    job,
    joining,
    ledger,
    paging,
    ruling,
    search,
    signing,
    sizes,
    store,
    wording,
)
from notes.absent import Gap
from notes.ask import answer
from notes.boards import Before as Before
from notes.boards import Board as Board
from notes.book import opened
from notes.cli.common import day_named
from notes.cli.decisions import named, what
from notes.clock import zone_of
from notes.decisions import ON_RUNS, standing
from notes.decisions import Decision as Decision
from notes.decisions import Kind as Kind
from notes.errors import BookError
from notes.errors import VoidbookError as Wrong
from notes.lexicon import Lexicon
from notes.lexicon import load as load_lexicon
from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES
from notes.model import Fact as Fact
from notes.model import FollowUp as FollowUp
from notes.model import Memo as Memo
from notes.model import Run as Run
from notes.model import Severity as Severity
from notes.model import Status as Status
from notes.model import Word as Word
from notes.paging import PAGE, Picture, RoomLine, Seen, Wanted, Where
from notes.plain import clean as clean
from notes.question import read as read_question
from notes.search import MARKS, Found, Said
from notes.signing import Signed

__all__ = [
    "MARKS", "PAGE", "Before", "Board", "BookError", "Desk", "Fact", "FollowUp", "Found", "House", "Log", "Memo",
    "Opened", "Picture", "RoomLine", "Run", "Said", "Seen", "Severity", "Signed", "Status", "Wanted",
    "Where", "Word", "Wrong", "clean", "editable", "wording",
]  # fmt: skip

MOST_FACTS = 1_000
"""Above so many facts a trace is not worked out while one types."""


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


@dataclass(frozen=True, slots=True)
class Opened:
    """A page of follow-ups, and how many are open by severity."""

    items: list[FollowUp]
    counts: dict[Severity, int]


class Desk:
    """One job, looked at by `who`, who had `seen` it so far."""

    def __init__(self, root: Path, who: str = "somebody", seen: Seen | None = None) -> None:
        self.root, self.who, self.seen = root, who, seen or Seen()
        self.job = job.load(root)
        self._words: Lexicon | None = None
        self._sound: tuple[str, bytes | None] = ("", None)

    @property
    def words(self) -> Lexicon:
        if self._words is None:
            self._words = load_lexicon(self.job)
        return self._words

    def stamp(self) -> tuple[int, ...]:
        """Changes when anything is written to the book, by whomever."""
        files = (self.root / name for name in ("book.db", "book.db-wal"))
        states = (file.stat() for file in files if file.exists())
        return tuple(n for state in states for n in (state.st_mtime_ns, state.st_size))

    # --- reading

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
            return Log(said, signed, paging.new_memos(db, self.seen), self._told(absent.gaps(db, day=where.day)))

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

    def trace(self, question: str, *, whole: bool = False) -> list[Run] | None:
        """The runs that answer; None where no room, service or thing is named, or where it would take long and is not
        wanted `whole`."""
        asked = read_question(question, self.words, self.job)
        rooms = asked.rooms or asked.near
        if not (rooms or asked.subjects or asked.things):
            return None
        with search.opened(self.root) as db:
            if not whole and paging.count(db, rooms, asked.subjects) > MOST_FACTS:
                return None
            return answer(question, answering.candidates(db, self.job, asked), self.words, self.job)

    def runs(self, room: str | None) -> list[Run]:
        """The runs of a room."""
        with search.opened(self.root) as db:
            found = answering.runs(db, self.job, [room] if room else [], [])
        return [run for run in found if run.room == room]

    def one_with(self, key: str) -> tuple[str, ...]:
        """The runs that a person said are one pipe with this one."""
        with search.opened(self.root) as db:
            return joining.merged_into(key, ledger.all_of(db, ON_RUNS))

    def photos(self, where: Where, memo: str | None = None) -> list[Picture]:
        with search.opened(self.root) as db:
            return paging.photos(db, where, memo)

    def before_boards(self, room: str | None) -> Before:
        """The runs of a room, or all, with the photos that may show them."""
        with search.opened(self.root) as db:
            return boards.before(db, self.job, room)

    def first_of(self, memo: str) -> Fact | None:
        """The first fact of a memo."""
        with search.opened(self.root) as db:
            return next(iter(search.of_memo(db, memo)), None)

    def upright(self, sha: str, longest: int) -> bytes:
        """A photo as JPEG, turned the right way, its longer side at most `longest`."""
        from notes import probe

        return probe.upright(self.original(sha), longest)

    def copy_to_look_at(self, sha: str, name: str) -> Path:
        """A copy that another program may have: the original is never handed out."""
        folder = Path(tempfile.gettempdir()) / f"voidbook-{os.getpid()}"
        folder.mkdir(mode=0o700, exist_ok=True)
        file = folder / f"{name}.jpg"
        file.write_bytes(self.upright(sha, 4000))
        return file

    def original(self, sha: str) -> Path:
        return store.Store(self.root / "media").path(sha)

    def sound(self, memo: str) -> Path | None:
        """The recording of a memo; None for what was typed."""
        with search.opened(self.root) as db:
            sha = paging.recording(db, memo)
        return self.original(sha) if sha else None

    def samples(self, memo: str) -> bytes | None:
        """The sound of a memo, as 16-bit samples; the last one asked for is kept. None for what was typed."""
        if self._sound[0] != memo:
            from notes.heard_again import samples

            file = self.sound(memo)
            self._sound = (memo, samples(file) if file else None)
        return self._sound[1]

    def valid(self) -> dict[str, tuple[str, ...]]:
        """What the fields of a fact may hold, where that is a choice."""
        return {"subject": (*PIPES, *ITEMS), "action": ACTIONS, "status": tuple(Status), "material": MATERIALS}

    def sizes(self) -> list[tuple[float, str]]:
        """The sizes that pipes are made in, each with what they are made of."""
        made: dict[float, dict[str, None]] = {}
        for row in sizes.table():
            made.setdefault(row.size_mm, {})[row.material] = None
        return [(size, ", ".join(made[size])) for size in sorted(made)]

    def day_named(self, words: str) -> str | None:
        """The coming day that `words` mean, as YYYY-MM-DD; None for no words."""
        return day_named(words or None, coming=True)

    def problems(self) -> list[tuple[str, str]]:
        """Files that could not be filed, each with the reason."""
        with search.opened(self.root) as db:
            return [(os.fsdecode(row["path"]), row["reason"]) for row in search.problems(db)]

    def decided(self, most: int) -> tuple[list[tuple[Decision, str]], frozenset[int | None]]:
        """Decisions in words, as many of the newest first, and the ids of all that stand."""
        with search.opened(self.root) as db:
            all_ = ledger.all_of(db, Kind)
            newest = all_[: -most - 1 : -1]
            runs = named(db, newest)
        return [(d, what(d, runs)) for d in newest], frozenset(d.id for d in standing(all_))

    # --- deciding

    def check(self, changes: Mapping[str, object]) -> None:
        """Raises Wrong where a field of a fact can't hold its value."""
        for name, value in changes.items():
            editable.checked(name, value, self.job)

    def correct(self, id: int, changes: dict[str, object]) -> str:
        with opened(self.root) as db:
            for name, value in changes.items():
                ruling.correct(db, self.job, id, self.who, name, value)
        return f"put right: {wording.fields(changes)}"

    def accept(self, id: int) -> str:
        with opened(self.root) as db:
            ruling.accept(db, self.job, id, self.who)
        return "kept as right"

    def reject(self, id: int) -> str:
        with opened(self.root) as db:
            ruling.reject(db, self.job, id, self.who)
        return "taken out; undo with u"

    def add(self, fact: Fact) -> str:
        with opened(self.root) as db:
            ruling.add(db, self.job, self.who, fact)
        return "added"

    def put_word_right(self, memo: str, start: int, heard: str, meant: str, *, always: bool) -> str:
        if always:
            job.add_word(self.root, heard, meant)
            self.job, self._words = job.load(self.root), None
        with opened(self.root) as db:
            ruling.put_word_right(db, self.job, memo, self.who, start, heard, meant)
        return f"{clean(heard)} is {clean(meant)}" + (", from now on" if always else "")

    def close(self, item: FollowUp, why: str) -> str:
        with opened(self.root) as db:
            ruling.close(db, self.job, item.id or 0, self.who, why)
        return f"closed: {clean(item.title)}"

    def reopen(self, item: FollowUp) -> str:
        with opened(self.root) as db:
            ruling.reopen(db, self.job, item.id or 0, self.who)
        return f"open again: {clean(item.title)}"

    def give(self, item: FollowUp, to: str, due: str | None) -> str:
        with opened(self.root) as db:
            ruling.assign(db, self.job, item.id or 0, self.who, to, due)
        return f"for {clean(to)}: {clean(item.title)}"

    def join(self, one: Run, other: Run) -> str:
        with opened(self.root) as db:
            ruling.merge(db, self.job, self.who, one.key, other.key)
        return "one pipe from now on"

    def part(self, key: str, other: str) -> str:
        with opened(self.root) as db:
            ruling.part(db, self.job, self.who, key, other)
        return "two pipes from now on"

    def sign(self, where: Where) -> str:
        with opened(self.root) as db:
            still_open = signing.sign(db, self.who, where)
        return f"signed off by {clean(self.who)}, {still_open} still open"

    def undo(self, id: int | None = None) -> str:
        with opened(self.root) as db:
            return f"taken back: {ruling.undo(db, self.job, self.who, id).kind}"

    # --- taking

    def take(self, paths: Sequence[str], *, speaker: str = "", again: bool = False, move: bool = False) -> list[str]:
        """The command that takes files and tells of it in JSON."""
        run = [sys.executable, "-c", "from notes.cli import main; main()", "take", "--json", "--job", str(self.root)]
        run += [flag for flag, wanted in (("--again", again), ("--move", move)) if wanted]
        return [*run, *(["--speaker", speaker] if speaker else []), "--", *paths]

    def new_dictation(self) -> Path:
        """The file that a dictation begun now is recorded into."""
        return dictations.new(self.root, self.job)

    def leftovers(self) -> list[Path]:
        """Dictations that were cut off before they were filed."""
        return dictations.leftovers(self.root, time.time())
