"""The pane beside a list: keys scroll it, and what one goes to stays in sight."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from textual.pilot import Pilot

from notes import book
from tests.tui import desk
from tests.tui.desk import drive, press, rows, text
from tui.memo_pane import MemoPane
from tui.pane import Pane

MANY = "Scullery. Cold is run. " + " ".join(f"word{n}" for n in range(300)) + " and Waste is run."


def long(root: Path) -> None:
    made = desk.new(root)
    said = [
        desk.fact("m01", 0, MANY, quote="Cold is run", room="Scullery", subject="cold", action="run"),
        desk.fact("m01", 1, MANY, quote="Waste is run", room="Scullery", subject="waste", action="run"),
    ]
    with closing(book.connect(root)) as db:
        desk.put(db, made, "m01", MANY, said)


def test_the_word_gone_to_stays_in_sight(tmp_path: Path) -> None:
    long(tmp_path / "job")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter")
        pane = pilot.app.screen.query_one(MemoPane)
        pane.step(150)
        await desk.settle(pilot)
        assert pane.word and pane.word.text.strip(".") in text(pilot)
        pane.step(-150)
        await desk.settle(pilot)
        assert pane.word and pane.word.text in text(pilot)

    drive(tmp_path / "job", script)


def test_tab_goes_to_the_pane_and_keys_scroll_it(tmp_path: Path) -> None:
    long(tmp_path / "job")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter")
        marked, pane = rows(pilot).cursor, pilot.app.screen.query_one(Pane)
        await press(pilot, "tab", "pagedown")
        assert pane.has_focus and pane.scroll_offset.y > 0 and rows(pilot).cursor == marked
        await press(pilot, "right")
        assert pilot.app.screen.query_one(MemoPane).cursor > 0
        await press(pilot, "tab", "down")
        assert rows(pilot).has_focus and rows(pilot).cursor != marked

    drive(tmp_path / "job", script)
