"""voidbook close: close a follow-up."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("close")
@click.argument("id", metavar="ID", type=int)
@click.option("--why", metavar="WORDS", required=True, help="What settled it.")
@common.by_whom
@common.in_job
def command(id: int, why: str, who: str | None, folder: Path | None) -> None:
    """Close the follow-up with the number ID. Your reason is kept with it."""
    root, job = common.here(folder)
    with opened(root) as db:
        item = ruling.close(db, job, id, who or common.me(), why)
    out.say(f"closed {id}: {item.title} · {item.room or 'no room'}")
