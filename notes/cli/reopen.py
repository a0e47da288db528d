"""voidbook reopen: open a follow-up again."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("reopen")
@click.argument("id", metavar="ID", type=int)
@common.by_whom
@common.in_job
def command(id: int, who: str | None, folder: Path | None) -> None:
    """Open the follow-up with the number ID again, whoever or whatever closed it."""
    root, job = common.here(folder)
    with opened(root) as db:
        item = ruling.reopen(db, job, id, who or common.me())
    out.say(f"open again {id}: {item.title} · {item.room or 'no room'}")
