"""What is still open, worst first: on which words, and what would close it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from tui import drawing, keys
from tui.bridge import Fact, FollowUp, Opened, Wanted, Where, wording
from tui.house import WIDE
from tui.listening import Listening
from tui.pane import Beside, Pane
from tui.rows import Row, Rows

PAGE = 100


class OpenView(Listening):
    """Follow-ups on the left; all that is known of the marked one on the right."""

    name_ = "open"
    title_ = "Still open"
    BINDINGS = keys.bindings("open")

    def __init__(self, room: str | None = None) -> None:
        super().__init__()
        self.wanted = Wanted(room=room)
        self._items: list[FollowUp] = []

    def body(self) -> ComposeResult:
        yield Static("", id="place", markup=False)
        with Horizontal(id="sides"):
            yield Rows(id="open", classes="left", empty="Nothing is open here.")
            with Pane(classes="right"):
                yield Beside(id="item")

    @property
    def room(self) -> str | None:
        return self.wanted.room

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width >= WIDE, "wide")

    def load(self) -> None:
        wanted, size = self.wanted, max(PAGE, len(self._items))
        self.read(lambda: self.desk.followups(wanted, 0, size), self._show)

    def _show(self, found: Opened) -> None:
        self._items = found.items
        self.head("Still open", drawing.counts(found.counts))
        self.query_one("#place", Static).update(Content(f"Showing {_in_words(self.wanted)}"))
        self.query_one(Rows).show(list(_rows(found.items)))
        if not found.items:
            self.query_one(Beside).tell(Content(""))

    def on_rows_wanted(self, message: Rows.Wanted) -> None:
        wanted, have = self.wanted, len(self._items)
        if have % PAGE == 0 and have:
            self.read(lambda: self.desk.followups(wanted, have, PAGE), self._more, "more")

    def _more(self, found: Opened) -> None:
        if found.items:
            self._items += found.items
            rows = self.query_one(Rows)
            rows.add(list(_rows(self._items))[len(rows.items) :])

    # --- the marked one

    @property
    def item(self) -> FollowUp | None:
        row = self.query_one(Rows).marked
        return row.item if row and isinstance(row.item, FollowUp) else None

    def on_rows_marked(self, message: Rows.Marked) -> None:
        item = message.row.item
        if isinstance(item, FollowUp):
            self._tell(item, [])
            self.read(lambda: self.desk.evidence(item.id or 0), lambda facts: self._tell(item, facts), "evidence")

    def _tell(self, item: FollowUp, facts: list[Fact]) -> None:
        self.query_one(Beside).tell(Content("\n").join(_told(item, facts)))

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        """Jump to the words it rests on."""
        if isinstance(message.row.item, FollowUp):
            self._with_evidence(message.row.item, self._jump)

    def _jump(self, fact: Fact) -> None:
        from tui.room import RoomView

        self.review.jump(RoomView(Where(fact.room), fact))

    def action_listen(self) -> None:
        if self.item:
            self._with_evidence(self.item, self.listen)

    def _with_evidence(self, item: FollowUp, then: Callable[[Fact], None]) -> None:
        """Do something with the first entry that an item rests on: read anew, as its own may not be shown yet."""

        def told(facts: list[Fact]) -> None:
            if facts:
                then(facts[0])
            else:
                self.trouble("it rests on no entry that is still there")

        self.read(lambda: self.desk.evidence(item.id or 0), told, "first evidence")

    # --- deciding

    def action_close(self) -> None:
        from tui.forms import CloseForm

        item = self.item
        if item and item.closed_by:
            self.review.write(lambda: self.desk.decide.reopen(item))
        elif item:
            self.review.push_screen(CloseForm(self.desk, item))

    def action_give(self) -> None:
        item = self.item
        if item and not item.closed_by:
            self.read(self.desk.choices, lambda known: self._give(item, known["assignee"]), "choices")

    def _give(self, item: FollowUp, people: list[str]) -> None:
        from tui.forms import GiveForm

        self.review.push_screen(GiveForm(self.desk, item, people))

    def action_filter(self) -> None:
        self.read(self.desk.choices, self._filter, "choices")

    def _filter(self, known: dict[str, list[str]]) -> None:
        from tui.forms import FilterForm

        self.review.push_screen(FilterForm(self.desk, self.wanted, known, self._want))

    def _want(self, wanted: Wanted) -> None:
        self.wanted, self._items = wanted, []
        self.reload()


def _rows(items: list[FollowUp]) -> Iterator[Row]:
    heading = ""
    for item in items:
        now = "closed" if item.closed_by else item.severity.value
        if now != heading:
            heading = now
            yield Row(Content(now.capitalize()), gutter=0)
        yield Row(drawing.followup(item), item, item.id, drawing.weight(item), gutter=3)


def _in_words(wanted: Wanted) -> str:
    parts = [wanted.room or "all rooms", (wanted.check or "").replace("-", " ")]
    parts += [f"for {wanted.assignee}" if wanted.assignee else "", "only what is due" if wanted.due else ""]
    parts += ["closed ones too" if wanted.closed else ""]
    return ", ".join(drawing.plain(part).plain for part in parts if part)


def _told(item: FollowUp, facts: list[Fact]) -> Iterator[Content]:
    yield drawing.said((item.title, "bold"))
    yield drawing.said(
        (f"{drawing.room(item.room)} · since {wording.moment(item.since)} · number {item.id}", drawing.MUTED)
    )
    if item.closed_by:
        on = f", {wording.moment(item.closed_at)}" if item.closed_at else ""
        yield drawing.said((f"Closed by {item.closed_by}{on}", "$text-success"))
    if item.assignee or item.due:
        yield drawing.said(f"For {item.assignee or 'nobody yet'}{f', {drawing.due(item)}' if item.due else ''}")
    yield Content("")
    if item.quote:
        yield drawing.said("“", (item.quote, "italic"), f"” ({wording.source(item.memo, item.second)})")
        yield Content("")
    for label, words in (("What would close it", item.closes), ("Limit", item.limit), ("Take care", item.caution)):
        if words:
            yield drawing.said((label, "bold $text-secondary"))
            yield drawing.said(words)
    if item.source:
        yield drawing.said((f"Source: {item.source}", drawing.MUTED))
    if facts:
        yield Content("")
        yield Content.styled("It rests on (enter goes there)", "bold $text-secondary")
        for fact in facts:
            yield Content.assemble(drawing.sign(fact), " ", drawing.fact([fact]))
