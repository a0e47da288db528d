"""What a person decides of facts and follow-ups, with the values that are valid; and taking it back."""

from __future__ import annotations

from collections.abc import Mapping

from notes import editable, job, ledger, ruling, search, signing, sizes, wording
from notes.book import opened
from notes.cli.common import day_named
from notes.cli.decisions import in_short, named, what
from notes.decisions import Decision, Kind, standing
from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES, Fact, FollowUp
from notes.paging import Where
from notes.plain import clean
from tui.bridge.looking import Looking


class Deciding:
    """Decisions on a job."""

    def __init__(self, desk: Looking) -> None:
        self.desk = desk

    def valid(self) -> dict[str, tuple[str, ...]]:
        """What the fields of a fact may hold, where that is a choice."""
        return {"subject": (*PIPES, *ITEMS), "action": ACTIONS, "material": MATERIALS}

    def sizes(self) -> list[tuple[float, str]]:
        """The sizes that pipes are made in, each with what they are made of."""
        made: dict[float, dict[str, None]] = {}
        for row in sizes.table():
            made.setdefault(row.size_mm, {})[row.material] = None
        return [(size, ", ".join(made[size])) for size in sorted(made)]

    def day_named(self, words: str) -> str | None:
        """The coming day that `words` mean, as YYYY-MM-DD; None for no words."""
        return day_named(words or None, coming=True)

    def decided(self, most: int) -> tuple[list[tuple[Decision, str]], frozenset[int | None]]:
        """Decisions in words, as many of the newest first, and the ids of all that stand."""
        with search.opened(self.desk.root) as db:
            all_ = ledger.all_of(db, Kind)
            newest = all_[: -most - 1 : -1]
            runs = named(db, newest)
        return [(d, what(d, runs)) for d in newest], frozenset(d.id for d in standing(all_))

    def check(self, changes: Mapping[str, object]) -> None:
        """Raises Wrong where a field of a fact can't hold its value."""
        for name, value in changes.items():
            editable.checked(name, value, self.desk.job)

    def correct(self, id: int, changes: dict[str, object]) -> str:
        with opened(self.desk.root) as db:
            for name, value in changes.items():
                ruling.correct(db, self.desk.job, id, self.desk.who, name, value)
        return f"put right: {clean(wording.put_right(changes))}"

    def accept(self, id: int) -> str:
        with opened(self.desk.root) as db:
            ruling.accept(db, self.desk.job, id, self.desk.who)
        return "kept as right"

    def reject(self, id: int) -> str:
        with opened(self.desk.root) as db:
            ruling.reject(db, self.desk.job, id, self.desk.who)
        return "taken out of the log"

    def add(self, fact: Fact) -> str:
        with opened(self.desk.root) as db:
            ruling.add(db, self.desk.job, self.desk.who, fact)
        return "added"

    def put_word_right(self, memo: str, start: int, heard: str, meant: str, *, always: bool) -> str:
        if always:
            job.add_word(self.desk.root, heard, meant)
            self.desk.read_job_again()
        with opened(self.desk.root) as db:
            ruling.put_word_right(db, self.desk.job, memo, self.desk.who, start, heard, meant)
        # undo takes back what was decided of this memo, never what stands in job.toml
        return f"{clean(heard)} is {clean(meant)}" + (" from now on (voidbook words drop ends that)" if always else "")

    def place_photo(self, id: str, room: str) -> str:
        with opened(self.desk.root) as db:
            ruling.place_photo(db, self.desk.job, id, room, self.desk.who)
        return f"{clean(id)} shows {clean(room)}"

    def close(self, item: FollowUp, why: str) -> str:
        with opened(self.desk.root) as db:
            ruling.close(db, self.desk.job, item.id or 0, self.desk.who, why)
        return f"closed: {clean(item.title)}"

    def reopen(self, item: FollowUp) -> str:
        with opened(self.desk.root) as db:
            ruling.reopen(db, self.desk.job, item.id or 0, self.desk.who)
        return f"open again: {clean(item.title)}"

    def give(self, item: FollowUp, to: str, due: str | None) -> str:
        with opened(self.desk.root) as db:
            ruling.assign(db, self.desk.job, item.id or 0, self.desk.who, to, due)
        return f"for {clean(to)}: {clean(item.title)}"

    def sign(self, where: Where) -> str:
        with opened(self.desk.root) as db:
            still_open = signing.sign(db, self.desk.who, where)
        return f"signed off by {clean(self.desk.who)}, {still_open} still open"

    def undo(self, id: int | None = None) -> str:
        with opened(self.desk.root) as db:
            back = ruling.undo(db, self.desk.job, self.desk.who, id)
            return f"taken back: {clean(in_short(back, named(db, [back])))}"
