"""voidbook photo: move a photo to the room that it shows."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("photo")
@click.argument("what", metavar="move", type=click.Choice(["move"]))
@click.argument("id", metavar="ID")
@click.argument("room", metavar="ROOM")
@common.by_whom
@common.in_job
def command(what: str, id: str, room: str, who: str | None, folder: Path | None) -> None:
    """Move the photo ID to ROOM. The picture itself is never changed, and later memos do not move it again."""
    root, job = common.here(folder)
    name = common.room_named(room, job) or room
    with opened(root) as db:
        photo = ruling.place_photo(db, job, id, name, who or common.me())
    out.say(f"{photo.id} now belongs to {photo.room}")
