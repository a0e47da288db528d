"""Anything in any order, with crashes: the book says what was filed and decided, and verify finds nothing wrong."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from conftest import MONDAY, jsonl
from house import HEARD, JOB, Quiet, a_job, a_wav, quick_folder, told
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from notes import book, decisions, filing, forget, intake, ledger, points, ruling, search, verify
from notes.decisions import Kind
from notes.errors import UsageError

EXAMPLES = int(os.environ.get("VOIDBOOK_EXAMPLES", "200"))

SENTENCES = (
    "In the scullery.",
    "In the house bathroom.",
    "Capped the hot.",
    "Still in here. Left the waste open under the sink.",
    "Cold wants lagging.",
    "Tested the hot at six bar for thirty minutes.",
    "Boarded over it.",
    "No, the other one, that's the return.",
    "Ran the flow in twenty-two copper to the pump.",
)
TEXTS = st.lists(st.sampled_from(SENTENCES), min_size=1, max_size=3).map(" ".join)
MANY = st.integers(0, 10**6)

PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
"""Without shrinking: a book takes too long for that. A short failing run is found by more examples instead."""


class Crash(BaseException):
    """The program ends here."""


class Job(RuleBasedStateMachine):
    """A job, and beside it what it must say: the texts of the memos filed, the decisions that were made."""

    def __init__(self) -> None:
        super().__init__()
        self.place = quick_folder()
        self.folder = self.place.__enter__()
        self.root = a_job(self.folder / "job")
        self.db = book.connect(self.root)
        self.texts: dict[str, str] = {}
        self.gone: set[str] = set()
        self.hours: dict[str, int] = {}
        self.gone_said: set[tuple[int, str]] = set()
        self.files: list[Path] = []
        self.decided = self.number = 0

    def teardown(self) -> None:
        try:
            assert verify.check(self.root, JOB, deep=True, young=0) == []
            before = told(self.root)
            filing.read_again(self.db, JOB)
            assert told(self.root) == before
        finally:
            self.db.close()
            self.place.__exit__(None, None, None)

    # --- filing

    def _take(self, *paths: Path) -> list[Any]:
        return intake.take(self.db, self.root, JOB, paths, Quiet(), transcriber=HEARD)

    def _new(self, text: str, hour: int) -> tuple[str, Path]:
        self.number += 1
        id = f"m{self.number}"
        at = MONDAY.replace(day=2 + hour // 24, hour=hour % 24).isoformat()
        return id, jsonl(self.folder / f"{id}.jsonl", {"id": id, "at": at, "speaker": "A", "text": text})

    @initialize(text=TEXTS)
    def begin(self, text: str) -> None:
        self.add(text, 1)

    @rule(text=TEXTS, hour=st.integers(0, 99))
    def add(self, text: str, hour: int) -> None:
        """A memo, early or late in the order of time."""
        id, file = self._new(text, hour)
        if (hour, text) in self.gone_said:
            self._is_refused(file)
            return
        assert self._take(file) == []
        self._filed(id, file, text, hour)

    def _filed(self, id: str, file: Path, text: str, hour: int) -> None:
        self.texts[id], self.hours[id] = text, hour
        self.files.append(file)

    def _is_refused(self, file: Path) -> None:
        """The same words of the same person at the same moment are what was forgotten, whatever they are called now."""
        (wrong,) = self._take(file)
        assert "forgotten for good" in str(wrong)

    @rule(second=st.integers(0, 59))
    def add_recording(self, second: int) -> None:
        file = self.folder / f"20260302-1200{second:02}.wav"
        if file.stem not in self.texts and file.stem not in self.gone:
            assert self._take(a_wav(file, 0.1)) == []
            self.texts[file.stem] = "In the scullery. Capped the hot."
            self.files.append(file)

    @rule(which=MANY)
    def repeat(self, which: int) -> None:
        file = self.files[which % len(self.files)]
        before = told(self.root)
        wrong = self._take(file)
        assert bool(wrong) == (file.stem in self.gone)
        before["problems"] = told(self.root)["problems"]
        assert told(self.root) == before

    @rule()
    def run_again(self) -> None:
        before = told(self.root)
        assert filing.read_again(self.db, JOB) == []
        assert told(self.root) == before

    # --- deciding

    def _facts(self) -> list[Any]:
        return [said.fact for said in search.said(self.db)]

    @precondition(lambda self: self._facts())
    @rule(which=MANY, how=st.sampled_from(("accept", "size", "room", "reject")))
    def decide(self, which: int, how: str) -> None:
        facts = self._facts()
        id = facts[which % len(facts)].id
        deeds: dict[str, Callable[[], None]] = {
            "accept": lambda: ruling.accept(self.db, JOB, id, "B"),
            "size": lambda: ruling.correct(self.db, JOB, id, "B", "size_mm", 28.0),
            "room": lambda: ruling.correct(self.db, JOB, id, "B", "room", "Boiler house"),
            "reject": lambda: ruling.reject(self.db, JOB, id, "B"),
        }
        deeds[how]()
        self.decided += 1

    @precondition(lambda self: search.followups(self.db))
    @rule(which=MANY)
    def close(self, which: int) -> None:
        items = search.followups(self.db)
        item = items[which % len(items)]
        ruling.close(self.db, JOB, item.id or 0, "B", "seen")
        self.decided += 1
        assert item.id not in {i.id for i in search.followups(self.db)}

    @rule(which=MANY)
    def put_a_word_right(self, which: int) -> None:
        memos = sorted(self.texts)
        memo = memos[which % len(memos)] if memos else None
        if memo and "hot" in self.texts[memo]:
            ruling.put_word_right(self.db, JOB, memo, "B", self.texts[memo].index("hot"), "hot", "cold")
            self.decided += 1

    @rule(which=MANY)
    def decide_and_undo(self, which: int) -> None:
        """What is undone at once leaves no trace but in the list of decisions."""
        before = told(self.root)
        made = self.decided
        if self._facts():
            self.decide(which, "reject" if which % 2 else "size")
            ruling.undo(self.db, JOB, "B")
            self.decided += 1
        after = told(self.root)
        assert len(after["decisions"]) - len(before["decisions"]) == self.decided - made
        assert {**after, "decisions": []} == {**before, "decisions": []}

    @rule()
    def undo(self) -> None:
        try:
            ruling.undo(self.db, JOB, "B")
            self.decided += 1
        except UsageError:
            stand = decisions.standing(ledger.all_of(self.db, Kind))
            assert all(d.kind is Kind.FORGET for d in stand)

    # --- forgetting, crashing, coming back

    @rule(which=MANY)
    def forget(self, which: int) -> None:
        memos = sorted(self.texts)
        if len(memos) > 1:
            memo = memos[which % len(memos)]
            forget.forget(self.db, self.root, JOB, memo, "B")
            self.gone.add(memo)
            text = self.texts.pop(memo)
            if memo in self.hours:
                self.gone_said.add((self.hours.pop(memo), text))
            self.decided = len(told(self.root)["decisions"])

    @rule(text=TEXTS, hour=st.integers(0, 99), after=st.integers(0, 12))
    def crash(self, text: str, hour: int, after: int) -> None:
        """Filing ends somewhere; when it is done again, it is as if it had not."""
        id, file = self._new(text, hour)
        if (hour, text) in self.gone_said:
            self._is_refused(file)
            return
        reached = iter(range(after))

        def reach(_name: str) -> None:
            if next(reached, None) is None:
                raise Crash

        real, points.reach = points.reach, reach
        try:
            self._take(file)
        except Crash:
            pass
        finally:
            points.reach = real
        self.reopen()
        filed = self.db.execute("SELECT count(*) FROM memos").fetchone()[0]
        assert filed in (len(self.texts), len(self.texts) + 1)
        assert self._take(file) == []
        self._filed(id, file, text, hour)

    @rule()
    def reopen(self) -> None:
        self.db.close()
        self.db = book.connect(self.root)
        assert [p for p in verify.check(self.root, JOB, young=0) if p.error] == []

    @rule()
    def lose_what_is_derived(self) -> None:
        """Facts and follow-ups can be made again from what was said and decided."""
        before = told(self.root)
        with book.write(self.db):
            self.db.execute("DELETE FROM facts")
            self.db.execute("DELETE FROM followups")
        assert verify.repair(self.root, JOB, deep=True, young=0)[1] == []
        assert told(self.root) == before

    # --- what always holds

    @invariant()
    def says_what_was_filed(self) -> None:
        rows = self.db.execute("SELECT id, raw FROM memos").fetchall()
        assert {row["id"]: row["raw"] for row in rows} == self.texts
        assert self.db.execute("SELECT count(*) FROM decisions").fetchone()[0] == self.decided


TestJob = Job.TestCase
TestJob.settings = settings(
    max_examples=EXAMPLES, phases=PHASES, stateful_step_count=10, deadline=None, suppress_health_check=list(HealthCheck)
)
