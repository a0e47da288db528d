"""The first screen: the rooms by floor with what is filed of each, day by day, and what is new."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize

from tui import drawing, keys
from tui.bridge import House, Log, Opened, RoomLine, Severity, Wanted, Where, wording
from tui.days import Days, Stepping
from tui.pane import Beside, Pane
from tui.rows import Row, Rows
from tui.view import View

WIDE = 120
"""From so many columns on there is room for words instead of signs."""
NO_ROOM = "No room yet. Name the rooms in job.toml, or press t to take in recordings."


class HouseView(Stepping, View):
    """Rooms by floor on the left; what matters in the marked one on the right."""

    name_ = "house"
    title_ = "The house"
    BINDINGS = keys.bindings("house")

    house: House | None = None
    _last = True
    """Whether the last day is to be shown, as nobody has chosen one yet."""

    def body(self) -> ComposeResult:
        yield Days("", id="days", markup=False)
        with Horizontal(id="sides"):
            yield Rows(id="rooms", classes="left", empty=NO_ROOM)
            with Pane(classes="right"):
                yield Beside(id="glance")

    @property
    def room(self) -> str | None:
        row = self.query_one(Rows).marked
        return row.item.name if row and isinstance(row.item, RoomLine) else None

    def load(self) -> None:
        day, last = self.review.day, self._last
        self.read(lambda: self.desk.house(day, last=last), self._show)

    def _show(self, house: House) -> None:
        if self._last:
            self.review.day, self._last = house.day, False
        self.house, self.days = house, [day for day, _ in house.days]
        self._draw()

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width >= WIDE, "wide")
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        if not self.house:
            return
        day = self.review.day
        self.query_one(Days).show(self.house.days, day)
        total: dict[Severity, int] = {}
        for line in self.house.rooms:
            for severity, n in line.open.items():
                total[severity] = total.get(severity, 0) + n
        signed = self.house.signed
        # what is open last, as a narrow screen cuts off what comes last and the list shows that too
        parts = [Content(wording.count(self.house.new, "new memo"))] if self.house.new else []
        parts += [Content.styled(f"{self.house.problems} not filed (t)", "$text-error")] if self.house.problems else []
        parts += [Content(f"signed {drawing.plain(signed.who)}")] if signed else []
        parts += [drawing.still_open({s: total.get(s, 0) for s in Severity})]
        self.head(drawing.said(self.desk.job.name, " · ", drawing.long_day(day)), Content(" · ").join(parts))
        rows = self.query_one(Rows)
        first = None if rows.known else next((line.name or "" for line in self.house.rooms if line.said), None)
        rows.show(list(_rows(self.house.rooms, wide=self.has_class("wide"))), at=first)

    # --- the marked room

    def on_rows_marked(self, message: Rows.Marked) -> None:
        line, day = message.row.item, self.review.day
        if isinstance(line, RoomLine):
            where = Where(line.name, day)
            self.read(lambda: self._glance(line, where), self.query_one(Beside).tell, "glance")

    def _glance(self, line: RoomLine, where: Where) -> Content:
        opened = self.desk.followups(Wanted(room=line.name), limit=6) if line.name else Opened([], {})
        log = self.desk.log(where, limit=10)
        return Content("\n").join(_at_a_glance(line, where, opened, log))

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        from tui.room import RoomView

        if isinstance(message.row.item, RoomLine):
            self.review.go(RoomView(Where(message.row.item.name, self.review.day)))

    # --- days

    @property
    def day(self) -> str | None:
        return self.review.day

    def to_day(self, day: str | None) -> None:
        self.review.day, self._last = day, False
        self.reload()

    def action_sign(self) -> None:
        from tui.forms import SignForm

        self.review.push_screen(SignForm(self.desk, self.review.day, self.room))


def _rows(lines: Iterable[RoomLine], *, wide: bool) -> Iterator[Row]:
    floors: dict[str, list[RoomLine]] = {}
    for line in lines:
        floors.setdefault(line.floor, []).append(line)
    fresh = any(line.new for line in lines)
    for n, (floor, of_floor) in enumerate(floors.items()):
        heads = [(name, "") for name, _, _ in _cells(of_floor[0], wide=wide, fresh=fresh)] if n == 0 else []
        yield Row(_line(floor or ("Rooms" if n == 0 else "Elsewhere"), heads, wide=wide), gutter=0)
        for line in of_floor:
            cells = [(f"{count or ''}", style) for _, count, style in _cells(line, wide=wide, fresh=fresh)]
            yield Row(_line(drawing.room(line.name), cells, wide=wide), line, line.name or "", gutter=1)


def _cells(line: RoomLine, *, wide: bool, fresh: bool) -> Iterator[tuple[str, int, str]]:
    """What stands behind a room: a heading, a count, a style. Where there is room, every weight has a column."""
    yield "said", line.said, ""
    if wide:
        for severity in Severity:
            name = "open high" if severity is Severity.HIGH else severity.value
            yield name, line.open.get(severity, 0), drawing.WEIGHTS[severity]
    else:
        yield "open", sum(line.open.values()), ""
        yield "high", line.open.get(Severity.HIGH, 0), drawing.WEIGHTS[Severity.HIGH]
    yield "photos" if wide else "pics", line.photos, ""
    if fresh:
        yield "new", line.new, "$text-accent bold"


def _line(name: str, cells: list[tuple[str, str]], *, wide: bool) -> Callable[[int], Content]:
    cell = 10 if wide else 5

    def draw(width: int) -> Content:
        space = max(8, width - cell * len(cells))
        label = Content(name).truncate(space, ellipsis=True, pad=True)
        return Content.assemble(label, *((f"{text:>{cell}}", style) for text, style in cells))

    return draw


def _at_a_glance(line: RoomLine, where: Where, opened: Opened, log: Log) -> Iterator[Content]:
    yield drawing.said((drawing.room(line.name), "bold"), f"  {line.floor}")
    if log.signed:
        changed = sum(log.signed.changed(said.fact) for said in log.said)
        yield drawing.said((wording.signed(log.signed.who, log.signed.at, changed, log.gone), "$text-success"))
    yield Content("")
    yield Content.assemble(("Still open: ", "bold"), drawing.counts(opened.counts))
    for item in opened.items:
        yield Content.assemble(drawing.weight(item), " ", drawing.said(item.title))
    more = sum(opened.counts.values()) - len(opened.items)
    if more > 0:
        yield Content.styled(f"and {more} more: press o", drawing.MUTED)
    yield Content("")
    yield Content.styled(f"Said, {drawing.long_day(where.day)}:", "bold")
    for gap in log.gaps:
        yield drawing.said((f"x {gap}", "$text-warning"))
    for facts in wording.alike(said.fact for said in log.said):
        yield Content.assemble(drawing.sign(facts[0]), " ", drawing.fact(facts))
    if not log.said:
        yield Content.styled("nothing", drawing.MUTED)
