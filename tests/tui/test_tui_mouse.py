"""Each task of an evening by mouse alone: clicks on rows, words, days, the keys in the bottom line, and the help."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select

from tests.tui.desk import drive, facts, press, query, rows, settle, text
from tui import picture
from tui.app import Review
from tui.bring_in import TakeView
from tui.dictate import DictateView
from tui.memo_pane import MemoPane
from tui.room import RoomView
from tui.sound import Player

Script = Callable[["Mouse"], Awaitable[None]]


class Mouse:
    """A person who only points; what must be typed goes into fields."""

    def __init__(self, pilot: Pilot[None]) -> None:
        self.pilot = pilot

    @property
    def screen(self) -> Any:
        return self.pilot.app.screen

    @property
    def shown(self) -> str:
        return text(self.pilot)

    async def click(self, what: str, x: int = 1, y: int = 0) -> None:
        await self.pilot.click(what, offset=(x, y))
        await settle(self.pilot)

    async def at(self, words: str) -> None:
        """Click on `words`, where they stand farthest to the left."""
        x, y = min((line.index(words), n) for n, line in enumerate(self.shown.splitlines()) if words in line)
        await self.pilot.click(offset=(x + 1, y))
        await settle(self.pilot)

    async def key(self, label: str) -> None:
        """Click on what the bottom line calls `label`."""
        await self.click("KeyLine", self.shown.splitlines()[-1].index(label))

    async def help(self, words: str) -> None:
        """Click on a line of the help."""
        await self.key("? Help")
        lines = self.screen.query_one("#help Static").render().plain.splitlines()
        wanted = next(n for n, line in enumerate(lines) if words in line)
        self.screen.query_one("#help").scroll_to(0, wanted, animate=False)
        await settle(self.pilot)
        await self.at(words)

    def choose(self, name: str, value: object) -> None:
        self.screen.query_one(f"#{name}", Select).value = value

    def type(self, name: str, words: str) -> None:
        self.screen.query_one(f"#{name}", Input).value = words


def pointing(root: Path, script: Script, size: tuple[int, int] = (120, 36)) -> Review:
    async def main(pilot: Pilot[None]) -> None:
        await script(Mouse(pilot))

    return drive(root, main, size)


async def into_the_bathroom(mouse: Mouse) -> None:
    await mouse.at("All days")
    await mouse.at("House bathroom")
    if not isinstance(mouse.screen, RoomView):  # the first one is marked already
        await mouse.at("House bathroom")
    assert isinstance(mouse.screen, RoomView)


def test_days_and_rooms(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await mouse.at("Mon 2 Mar")
        assert "[Mon 2 Mar, 1 memo]" in mouse.shown
        await mouse.key("→ Day on")
        assert "[Tue 3 Mar, 1 memo]" in mouse.shown
        await into_the_bathroom(mouse)
        await mouse.help("Go a day on")
        assert "Tuesday 3 March" in mouse.shown
        await mouse.key("esc Back")
        assert mouse.screen.query("#rooms")

    pointing(root, script)


def test_putting_right_and_taking_out_and_undoing(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await into_the_bathroom(mouse)
        await mouse.at("hot return capped")
        await mouse.at("hot return capped")
        assert "Put right" in mouse.shown
        mouse.choose("size_mm", 28.0)
        await mouse.click("#ok")
        assert "hot return capped, 28 mm" in mouse.shown
        await mouse.at("cold to insulate")
        await mouse.key("x Not said")
        assert "cold to insulate" not in mouse.shown
        await mouse.help("Take back the last decision")
        assert "cold to insulate" in mouse.shown
        await mouse.at("cold to insulate")
        await mouse.key("y Is right")

    pointing(root, script)
    assert facts(root)[1].size_mm == 28
    decided = query(root, "SELECT kind FROM decisions ORDER BY id")
    assert [kind for (kind,) in decided] == ["correct", "reject", "undo", "accept"]


def test_a_word_and_an_entry_by_hand(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await into_the_bathroom(mouse)
        await mouse.at("lagging")
        await mouse.at("lagging")
        assert "Put a word right" in mouse.shown
        mouse.type("meant", "clipping")
        await mouse.click("#ok")
        assert "clipping" in mouse.shown
        await mouse.help("Add an entry by hand")
        mouse.choose("subject", "waste")
        mouse.choose("action", "connect")
        await mouse.click("#ok")
        assert "waste connected" in mouse.shown

    pointing(root, script)


def test_listening_and_going_to_a_word(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Player, "pause", lambda self: setattr(self, "paused", not self.paused))

    async def script(mouse: Mouse) -> None:
        await into_the_bathroom(mouse)
        await mouse.key("space Listen")
        player = mouse.pilot.app.player  # type: ignore[attr-defined]
        assert player.playing
        await mouse.key("space Listen")
        assert player.paused
        await mouse.at("wants")
        word = mouse.screen.query_one(MemoPane).word
        assert word.text == "wants" and player.second == pytest.approx(word.at, abs=0.01)

    pointing(root, script)


def test_photos(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[Path] = []
    monkeypatch.setattr(picture, "view", lambda file: bool(opened.append(file)) or True)

    async def script(mouse: Mouse) -> None:
        await mouse.key("p Photos")
        await mouse.key("v View")
        await mouse.key("→ Next")
        assert "1 of 1" in mouse.shown
        await mouse.key("enter Memo")
        assert isinstance(mouse.screen, RoomView)

    pointing(root, script)
    assert opened


def test_what_is_open(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await mouse.key("o Open")
        await mouse.key("g Give to")
        mouse.type("to", "Tommo")
        await mouse.click("#ok")
        assert "for Tommo" in mouse.shown
        await mouse.key("f Filter")
        mouse.choose("who", "Tommo")
        await mouse.click("#ok")
        assert len([row for row in rows(mouse.pilot).items if row.item]) == 1
        await mouse.key("enter Evidence")
        assert isinstance(mouse.screen, RoomView) and "‹" in mouse.shown
        await mouse.key("esc Back")
        await mouse.key("c Close")
        mouse.type("why", "seen it")
        await mouse.click("#ok")

    pointing(root, script)
    assert len(query(root, "SELECT * FROM followups WHERE closed_by = 'Kay: seen it'")) == 1


def test_asking_and_going_to_an_answer(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await mouse.key("/ Ask")
        mouse.type("asked", "secondary return bath")
        await settle(mouse.pilot)
        await mouse.key("↓ Answers")
        await mouse.at("hot return")
        assert isinstance(mouse.screen, RoomView)

    pointing(root, script)


def test_runs(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await mouse.key("r Runs")
        await mouse.key("f Room")
        await mouse.at("Scullery")
        await mouse.click("#ok")
        assert "Pipe runs · Scullery" in mouse.shown
        await mouse.key("enter Log")
        assert isinstance(mouse.screen, RoomView)

    pointing(root, script)


def test_signing_off_and_taking_it_back_from_the_list(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await mouse.key("s Sign off")
        await mouse.click("#ok")
        assert "signed Kay" in mouse.shown
        await mouse.help("See what was decided")
        await mouse.key("enter Take back")
        assert "(taken back)" in mouse.shown

    pointing(root, script)


def test_dictating(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[list[str]] = []
    monkeypatch.setattr(Review, "take", lambda self, paths, **_: taken.append(paths))

    async def script(mouse: Mouse) -> None:
        await mouse.key("d Dictate")
        assert isinstance(mouse.screen, DictateView)
        await mouse.click("#start")
        recorder = mouse.screen.recorder
        while recorder.seconds < 0.2:
            await mouse.pilot.pause(0.05)
        await mouse.key("space Pause")
        assert recorder.paused
        await mouse.click("#start")
        assert mouse.screen.recorder is None

    pointing(root, script)
    assert len(taken) == 1


def test_taking_files_in(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[list[str]] = []
    recording = root / "a.m4a"
    recording.touch()
    monkeypatch.setattr(Review, "take", lambda self, paths, **_: taken.append(paths))

    async def script(mouse: Mouse) -> None:
        await mouse.key("t Take")
        assert isinstance(mouse.screen, TakeView)
        mouse.type("paths", str(recording))
        await mouse.click("#take")

    pointing(root, script)
    assert taken == [[str(recording)]]


def test_help_is_left_by_a_click_beside_its_lines(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await mouse.key("? Help")
        await mouse.at("On this screen")
        assert mouse.screen.query("#rooms")

    pointing(root, script)


def test_a_row_is_marked_by_one_click_and_opened_by_the_next(root: Path) -> None:
    async def script(mouse: Mouse) -> None:
        await press(mouse.pilot, "a", "home")
        await mouse.at("Scullery")
        assert mouse.screen.query("#rooms") and rows(mouse.pilot).marked.key == "Scullery"  # type: ignore[union-attr]
        await mouse.at("Scullery")
        assert isinstance(mouse.screen, RoomView)

    pointing(root, script)
