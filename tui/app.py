"""The terminal app: where one is, what is written, and what was set."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Any, ClassVar

from textual.app import SystemCommand
from textual.binding import BindingType
from textual.screen import Screen
from textual.theme import Theme

from tui import keys, settings, taking
from tui.ahead import TypingAhead
from tui.bridge import BookError, Desk, Where, Wrong, keep_looked, looked
from tui.house import HouseView
from tui.key_line import KeyLine
from tui.sound import Player
from tui.view import View

LOOK_EVERY = 2.0
"""Seconds between looks at whether another program wrote to the book."""
SLOW = 0.4
"""Seconds after which a person is told that what they decided is being kept."""

DARK = Theme(
    "copper", primary="#c9824a", secondary="#6f9fc4", accent="#e0a060", background="#14171a", surface="#1b1f23",
    panel="#262c32", foreground="#d8d4cc", success="#7fae74", warning="#d9b25f", error="#d9705f", dark=True,
    variables={"muted": "#8f8a81"},
)  # fmt: skip
LIGHT = Theme(
    "paper", primary="#8a4b1c", secondary="#2f5f86", accent="#9a5a1e", background="#f6f3ec", surface="#efebe1",
    panel="#e2dccd", foreground="#26231e", success="#356b2c", warning="#7d5a00", error="#a2301f", dark=False,
    variables={"muted": "#6e685c"},
)  # fmt: skip


class Review(TypingAhead):
    """The review of one job."""

    CSS_PATH = "app.tcss"
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(keys.EVERYWHERE)
    ENABLE_COMMAND_PALETTE = True

    def __init__(self, folder: Path, *, player: Player | None = None) -> None:
        super().__init__()
        self.animation_level = "none"
        self.set = settings.load()
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        self.theme = "paper" if self.set.light else "copper"
        self.desk = Desk(folder, self.set.who, looked(folder))
        self.player = player or Player()
        self.day: str | None = None
        self.taking = taking.Taking()
        self._one_take = asyncio.Lock()
        self._unpainted = ExitStack()
        self.writes: asyncio.Queue[tuple[Callable[[], str], Callable[[], None], int]] = asyncio.Queue()

    def get_default_screen(self) -> Screen[None]:
        return HouseView()

    def on_mount(self) -> None:
        self._unpainted.enter_context(self.batch_update())  # to paint the empty screen first costs a third of a start
        self.set_keymap(self.set.keys)
        self.run_worker(self._write_all(), group="writes")
        self.set_interval(LOOK_EVERY, self._look)
        if self.set.wrong:
            self.call_after_refresh(self.tell, "; ".join(self.set.wrong), bad=True)

    def paint(self) -> None:
        """Paint from now on: there is something to see."""
        self._unpainted.close()

    # --- where one is

    def go(self, view: View) -> None:
        """Show a screen straight above the first one."""
        while len(self.screen_stack) > 1:
            self.pop_screen()
        self.push_screen(view)

    def jump(self, view: View) -> None:
        """Show a screen above the present one, to come back from."""
        self.push_screen(view)

    def back(self) -> None:
        """Go back to the screen before."""
        self.player.stop()
        if len(self.screen_stack) > 1:
            self.pop_screen()

    def room_here(self) -> str | None:
        """The room that the person looks at, for screens that begin with one."""
        return getattr(self.screen, "room", None)

    def _open(self, module: str, name: str, *args: Any) -> None:
        # screens are loaded when first asked for: the first paint has no time for all of them
        if not isinstance(self.screen, View):
            return
        self.go(getattr(import_module(f"tui.{module}"), name)(*args))

    def action_ask(self) -> None:
        self._open("ask", "AskView")

    def action_still_open(self) -> None:
        self._open("still_open", "OpenView", self.room_here() if self.screen.name_ == "room" else None)  # type: ignore[attr-defined]

    def action_runs(self) -> None:
        self._open("runs", "RunsView", self.room_here())

    def action_photos(self) -> None:
        room = self.room_here() if self.screen.name_ != "house" else None  # type: ignore[attr-defined]
        self._open("photos", "PhotosView", Where(room, anywhere=room is None))

    def action_dictate(self) -> None:
        self._open("dictate", "DictateView")

    def action_bring_in(self) -> None:
        self._open("bring_in", "TakeView")

    def action_decided(self) -> None:
        self._open("decided", "DecidedView")

    def action_settings(self) -> None:
        self._open("settings_view", "SettingsView")

    def action_help(self) -> None:
        from tui.help import HelpView

        if isinstance(self.screen, View):
            self.push_screen(HelpView(self.screen.name_), self._do)

    def _do(self, id: str | None) -> None:
        """Do what a line of the help says, on the screen below it."""
        if id is not None:
            self.call_next(self.run_action, keys.BY_ID[id].on("screen"))

    def action_leave(self) -> None:
        self.player.stop()
        with suppress(Wrong, OSError):
            keep_looked(self.desk.root, self.desk.latest())
        self.exit()

    def action_light(self) -> None:
        self.change(replace(self.set, light=not self.set.light))

    def change(self, new: settings.Settings) -> None:
        """Set something, and keep it."""
        self.set, self.desk.who = new, new.who
        self.theme = "paper" if new.light else "copper"
        self.set_keymap(new.keys)
        for screen in self.screen_stack:  # those below come back as they are
            for line in screen.query(KeyLine):
                line.draw()
        try:
            settings.save(new)
        except OSError as wrong:
            self.tell(f"the settings could not be kept: {wrong.strerror}", bad=True)

    def get_system_commands(self, screen: Screen[Any]) -> Iterator[SystemCommand]:
        """All that can be done here, for the palette."""
        name = getattr(screen, "name_", "")
        for action in keys.of_screen(name):
            title = f"{action.line}  ({keys.named(keys.keys_of(action, self.set.keys))})"
            yield SystemCommand(title, action.command or "only here", self._caller(action.on("screen")))

    def _caller(self, call: str) -> Callable[[], Any]:
        return lambda: self.call_next(self.run_action, call)

    # --- writing: one thing at a time, in the order it was decided

    def write(self, what: Callable[[], str], then: Callable[[], None] = lambda: None, *, undos: int = 1) -> None:
        """Do `what` in the queue of writes, say what it gives and that `undos` take it back, read again, do `then`."""
        self.writes.put_nowait((what, then, undos))

    def _how_to_undo(self, undos: int) -> str:
        key = keys.named(keys.keys_of(keys.BY_ID["everywhere.undo"], self.set.keys))
        often = f", {undos} times," if undos > 1 else ""
        return f"; {key}{often} takes it back" if undos else ""

    async def _write_all(self) -> None:
        while True:
            what, then, undos = await self.writes.get()
            patience = self.set_timer(SLOW, lambda: self.tell("keeping it…"))
            try:
                said = await asyncio.to_thread(what)
            except Wrong as wrong:
                patience.stop()
                self.tell(str(wrong), bad=True)
            else:
                patience.stop()
                self.tell(said + self._how_to_undo(undos))
                then()
            self._look()
            self.writes.task_done()

    # --- taking files, one child after the other

    def take(self, paths: list[str], *, speaker: str = "", again: bool = False, move: bool = False) -> None:
        """Take files in a child process; the app stays live. `move` removes each once the store has it."""
        command = self.desk.bring.take(paths, speaker=speaker, again=again, move=move)
        self.taking.running += 1
        self.run_worker(self._take(command), group="take")
        self._taking_changed()

    async def _take(self, command: list[str]) -> None:
        async with self._one_take:
            try:
                wrong = await taking.run(command, self._taken)
            finally:
                self.taking.running -= 1
        if wrong:
            self.tell(wrong, bad=True)
        self._taking_changed()
        self._look()

    def _taken(self, event: dict[str, Any]) -> None:
        self.taking.told(event)
        self._taking_changed()

    def _taking_changed(self) -> None:
        if changed := getattr(self.screen, "taking_changed", None):
            changed()

    def action_undo(self) -> None:
        self.write(self.desk.decide.undo, undos=0)

    def tell(self, text: str, *, bad: bool = False) -> None:
        """Say something in passing."""
        if view := self._view():
            view.tell(text, bad=bad)

    def _view(self) -> View | None:
        """The screen, or the one below a form."""
        return next((s for s in reversed(self.screen_stack) if isinstance(s, View) and s.is_mounted), None)

    def _look(self) -> None:
        """Read again where the book was written to, by whomever."""
        with suppress(OSError, BookError):
            view = self._view()
            if view and view.stamp is not None and view.stamp != self.desk.stamp():
                view.reload()
