"""voidbook sign: sign off a day or a room."""

from __future__ import annotations

from pathlib import Path

import click

from notes import signing
from notes.book import opened
from notes.cli import common, out
from notes.paging import Where


@click.command("sign")
@common.in_room
@click.option("--day", metavar="DAY", help="Only this day: 2026-03-02, today, yesterday, monday.")
@common.by_whom
@common.in_job
def command(room: str | None, day: str | None, who: str | None, folder: Path | None) -> None:
    """Sign off a day, a room, or a room's day. What is open stays open and is kept with the signature; an entry that
    says something else later is marked."""
    root, job = common.here(folder)
    name, on = common.room_named(room, job), common.day_named(day)
    with opened(root) as db:
        still_open = signing.sign(db, who or common.me(), Where(name, on, anywhere=name is None))
    out.say(f"signed off: {name or 'all rooms'}, {on or 'all days'}; {still_open} follow-ups were open")
