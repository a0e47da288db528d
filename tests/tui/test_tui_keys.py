"""The registry of actions: every one can be done, is in the help and the palette, and can have another key."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path

import pytest
from textual.pilot import Pilot

from notes.cli import VERBS
from tests.conftest import Ran
from tests.tui.desk import drive, press, text
from tui import keys, settings
from tui.app import Review
from tui.help import lines
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
    assert hasattr(home, f"action_{action.id.partition('.')[2]}")
    verbs = {verb for group in VERBS.values() for verb in group}
    if action.command and action.id != "everywhere.help":
        assert action.command.split()[1] in verbs


IN_TEXT = {
    "house": ("rooms",), "room": ("log", "memo"), "open": ("followups",), "ask": ("find", "trace"), "runs": ("runs",),
    "photos": ("photos",), "boards": ("photos",), "dictate": ("dictate",), "take": ("take", "problems"),
    "decided": ("decisions",),
}  # fmt: skip
"""The commands that show in plain text what a screen shows; settings are a plain file."""


def test_every_screen_has_commands_in_plain_text_that_its_help_names(root: Path, voidbook: Callable[..., Ran]) -> None:
    assert {action.screen for action in keys.ACTIONS} - {keys.EVERYWHERE, "settings"} == set(IN_TEXT)
    told = voidbook("review", "--help").out
    for verb in (verb for verbs in IN_TEXT.values() for verb in verbs):
        assert f"voidbook {verb}" in told
    commands = " / ".join(action.command for action in keys.ACTIONS)
    assert all(verb in commands for verbs in IN_TEXT.values() for verb in verbs)
    for verb in ("rooms", "log", "memo m01", "followups", "runs", "photos", "problems", "decisions", "find hot"):
        shown = voidbook(*verb.split())
        assert shown.code == 0 and shown.out.strip() and "\x1b" not in shown.out


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
        await press(pilot, "escape", "a", "home", "enter", "f1")
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
        await press(pilot, "escape")
        assert "z Runs" in text(pilot) and "r Runs" not in text(pilot)  # on the screen below as well
        await press(pilot, "z")
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


def test_a_key_that_lists_need_is_refused(root: Path, home: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "k", "down", "down", "enter", "down")
        assert "↓ is kept for lists" in text(pilot)

    drive(root, script)
    assert settings.load().keys == {}
    (home / "review.toml").write_text('[keys]\n"everywhere.runs" = "tab"\n')
    assert settings.load().wrong == ("everywhere.runs: 'tab' is kept for lists",)


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
