"""What all screens share: they read in a thread, one reading at a time, and draw what comes."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import get_current_worker

from tui.bridge import Desk, Wrong, clean
from tui.host import host
from tui.key_line import KeyLine
from tui.rows import Rows

if TYPE_CHECKING:
    from tui.app import Review

GOOD, BAD = 4.0, 12.0
"""Seconds that something told stays on the screen."""


class View(Screen[None]):
    """A screen. `name_` is its part of the registry of actions."""

    name_ = ""
    title_ = ""
    AUTO_FOCUS = "Rows"

    @dataclass
    class Read(Message):
        """A reading has ended: what to do with it, and what it gave."""

        then: Callable[[Any], None]
        result: object

    @dataclass
    class Failed(Message):
        """A reading has failed."""

        wrong: Wrong

    stamp: tuple[int, ...] | None = None
    """The state of the book that is shown."""
    _reading = False

    def __init__(self) -> None:
        super().__init__()
        self.shown = asyncio.Event()
        """Set once all is shown that is to be seen first."""

    @property
    def review(self) -> Review:
        return host(self)

    @property
    def desk(self) -> Desk:
        return self.review.desk

    def compose(self) -> ComposeResult:
        with Horizontal(id="head"):
            yield Static(self.title_, id="title", markup=False)
            yield Static("", id="tally", markup=False)
        yield from self.body()
        yield Static("", id="trouble", markup=False)
        yield Static("", id="told", markup=False)
        yield KeyLine(self.name_)

    def body(self) -> ComposeResult:
        """What stands between the head and the keys."""
        raise NotImplementedError

    def on_mount(self) -> None:
        self.reload()

    def on_screen_resume(self) -> None:
        if self.stamp is not None and self.stamp != self.desk.stamp():
            self.reload()

    def reload(self) -> None:
        """Read again what is shown."""
        self.stamp = self.desk.stamp()
        try:
            self.desk.keep_up()
        except Wrong as wrong:
            self.tell(str(wrong), bad=True)
        self.load()
        if not self._reading:
            self._is_shown()

    def load(self) -> None:
        """Begin to read what is shown."""

    def read(self, what: Callable[[], Any], then: Callable[[Any], None], group: str = "read") -> None:
        """Do `what` in a thread, in place of what the same group still reads, and `then` with its result here."""
        self._reading = True
        self.trouble("")  # now, not at its end: what goes wrong meanwhile stays told
        self.run_worker(lambda: self._do(what, then), thread=True, exclusive=True, group=group, exit_on_error=True)

    def _do(self, what: Callable[[], Any], then: Callable[[Any], None]) -> None:
        worker = get_current_worker()
        try:
            result = what()
        except Wrong as wrong:
            if not worker.is_cancelled:
                self.post_message(self.Failed(wrong))
            return
        if not worker.is_cancelled:
            self.post_message(self.Read(then, result))

    def on_view_read(self, message: Read) -> None:
        message.stop()
        message.then(message.result)
        self._is_shown()

    def on_view_failed(self, message: Failed) -> None:
        message.stop()
        self.trouble(str(message.wrong))
        self._is_shown()

    def _is_shown(self) -> None:
        self.shown.set()
        self.review.paint()

    def trouble(self, text: str) -> None:
        """Say what is wrong, or that nothing is."""
        if text == self._trouble:
            return  # to say it again would lay out the whole screen again
        self._trouble = text
        line = self.query_one("#trouble", Static)
        line.update(Content(f"! {clean(text)}" if text else ""))
        line.display = bool(text)

    def tell(self, text: str, *, bad: bool = False) -> None:
        """Say something in passing, in a line of its own: nothing is covered by it."""
        line = self.query_one("#told", Static)
        line.update(Content(f"{'!' if bad else '+'} {clean(text)}"))
        line.set_class(bad, "bad")
        line.display = True
        self._told += 1
        self.set_timer(BAD if bad else GOOD, partial(self._untell, self._told))

    _told = 0
    _trouble = ""

    def _untell(self, told: int) -> None:
        if told == self._told:
            self.query_one("#told", Static).display = False

    def head(self, title: Content | str, tally: Content | str = "") -> None:
        """The line at the top: where one is, and how things stand."""
        for name, text in (("#title", title), ("#tally", tally)):
            self.query_one(name, Static).update(Content(text) if isinstance(text, str) else text)

    def action_choose(self) -> None:
        """Open the marked row, where the list has not done so itself."""
        self.query_one(Rows).action_choose()

    def action_back(self) -> None:
        self.review.back()
