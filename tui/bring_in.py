"""Taking in new files, and what could not be filed."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.suggester import Suggester
from textual.widgets import Button, Input, Static

from tui import drawing, keys
from tui.rows import Row, Rows
from tui.taking import Taking
from tui.view import View

HINT = "a file or folder: type it, paste it, or drop it on the window"


class Paths(Suggester):
    """Offers the first file or folder that begins as what was typed."""

    def __init__(self) -> None:
        super().__init__(use_cache=False, case_sensitive=True)

    async def get_suggestion(self, value: str) -> str | None:
        try:
            typed = Path(value).expanduser()
            folder, begin = (typed, "") if value.endswith("/") else (typed.parent, typed.name)
            found = sorted(p for p in folder.iterdir() if p.name.startswith(begin) and p.name[0] != ".")
        except (OSError, ValueError, RuntimeError):
            return None
        return value + found[0].name[len(begin) :] + ("/" if found[0].is_dir() else "") if value and found else None


_NOTHING = "Nothing is being taken, and every file that was taken is filed."


class TakeView(View):
    """A prompt for files; below it how the taking goes, and what could not be filed with the reason."""

    name_ = "take"
    title_ = "Take in files"
    BINDINGS = keys.bindings("take")
    AUTO_FOCUS = "#paths"

    def body(self) -> ComposeResult:
        with Horizontal(classes="prompt"):
            yield Static("Take ", markup=False, classes="label")
            yield Input(placeholder=HINT, id="paths", compact=True, suggester=Paths())
        with Horizontal(classes="prompt"):
            yield Static("Who  ", markup=False, classes="label")
            yield Input(placeholder="who speaks in them, if you like", id="speaker", compact=True)
        with Horizontal(id="take-keys"):
            yield Button("Take (enter)", id="take", variant="primary", compact=True)
            yield Button("Try the failed ones again (ctrl+r)", id="again", compact=True)
        yield Rows(id="taken", empty=_NOTHING)

    def load(self) -> None:
        self.read(self.desk.problems, self._show)

    _problems: list[tuple[str, str]] = []  # noqa: RUF012 - replaced, never changed

    def _show(self, found: list[tuple[str, str]]) -> None:
        self._problems = found
        self.taking_changed()

    def taking_changed(self) -> None:
        """Show how the taking goes."""
        taking = self.review.taking
        state = "taking…" if taking.running else f"{len(self._problems)} could not be filed" if self._problems else ""
        self.head("Take in files", state)
        rows = self.query_one(Rows)
        rows.empty = "Looking at what is there…" if taking.running else _NOTHING
        rows.show(list(_rows(taking, self._problems)))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._take()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        if event.button.id == "take":
            self._take()
        else:
            self.action_again()

    def _take(self) -> None:
        box = self.query_one("#paths", Input)
        paths = named(box.value)
        if not paths:
            self.trouble("name a recording, a photo, a note, or a folder of them")
            return
        if gone := [path for path in paths if not _there(path)]:
            self.trouble(f"check the name (one with spaces may stand in quotes): there is no {', no '.join(gone)}")
            return
        box.value = ""
        self.trouble("")
        self.review.take(paths, speaker=self.query_one("#speaker", Input).value.strip())

    def action_again(self) -> None:
        if self._problems:
            self.review.take([], again=True)
        else:
            self.trouble("nothing failed that could be tried again")


def named(text: str) -> list[str]:
    """The files named: one as it is, or several as a shell would split them (terminals quote what is dropped)."""
    plain = text.strip()
    if not plain:
        return []
    try:
        whole = str(Path(plain).expanduser())
        return [whole] if _there(whole) else [str(Path(part).expanduser()) for part in shlex.split(plain)]
    except (ValueError, RuntimeError):
        return [plain]


def _there(path: str) -> bool:
    try:
        return Path(path).exists()
    except OSError:  # a name longer than any file's
        return False


def _rows(taking: Taking, problems: list[tuple[str, str]]) -> Iterator[Row]:
    if taking.lines:
        yield Row(Content("Taken just now"), gutter=0)
    for file, words in reversed(taking.lines.items()):
        mark = Content.styled("!", "$text-error bold") if file in taking.failed else Content("+")
        yield Row(drawing.said((Path(file).name, "bold"), "  ", words), file, file, mark)
    if problems:
        yield Row(Content("Could not be filed"), gutter=0)
    for file, reason in problems:
        text = drawing.said((Path(file).name, "bold"), "  ", reason, (f"  ({Path(file).parent})", drawing.MUTED))
        yield Row(text, file, ("problem", file), Content.styled("!", "$text-error bold"))
