"""Every screen at two sizes: with nothing, with a job, on a damaged book, with long words, with hostile words."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot

from notes import book, decisions
from notes.model import Job, Room
from tests.tui import desk
from tests.tui.desk import drive, press
from tests.tui.svg import SVG, drawn
from tui import view

SCREENS = {
    "house": ("a", "home"), "room": ("enter",), "form": ("enter",), "still_open": ("escape", "o"),
    "ask": ("slash", "text:hot cold"), "runs": ("escape", "r"), "photos": ("p",), "boards": ("b",),
    "dictate": ("d",), "take": ("t",), "decided": ("escape", "h"), "settings": ("k",),
    "help": ("escape", "question_mark"),
}  # fmt: skip
"""The keys that lead to each screen from the one before."""

LONG = "the second fix of the pipework behind the panelling that the joiner has not been told of yet, " * 12
NASTY = (
    "[bold red]hot[/] cold [@click=app.leave]x[/] \x1b[31m red \x1b[0m \u202e live \u200b 浴室 🛁🛁 \x07 e\u0301 \t end"
)


def empty(root: Path) -> None:
    desk.new(root)


def full(root: Path) -> None:
    made = desk.filled(root)
    more = "Boiler house. Cold is run in twenty-eight copper from the tank. Boiler is not fitted. Gas failed its test."
    said = [
        desk.fact("m03", 0, more, quote="Cold is run in twenty-eight copper from the tank", room="Boiler house",
                  subject="cold", action="run", size_mm=28.0, material="copper", from_="tank"),
        desk.fact("m03", 1, more, quote="Boiler is not fitted", room="Boiler house", subject="boiler", action="fit",
                  status="not done"),
        desk.fact("m03", 2, more, quote="Gas failed its test", room="Boiler house", subject="gas", action="test",
                  failed=True),
    ]  # fmt: skip
    with closing(book.connect(root)) as db:
        desk.put(db, made, "m03", more, said, hours=27)


def damaged(root: Path) -> None:
    desk.filled(root)
    for name in ("book.db-wal", "book.db-shm"):
        (root / name).unlink(missing_ok=True)
    (root / "book.db").write_bytes(b"no book at all" * 100)


def long(root: Path) -> None:
    rooms = [
        Room(f"The {n}th bedroom with the very long name that nobody ever says in full", "Floor") for n in range(40)
    ]
    _said(root, desk.new(root, "A job with a name that is longer than any line of any terminal " * 3, rooms), LONG)


def hostile(root: Path) -> None:
    rooms = [Room("[red]Bath[/red] \u202eroom", "[blink]First"), Room("浴室 🛁", "二階")]
    _said(root, desk.new(root, "[reverse]Job[/] \x1b[2J", rooms), NASTY)


def _said(root: Path, made: Job, words: str) -> None:
    text = f"Here. {words} is capped hot and cold."
    both = {"room": made.rooms[0].name, "place": words, "material": "copper"}
    said = [desk.fact("m01", n, text, quote=words, subject=s, **both) for n, s in enumerate(("hot", "cold"))]
    with closing(book.connect(root)) as db:
        desk.put(db, made, "m01", text, said, speaker=words[:30])


STATES: dict[str, Callable[[Path], None]] = {
    "empty": empty, "full": full, "error": damaged, "long": long, "hostile": hostile
}  # fmt: skip


@pytest.mark.parametrize("size", [(80, 24), (200, 60)], ids=["small", "large"])
@pytest.mark.parametrize("state", STATES)
def test_every_screen_looks_as_it_did(
    state: str, size: tuple[int, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, snapshot: SnapshotAssertion
) -> None:
    monkeypatch.setattr(decisions, "now", lambda: datetime(2026, 3, 6, 18, 0, tzinfo=UTC))
    monkeypatch.setattr(view, "GOOD", 1e6)  # what was told stays told, however slow the machine is
    monkeypatch.chdir(tmp_path)  # a path of its own length would wrap otherwise
    root = Path("job")
    STATES[state](root)
    shots: dict[str, str] = {}

    async def script(pilot: Pilot[None]) -> None:
        for name, keys in SCREENS.items():
            await press(pilot, *keys)
            shots[name] = drawn(pilot.app)
            if state == "full" and name == "room":
                await press(pilot, "y")

    drive(root, script, size)
    changed = [name for name, shot in shots.items() if shot != snapshot(name=name, extension_class=SVG)]
    assert not changed
