"""Forms over a screen: fields with the values that are valid, one key to keep and one to leave."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Checkbox, Input, Label, Select, Static

from tui import drawing
from tui.bridge import Desk, FollowUp, Wanted, Where, Wrong, clean
from tui.host import host

Choice = tuple[str, Any]


class Form(ModalScreen[None]):
    """A form. `title_` says what it is for; `ask` gives its fields; `keep` does it, and may raise Wrong."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave it"),
        Binding("ctrl+s", "keep", "Keep"),
        Binding("enter", "keep", "Keep"),  # of what does not take it for itself, as lists of choices do
    ]
    title_ = ""
    ok = "Keep (ctrl+s)"
    keys_ = "tab: next   space: choose"

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk

    def note(self) -> Content:
        """What stands under the title."""
        return Content("")

    def ask(self) -> ComposeResult:
        """The fields."""
        yield from ()

    def keep(self) -> None:
        """Do what the form is for."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="form", can_focus=False):
            yield Static(self.title_, id="form-title", markup=False)
            yield Static(self.note(), id="form-note", markup=False)
            yield from self.ask()
            yield Static("", id="form-wrong", markup=False)
            with Horizontal(id="form-keys"):
                yield Static(self.keys_, id="form-hint", markup=False)
                yield Button(self.ok, id="ok", variant="primary", compact=True)
                yield Button("Leave it (esc)", id="no", compact=True)

    def write(self, what: Callable[[], str], then: Callable[[], None] = lambda: None, *, undos: int = 1) -> None:
        """Decide `what`, in the queue of writes."""
        host(self).write(what, then, undos=undos)

    def text(self, name: str) -> str:
        return self.query_one(f"#{name}", Input).value.strip()

    def choice(self, name: str) -> Any:
        """What is chosen; None where nothing is."""
        value = self.query_one(f"#{name}", Select).value
        return None if value is Select.NULL else value

    def ticked(self, name: str) -> bool:
        return self.query_one(f"#{name}", Checkbox).value

    def action_keep(self) -> None:
        try:
            self.keep()
        except Wrong as wrong:
            self.query_one("#form-wrong", Static).update(Content(f"! {clean(wrong)}"))
        else:
            self.dismiss()

    def action_leave(self) -> None:
        self.dismiss()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        event.stop()
        if event.button.id == "ok":
            self.action_keep()
        else:
            self.action_leave()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_keep()


class Tick(Checkbox, inherit_bindings=False):
    """A box to tick, with a mark only where it is ticked. Enter keeps the form, as in its other fields: a tick that
    enter took away again would be lost unseen."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("space", "toggle_button", "Tick", show=False)]

    def __init__(self, label: str, value: bool = False, *, id: str) -> None:
        self.BUTTON_INNER = "x" if value else " "
        super().__init__(Content(label), value, id=id, compact=True)

    def watch_value(self) -> None:
        self.BUTTON_INNER = "x" if self.value else " "
        super().watch_value()


def field(label: str, widget: Input | Select[Any] | Checkbox | Static) -> Horizontal:
    """A field with its label."""
    return Horizontal(Label(label, markup=False), widget, classes="field")


def entry(name: str, value: object = "", hint: str = "") -> Input:
    """A field for text."""
    return Input("" if value is None else clean(value), placeholder=hint, id=name, compact=True, select_on_focus=False)


def choose(name: str, choices: Iterable[Choice], value: Any = None, *, blank: str = "not said") -> Select[Any]:
    """A field for one of `choices`, each (label, value); an empty `blank` means that one must be chosen."""
    options = [(Text(clean(label)), it) for label, it in choices]  # a Text is no markup, and is found by its letters
    if value is not None and value not in [it for _, it in options]:
        options.insert(0, (Text(clean(value)), value))
    start = Select.NULL if value is None else value
    if value is None and not blank:
        start = options[0][1]
    return Select(options, value=start, prompt=blank or "choose", allow_blank=bool(blank), id=name, compact=True)


def same(names: Sequence[str]) -> list[Choice]:
    """Choices that are called what they are."""
    return [(name, name) for name in names]


class SignForm(Form):
    """Sign off a day, a room, or a room's day: first what one is looking at."""

    title_ = "Sign off"
    ok = "Sign (ctrl+s)"

    def __init__(self, desk: Desk, day: str | None, room: str | None, *, in_room: bool = False) -> None:
        super().__init__(desk)
        everywhere = [Where(day=day, anywhere=True)]
        here = [Where(room, day), *([Where(room)] if day else [])] if room else []
        self._wheres = [*here, *everywhere] if in_room or not day else [*everywhere, *here]

    def note(self) -> Content:
        return drawing.said(f"As {self.desk.who}, now. What is open stays open and is kept with your name; an entry "
                            "that says something else later is marked.")  # fmt: skip

    def ask(self) -> ComposeResult:
        labels = [(_part(where), n) for n, where in enumerate(self._wheres)]
        yield field("What", choose("part", labels, blank=""))

    def keep(self) -> None:
        where = self._wheres[self.choice("part")]
        self.write(lambda: self.desk.decide.sign(where))


def _part(where: Where) -> str:
    what = "all rooms" if where.anywhere else drawing.room(where.room)
    return f"{drawing.long_day(where.day)}: {what}"  # the day first: a long name is cut off


class CloseForm(Form):
    """Close a follow-up with a reason."""

    title_ = "Close: what settled it?"
    ok = "Close it (enter)"

    def __init__(self, desk: Desk, item: FollowUp) -> None:
        super().__init__(desk)
        self.item = item

    def note(self) -> Content:
        closes = f"\nWould be closed by: {clean(self.item.closes)}" if self.item.closes else ""
        return Content(f"{clean(self.item.title)} · {drawing.room(self.item.room)}{closes}")

    def ask(self) -> ComposeResult:
        yield field("Reason", entry("why", hint="as in: seen it myself, tested on Friday"))

    def keep(self) -> None:
        why, item = self.text("why"), self.item
        if not why:
            raise Wrong("say what settled it")
        self.write(lambda: self.desk.decide.close(item, why))


class GiveForm(Form):
    """Give a follow-up to somebody."""

    title_ = "Give it to"
    ok = "Give (ctrl+s)"

    def __init__(self, desk: Desk, item: FollowUp, people: Sequence[str]) -> None:
        super().__init__(desk)
        self.item, self.people = item, dict.fromkeys([*desk.job.crew, *people])

    def note(self) -> Content:
        known = f"\nKnown: {', '.join(map(clean, self.people))}" if self.people else ""
        return Content(f"{clean(self.item.title)} · {drawing.room(self.item.room)}{known}")

    def ask(self) -> ComposeResult:
        yield field("Who", entry("to", self.item.assignee, "a name"))
        yield field("Due", entry("due", self.item.due, "2026-03-09, today, friday; or nothing"))

    def keep(self) -> None:
        to, item = self.text("to"), self.item
        due = self.desk.decide.day_named(self.text("due"))
        if not to:
            raise Wrong("say who")
        self.write(lambda: self.desk.decide.give(item, to, due))


class FilterForm(Form):
    """Which follow-ups are shown."""

    title_ = "Show only"
    ok = "Show (ctrl+s)"

    def __init__(
        self, desk: Desk, wanted: Wanted, known: Mapping[str, list[str]], then: Callable[[Wanted], None]
    ) -> None:
        super().__init__(desk)
        self.wanted, self.known, self._then = wanted, known, then

    def ask(self) -> ComposeResult:
        checks = [(check.replace("-", " "), check) for check in self.known["check"]]
        yield field("Room", choose("room", same([r.name for r in self.desk.job.rooms]), self.wanted.room, blank="all"))
        yield field("Check", choose("check", checks, self.wanted.check, blank="all"))
        yield field("For", choose("who", same(self.known["assignee"]), self.wanted.assignee, blank="everybody"))
        yield field("", Tick("due, the soonest first", self.wanted.due, id="due"))
        yield field("", Tick("closed ones too", self.wanted.closed, id="closed"))

    def keep(self) -> None:
        room, check, who = (self.choice(name) for name in ("room", "check", "who"))
        self._then(Wanted(room, check, who, due=self.ticked("due"), closed=self.ticked("closed")))
