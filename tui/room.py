"""A room's log: what was said, as it was said, with the memo beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.events import Resize
from textual.widgets import Static

from tui import drawing, keys
from tui.bridge import Fact, Log, Said, Signed, Where, wording
from tui.days import Stepping
from tui.house import WIDE
from tui.listening import Listening
from tui.memo_pane import MemoPane
from tui.memo_words import Script
from tui.rows import Row, Rows

NOTHING = "Nothing was said here."
NOTHING_THEN = "Nothing was said here that day. Press a for all days."


class RoomView(Stepping, Listening):
    """Facts on the left, grouped as they were said; the memo of the marked one on the right."""

    name_ = "room"
    title_ = "Log"
    BINDINGS = keys.bindings("room")

    def __init__(self, where: Where, at: Fact | None = None) -> None:
        super().__init__()
        self.where, self._at = where, (at.memo, at.n) if at else None
        self._log = Log([], None, frozenset())

    @property
    def room(self) -> str | None:
        return self.where.room

    def body(self) -> ComposeResult:
        yield Static("", id="place", markup=False)
        with Horizontal(id="sides"):
            yield Rows(id="log", classes="left")
            yield MemoPane(classes="right")

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width >= WIDE, "wide")

    def load(self) -> None:
        where, size = self.where, max(100, len(self._log.said))
        self.read(lambda: (self.desk.log(where, 0, size), self.desk.days()), self._show)

    def _show(self, found: tuple[Log, list[str]]) -> None:
        self._log, self.days = found
        rows = self.query_one(Rows)
        rows.empty = NOTHING_THEN if self.where.day else NOTHING
        rows.show(list(_rows(self._log)), at=self._at)
        self._at = None
        self._heading()
        if not self._log.said:
            self.query_one(MemoPane).show(None)

    def on_rows_wanted(self, message: Rows.Wanted) -> None:
        where, have = self.where, len(self._log.said)
        if have % 100 == 0 and have:
            self.read(lambda: self.desk.log(where, have, 100), self._more, "more")

    def _more(self, log: Log) -> None:
        if log.said:
            self._log = replace(self._log, said=[*self._log.said, *log.said])
            rows = self.query_one(Rows)
            rows.add(list(_rows(self._log))[len(rows.items) :])

    def _heading(self) -> None:
        floor = next((r.floor for r in self.desk.job.rooms if r.name == self.room), "")
        signed = self._log.signed
        changed = sum(signed.changed(said.fact) for said in self._log.said) if signed else 0
        parts = [f"signed {signed.who}, {wording.moment(signed.at)}" if signed else ""]
        parts += wording.since_signed(changed, self._log.gone)
        parts += self._log.gaps[:2]
        parts += [f"and {more} more removed" if (more := len(self._log.gaps) - 2) > 0 else "", wording.KEY]
        place = "everywhere" if self.where.anywhere else drawing.room(self.room)
        self.head(drawing.said(f"{place} · {floor}" if floor else place, " · ", drawing.long_day(self.where.day)),
                  f"{len(self._log.said)} said")  # fmt: skip
        self.query_one("#place", Static).update(drawing.said(" · ".join(part for part in parts if part)))

    # --- the memo beside it

    @property
    def fact(self) -> Fact | None:
        row = self.query_one(Rows).marked
        return row.item.fact if row and isinstance(row.item, Said) else None

    def _marked(self) -> Fact | None:
        """The marked entry; where there is none it is said, as a key that does nothing puzzles."""
        if self.fact is None:
            self.tell("no entry is marked here", bad=True)
        return self.fact

    def on_rows_marked(self, message: Rows.Marked) -> None:
        if (fact := self.fact) is None:
            return
        pane = self.query_one(MemoPane)
        if pane.memo and pane.memo.id == fact.memo and self.stamp == self._memo_stamp:
            pane.show(pane.script, fact)
        else:
            self.read(lambda: Script(self.desk.memo(fact.memo)), self._show_memo, "memo")

    _memo_stamp: tuple[int, ...] | None = None

    def _show_memo(self, script: Script) -> None:
        self._memo_stamp = self.stamp
        fact = self.fact
        self.query_one(MemoPane).show(script, fact if fact and fact.memo == script.memo.id else None)

    def action_word_before(self) -> None:
        self.query_one(MemoPane).step(-1)

    def action_word_after(self) -> None:
        self.query_one(MemoPane).step(1)

    # --- listening

    def action_listen(self) -> None:
        if fact := self._marked():
            self.listen(fact, self.query_one(MemoPane))

    def action_listen_all(self) -> None:
        pane = self.query_one(MemoPane)
        if fact := self._marked():
            self.listen(fact, pane, whole=True)

    # --- putting right

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        from tui.fact_forms import FactForm

        if isinstance(message.row.item, Said):  # not the marked one: a key that came meanwhile may have gone on
            self.review.push_screen(FactForm(self.desk, message.row.item.fact))

    def on_memo_pane_word_chosen(self) -> None:
        self.action_word()

    def action_word(self) -> None:
        from tui.fact_forms import WordForm

        pane = self.query_one(MemoPane)
        if self._marked() and pane.memo and pane.word:
            self.review.push_screen(WordForm(self.desk, pane.memo, pane.word))

    def action_add(self) -> None:
        from tui.fact_forms import AddForm

        pane = self.query_one(MemoPane)
        if self._marked() and pane.memo:
            self.review.push_screen(AddForm(self.desk, pane.memo, pane.word, self.room))

    def action_right(self) -> None:
        if (fact := self._marked()) and fact.id is not None:
            id = fact.id
            self.review.write(lambda: self.desk.decide.accept(id))

    def action_reject(self) -> None:
        if (fact := self._marked()) and fact.id is not None:
            id = fact.id
            self.review.write(lambda: self.desk.decide.reject(id))

    def action_sign(self) -> None:
        from tui.forms import SignForm

        self.review.push_screen(SignForm(self.desk, self.where.day, self.room, in_room=True))

    # --- days

    @property
    def day(self) -> str | None:
        return self.where.day

    def to_day(self, day: str | None) -> None:
        self.where = self.where._replace(day=day)
        self._log = Log([], None, frozenset())
        self.review.day = day
        self.reload()


def _rows(log: Log) -> Iterator[Row]:
    """Facts under their memo, neighbours that differ in nothing but their subject as one."""
    day = None
    for (memo, at), group in groupby(log.said, key=lambda said: (said.fact.memo, said.at)):
        entries = list(group)
        first = entries[0]
        if at.date() != day:
            day = at.date()
            yield Row(drawing.said(wording.day(at)), gutter=0)
        parts = (f"{at:%H:%M}", memo, first.speaker, "" if first.sure else "time not sure")
        new = [("  new", "$text-accent bold")] if memo in log.new else []
        yield Row(drawing.said((" · ".join(p for p in parts if p), "$muted not bold"), *new), gutter=1)
        by_n = {said.fact.n: said for said in entries}
        for facts in wording.alike(said.fact for said in entries):
            for fact in facts:
                yield _row(by_n[fact.n], log.signed)


def _row(said: Said, signed: Signed | None) -> Row:
    fact = said.fact
    notes = ["changed since signed"] if signed and signed.changed(fact) else []
    return Row(drawing.fact([fact], *notes), said, (fact.memo, fact.n), drawing.sign(fact))
