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
from tui.bridge import Desk, FollowUp, House, Said, Where
from tui.fact_forms import FactForm
from tui.room import RoomView
from tui.rows import Rows


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


def test_enter_opens_what_was_marked_when_it_was_pressed_whatever_is_typed_after_it(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        pilot.app.push_screen(RoomView(Where("House bathroom")))
        await settle(pilot)
        rows = pilot.app.screen.query_one(Rows)
        marked = rows.marked
        rows.action_choose()
        rows.action_go(1)  # a key that comes before the form has
        assert rows.marked is not marked
        await settle(pilot)
        form = pilot.app.screen
        assert isinstance(form, FactForm)
        assert isinstance(marked.item, Said) and form.fact == marked.item.fact

    drive(root, script)


def test_enter_goes_to_the_evidence_of_an_item_that_was_marked_just_now(root: Path) -> None:
    """It said that there was none, as it was not read yet."""

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "o")
        rows = pilot.app.screen.query_one(Rows)
        items = [row.item for row in rows.items if isinstance(row.item, FollowUp)]
        other = next(item for item in items if item.room != items[0].room)
        rows.mark(next(n for n, row in enumerate(rows.items) if row.item is other))
        rows.action_choose()
        await settle(pilot)
        assert isinstance(pilot.app.screen, RoomView)
        assert pilot.app.screen.where.room == other.room

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
