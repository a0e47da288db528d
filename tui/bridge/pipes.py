"""Pipe runs: asked for, listed, joined and parted by a person."""

from __future__ import annotations

from notes import answering, boards, joining, ledger, paging, ruling, search
from notes.ask import answer
from notes.boards import Before as Before
from notes.boards import Board as Board
from notes.book import opened
from notes.decisions import ON_RUNS
from notes.model import Run
from notes.question import read as read_question
from tui.bridge.looking import Looking

MOST_FACTS = 1_000
"""Above so many facts a trace is not worked out while one types."""


class Pipes:
    """The pipe runs of a job."""

    def __init__(self, desk: Looking) -> None:
        self.desk = desk

    def trace(self, question: str, *, whole: bool = False) -> list[Run] | None:
        """The runs that answer; None where no room, service or thing is named, or where it would take long and is not
        wanted `whole`."""
        asked = read_question(question, self.desk.words, self.desk.job)
        rooms = asked.rooms or asked.near
        if not (rooms or asked.subjects or asked.things):
            return None
        with search.opened(self.desk.root) as db:
            if not whole and paging.count(db, rooms, asked.subjects) > MOST_FACTS:
                return None
            return answer(question, answering.candidates(db, self.desk.job, asked), self.desk.words, self.desk.job)

    def nothing_so(self, question: str, found: list[Run] | None) -> str:
        """A sentence where the best of the runs found is not quite what is asked for."""
        return answering.nothing_so(self.desk.job, question, found or ())

    def runs(self, room: str | None) -> list[Run]:
        """The runs of a room."""
        with search.opened(self.desk.root) as db:
            found = answering.runs(db, self.desk.job, [room] if room else [], [])
        return [run for run in found if run.room == room]

    def one_with(self, key: str) -> tuple[str, ...]:
        """The runs that a person said are one pipe with this one."""
        with search.opened(self.desk.root) as db:
            return joining.merged_into(key, ledger.all_of(db, ON_RUNS))

    def before_boards(self, room: str | None) -> Before:
        """The runs of a room, or all, with the photos that may show them."""
        with search.opened(self.desk.root) as db:
            return boards.before(db, self.desk.job, room)

    def join(self, one: Run, other: Run) -> str:
        with opened(self.desk.root) as db:
            ruling.merge(db, self.desk.job, self.desk.who, one.key, other.key)
        return "one pipe from now on"

    def part(self, key: str, other: str) -> str:
        with opened(self.desk.root) as db:
            ruling.part(db, self.desk.job, self.desk.who, key, other)
        return "two pipes from now on"
