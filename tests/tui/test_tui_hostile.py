"""What people, files and recordings bring never drives the screen: markup and escapes are shown as text."""

from __future__ import annotations

import os
from contextlib import closing
from pathlib import Path

import pytest
from textual.pilot import Pilot

from notes import book, forget, ruling
from notes.model import Photo, Room
from notes.photos import NewPhoto
from tests.tui import desk
from tests.tui.desk import drive, press, text
from tui.app import Review

MARKUP = "[red]x[/red]"
LINK = "[link=file:///etc/passwd]l[/link]"
CLICK = "[@click=app.leave]c[/]"
ESCAPES = "\x1b[31m\x1b]8;;http://x.invalid\x07e\x9b2J"
NASTY = f"{MARKUP} {LINK} {CLICK} {ESCAPES}"

SCREENS = {
    "house": ("a", "home"), "room": ("enter",), "fact form": ("enter",), "word form": ("escape", "right", "c"),
    "sign form": ("escape", "s"), "add form": ("escape", "n"), "open": ("escape", "o"), "close form": ("c",),
    "give form": ("escape", "g"), "filter form": ("escape", "f"), "ask": ("escape", "slash", "text:hot"),
    "runs": ("escape", "r"), "room form": ("f",), "photos": ("escape", "p"), "boards": ("b",),
    "board form": ("f",), "take": ("escape", "t"), "decided": ("escape", "h"), "settings": ("k",), "who form": ("w",),
    "help": ("escape", "question_mark"), "palette": ("escape", "ctrl+p"),
}  # fmt: skip
"""The keys that lead to each screen and form from the one before."""

SHOWN = {
    "house": "[red]x[/red] [link=file", "room": CLICK, "fact form": MARKUP, "word form": MARKUP, "open": MARKUP,
    "ask": "[red]x[/red]", "runs": MARKUP, "room form": MARKUP, "photos": MARKUP, "boards": MARKUP,
    "board form": MARKUP, "take": MARKUP, "decided": MARKUP,
}  # fmt: skip
"""What must stand there letter by letter, on the screens that show such text."""


@pytest.fixture
def hostile(tmp_path: Path) -> Path:
    root = tmp_path / "job"
    made = desk.new(root, f"Job {NASTY}", [Room(NASTY, MARKUP, (f"n {CLICK}",)), Room("Scullery", LINK)])
    words = f"{MARKUP} Here. Hot {NASTY} is capped."
    both = {"room": made.rooms[0].name, "place": NASTY, "material": "copper", "from_": MARKUP, "to": LINK}
    with closing(book.connect(root)) as db:
        said = [desk.fact("m01", 0, words, quote=f"Hot {NASTY} is capped", **both)]
        desk.put(db, made, "m01", words, said, speaker=NASTY, words=desk.words(words))
        desk.put(db, made, "m02", words, [desk.fact("m02", 0, words, quote=words, **both)], hours=1, speaker=NASTY)
        desk.photograph(db, made, root)
        with book.write(db):
            new = NewPhoto(Photo(f"p {NASTY}", desk.MONDAY, caption=f"n {CLICK} {NASTY}"), "d", "told", seen=NASTY)
            desk.filing.file_photo(db, made, new)
            path, why = os.fsencode(f"/{NASTY}"), NASTY
            db.execute("INSERT INTO problems (path, line, reason, at) VALUES (?, 0, ?, '2026')", (path, why))
        ruling.accept(db, made, desk.facts(root)[0].id or 0, NASTY)
        ruling.assign(db, made, 1, NASTY, NASTY, None)
        forget.forget(db, root, made, "m02", NASTY)
    return root


@pytest.mark.parametrize("size", [(80, 24), (200, 60)], ids=["small", "large"])
def test_markup_and_escapes_are_text_on_every_screen(hostile: Path, size: tuple[int, int]) -> None:
    shown: dict[str, str] = {}

    async def script(pilot: Pilot[None]) -> None:
        for name, keys in SCREENS.items():
            await press(pilot, *keys)
            shown[name] = text(pilot)
            for strip in pilot.app.screen._compositor.render_strips():
                for segment in strip:
                    style = segment.style
                    assert not (style and style.link), (name, segment)
                    assert not (style and "app.leave" in str(style.meta.get("@click", ""))), (name, segment)
                    assert not set(segment.text) & {"\x1b", "\x07", "\x9b"}, (name, segment)
        assert isinstance(pilot.app, Review) and pilot.app.is_running

    drive(hostile, script, size)
    flat = {name: "".join(screen.split()) for name, screen in shown.items()}
    missing = [name for name, words in SHOWN.items() if "".join(words.split()) not in flat[name]]
    assert (missing, [shown[name] for name in missing]) == ([], [])
