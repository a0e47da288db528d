"""Typing ahead: a key waits for the screen it is meant for, until that shows what it has to show."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from weakref import WeakKeyDictionary

from textual.app import App, ScreenStackError
from textual.events import Event, Key
from textual.screen import Screen

from tui.view import View

PATIENCE = 2.0
"""Seconds that keys wait for a screen, at most."""


class TypingAhead(App[None]):
    """An app in which "/hot" typed at once asks for hot, as does what is typed while the first screen still loads."""

    def __init__(self) -> None:
        super().__init__()
        self._come_to: Screen[object] | None = None
        self._meant: WeakKeyDictionary[Key, Screen[object]] = WeakKeyDictionary()

    async def on_event(self, event: Event) -> None:
        await super().on_event(await self._for_its_screen(event) if isinstance(event, Key) else event)

    async def _for_its_screen(self, key: Key) -> Key:
        """The key; typed anew where another screen has come since it was given to one that had no use for it."""
        with suppress(ScreenStackError):
            if key.is_forwarded and self._meant.get(key) is self.screen:
                return key
            if key.is_forwarded:
                key = Key(key.key, key.character)
            await self._arrival()
            self._meant[key] = self.screen
        return key

    async def _arrival(self) -> None:
        screen = self.screen
        if screen is self._come_to:
            return
        there = asyncio.Event()
        with suppress(TimeoutError):
            async with asyncio.timeout(PATIENCE):
                if screen.call_later(there.set):  # behind all that a new screen has to do first
                    await there.wait()
                if isinstance(screen, View):
                    await screen.shown.wait()
        self._come_to = screen
