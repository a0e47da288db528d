"""Putting right: a fact, a word, or an entry added by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input

from tui.bridge import Desk, Fact, Memo, Status, Word, Wrong, clean, wording
from tui.forms import Choice, Form, Tick, choose, entry, field, same

_SELECTS = ("room", "subject", "action", "status", "size_mm", "to_size_mm", "material")
_TEXTS = ("place", "from_", "to")
_FLAGS = ("failed", "temporary")
_STATES = [(words, status.value) for status, words in wording.STATUSES.items()]


class FactForm(Form):
    """The fields of a fact, each with the values it may have."""

    title_ = "Put right"

    def __init__(self, desk: Desk, fact: Fact, then: Callable[[], None] = lambda: None) -> None:
        super().__init__(desk)
        self.fact, self._then = fact, then

    def note(self) -> Content:
        doubts = f"\nHeard badly: {wording.fields(self.fact.doubts)}" if self.fact.doubts else ""
        return Content(f"Entry {self.fact.id} · said: “{clean(self.fact.quote)}”{doubts}")

    def ask(self) -> ComposeResult:
        fact, known = self.fact, self.desk.decide.valid()
        yield field("Room", choose("room", same([r.name for r in self.desk.job.rooms]), fact.room, blank="no room"))
        yield field("What", choose("subject", same(known["subject"]), fact.subject, blank=""))
        yield field("Done to it", choose("action", same(known["action"]), fact.action, blank=""))
        yield field("State", choose("status", _STATES, fact.status.value, blank=""))
        yield field("Size", choose("size_mm", self._sizes(), fact.size_mm))
        yield field("Reduced to", choose("to_size_mm", self._sizes(), fact.to_size_mm))
        yield field("Material", choose("material", same(known["material"]), fact.material))
        yield field("Where", entry("place", fact.place, "as in: behind the basin"))
        yield field("From", entry("from_", fact.from_))
        yield field("To", entry("to", fact.to))
        yield field("", Tick("failed", fact.failed, id="failed"))
        yield field("", Tick("temporary", fact.temporary, id="temporary"))

    def _sizes(self) -> list[Choice]:
        return [(f"{size:g} mm  ({materials})", size) for size, materials in self.desk.decide.sizes()]

    def values(self) -> dict[str, Any]:
        """What the fields say now."""
        found: dict[str, Any] = {name: self.choice(name) for name in _SELECTS}
        found |= {name: self.text(name) or None for name in _TEXTS}
        return found | {name: self.ticked(name) for name in _FLAGS}

    def keep(self) -> None:
        changes = {name: value for name, value in self.values().items() if value != getattr(self.fact, name)}
        fact = self.fact
        if changes and fact.id is not None:
            self.desk.decide.check(changes)
            self.write(lambda: self.desk.decide.correct(fact.id or 0, changes), self._then, undos=len(changes))


class AddForm(FactForm):
    """An entry by hand, on the words where one stands in the memo."""

    title_ = "Add an entry by hand"

    def __init__(self, desk: Desk, memo: Memo, word: Word | None, room: str | None) -> None:
        start, end = (word.start, word.end) if word else (0, 0)
        super().__init__(desk, Fact(memo.id, 0, room, "hot", "run", Status.DONE, memo.text[start:end], start, end,
                                    second=word.at if word else None))  # fmt: skip

    def note(self) -> Content:
        return Content(f"In memo {clean(self.fact.memo)}, at “{clean(self.fact.quote)}”")

    def keep(self) -> None:
        values = self.values()
        self.desk.decide.check({name: value for name, value in values.items() if value is not None})
        fact = replace(self.fact, **{**values, "status": Status(values["status"])})
        self.write(lambda: self.desk.decide.add(fact))


class WordForm(Form):
    """A word or words that were misheard."""

    title_ = "Put a word right"
    ok = "Keep (enter)"

    def __init__(self, desk: Desk, memo: Memo, word: Word) -> None:
        super().__init__(desk)
        self.memo, self.heard, self.start = memo, word.raw or memo.text[word.start : word.end], word.start

    def note(self) -> Content:
        around = self.memo.text[max(0, self.start - 40) : self.start + 60]
        return Content(f"…{clean(around)}…")

    def ask(self) -> ComposeResult:
        yield field("Heard", entry("heard", self.heard.strip(".,;:!?"), "may be several words"))
        yield field("Meant", entry("meant", "", "what was really said"))
        yield field("", Tick("always in this job: add it to the job's own words", id="always"))

    def on_mount(self) -> None:
        self.query_one("#meant", Input).focus()

    def keep(self) -> None:
        heard, meant, always = self.text("heard"), self.text("meant"), self.ticked("always")
        if not heard or not meant:
            raise Wrong("say what was heard and what was meant")
        self.write(lambda: self.desk.decide.put_word_right(self.memo.id, self.start, heard, meant, always=always))
