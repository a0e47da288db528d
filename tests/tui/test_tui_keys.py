"""The registry of actions: every one can be done, is in the help and the palette, and can have another key."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import pytest
from textual.pilot import Pilot

from notes.cli import VERBS
from tests.tui.desk import drive, press, text
from tui import keys, settings
from tui.app import Review
from tui.help import lines
from tui.room import RoomView
from tui.view import View

MODULES = (
    "house",
    "room",
    "still_open",
    "ask",
    "runs",
    "photos",
    "boards",
    "dictate",
    "bring_in",
    "decided",
    "settings_view",
)
for _module in MODULES:
    import_module(f"tui.{_module}")


def views() -> dict[str, type[View]]:
    found, left = {}, [View]
    while left:
        here = left.pop()
        left += here.__subclasses__()
        found |= {here.name_: here} if here.name_ else {}
    return found


@pytest.mark.parametrize("action", keys.ACTIONS, ids=lambda action: action.id)
def test_every_action_has_a_method_and_its_command_exists(action: keys.Action) -> None:
    home = Review if action.screen == keys.EVERYWHERE else views()[action.screen]
    assert hasattr(home, f"action_{action.id.partition('.')[2]}") or action.keys == "enter"
    verbs = {verb for group in VERBS.values() for verb in group}
    if action.command and action.id != "everywhere.help":
        assert action.command.split()[1] in verbs


@pytest.mark.parametrize("screen", sorted({action.screen for action in keys.ACTIONS}))
def test_no_key_does_two_things(screen: str) -> None:
    own = [key for action in keys.of_screen(screen) for key in action.keys.split(",")]
    if screen != keys.EVERYWHERE:
        assert len(own) == len(set(own))


@pytest.mark.parametrize("screen", sorted({action.screen for action in keys.ACTIONS} - {keys.EVERYWHERE}))
def test_the_help_of_a_screen_names_all_that_can_be_done_on_it(screen: str) -> None:
    said = "\n".join(line.plain for line in lines(screen, {}))
    for action in keys.of_screen(screen):
        assert action.line in said and action.command in said


def test_help_opens_and_closes_by_keys(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "question_mark")
        assert "On this screen" in text(pilot) and "Sign off this day" in text(pilot)
        await press(pilot, "escape", "a", "enter", "f1")
        assert "Hear the seconds around these words" in text(pilot)

    drive(root, script, (100, 50))


def test_the_palette_does_what_it_names(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "ctrl+p", "text:pipe runs of a room")
        await pilot.pause(0.5)
        await press(pilot, "down", "enter")
        assert "Pipe runs" in text(pilot)

    drive(root, script)


def test_a_key_is_changed_kept_and_given_back(root: Path, home: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "k", "down", "down", "enter")
        assert "press the new key for: See the pipe runs" in text(pilot)
        await press(pilot, "z")
        await press(pilot, "escape", "z")
        assert "Pipe runs" in text(pilot)

    drive(root, script)
    assert settings.load().keys == {"everywhere.runs": "z"}

    async def again(pilot: Pilot[None]) -> None:
        await press(pilot, "z")
        assert "Pipe runs" in text(pilot)
        await press(pilot, "k", "down", "down", "delete", "escape", "r")
        assert "Pipe runs" in text(pilot)

    drive(root, again)
    assert settings.load().keys == {}


def test_a_key_that_is_taken_is_refused(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "k", "down", "down", "enter", "o")
        assert "o is taken: See what is still open" in text(pilot)

    drive(root, script)
    assert settings.load().keys == {}


def test_settings_that_cant_be_read_are_said_and_left_aside(root: Path, home: Path) -> None:
    (home / "review.toml").write_text('[keys]\n"everywhere.runs" = "o"\n"no.such" = "z"\n')

    async def script(pilot: Pilot[None]) -> None:
        assert "nothing is called 'no.such'" in " ".join(text(pilot).split())
        await press(pilot, "r")
        assert "Pipe runs" in text(pilot)

    drive(root, script)


def test_light_and_a_name_are_kept(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "ctrl+l")
        assert pilot.app.theme == "paper"
        await press(pilot, "k", "w", "end", "text: B", "enter")
        assert "you are Kay B" in text(pilot)

    drive(root, script)
    assert settings.load().light and settings.load().who == "Kay B"


def test_keys_stand_in_the_bottom_line_at_any_width(root: Path) -> None:
    from tui.key_line import drawn

    for width in (40, 80, 200):
        line = drawn("room", {"room.listen": "l"}, width).plain
        assert len(line) <= width and line.endswith("? Help")
    assert "l Listen" in line


def test_what_is_done_by_keys_is_done_by_mouse(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        from tests.tui.desk import settle

        async def click(what: str, **where: object) -> None:
            await pilot.click(what, **where)  # type: ignore[arg-type]
            await settle(pilot)

        await click("#days", offset=(20, 0))
        assert "[Mon 2 Mar (1)]" in text(pilot)
        await click("#rooms", offset=(5, 1))  # the marked one: opened
        assert isinstance(pilot.app.screen, RoomView)
        await click("#log", offset=(5, 3))
        await click("#log", offset=(5, 3))  # once to mark it, again to open it
        assert "Put right" in text(pilot)
        await click("#no")
        await click("#memo-words", offset=(18, 0))
        pane = pilot.app.screen.query_one("MemoPane")
        assert pane.word.text == "I've"  # type: ignore[attr-defined]
        await click("#memo-words", offset=(18, 0))
        assert "Put a word right" in text(pilot)
        await click("#no")
        await click("KeyLine", offset=(3, 0))  # esc Back
        assert pilot.app.screen.query("#rooms")
        await click("KeyLine", offset=(text(pilot).splitlines()[-1].index("/ Ask"), 0))
        assert "Ask: find words" in text(pilot)

    drive(root, script, (100, 30))


def test_signing_closing_and_taking_out_by_mouse(root: Path) -> None:
    from tests.tui.desk import query, settle

    async def script(pilot: Pilot[None]) -> None:
        await pilot.click("KeyLine", offset=(text(pilot).splitlines()[-1].index("s Sign off"), 0))
        await settle(pilot)
        await pilot.click("#ok")
        await settle(pilot)
        await press(pilot, "o")
        await pilot.click("KeyLine", offset=(text(pilot).splitlines()[-1].index("c Close"), 0))
        await settle(pilot)
        await press(pilot, "text:done")
        await pilot.click("#ok")
        await settle(pilot)

    drive(root, script, (100, 30))
    assert [kind for (kind,) in query(root, "SELECT kind FROM decisions ORDER BY id")] == ["sign off", "close"]
