"""What is typed before a screen has come waits for it."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path

import pytest
from textual.events import Key
from textual.pilot import Pilot
from textual.widgets import Input

from tests.tui.desk import drive, press, settle, text
from tui.app import Review
from tui.bridge import Desk, House


def typed(pilot: Pilot[None], keys: str) -> None:
    """Give the app keys faster than anything can come of them."""
    names = {"/": "slash", " ": "space"}
    for letter in keys:
        pilot.app.post_message(Key(names.get(letter, letter), letter))


def test_what_is_typed_at_once_reaches_the_screen_it_is_meant_for(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        typed(pilot, "/hot cold")
        await settle(pilot)
        assert pilot.app.screen.query_one(Input).value == "hot cold"
        await press(pilot, "escape")
        typed(pilot, "oc")
        await settle(pilot)
        typed(pilot, "seen it")
        await settle(pilot)
        assert pilot.app.screen.query_one("#why", Input).value == "seen it"

    drive(root, script)


def test_what_is_typed_while_the_house_still_loads_is_not_overridden(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = Desk.house
    asked: list[str | None] = []

    def slowly(desk: Desk, day: str | None, **how: bool) -> House:
        asked.append(day)
        time.sleep(0.3 if len(asked) == 1 else 0.0)
        return read(desk, day, **how)

    monkeypatch.setattr(Desk, "house", slowly)

    async def main() -> None:
        app = Review(root)
        async with app.run_test(size=(80, 24)) as pilot:
            typed(pilot, "a")
            await settle(pilot)
            assert app.day is None and "[All days]" in text(pilot)

    asyncio.run(main())
    assert asked == [None, None]  # once to load, once for the key
