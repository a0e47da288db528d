"""voidbook undo: take a decision back."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("undo")
@click.argument("id", metavar="[ID]", type=int, required=False)
@common.by_whom
@common.in_job
def command(id: int | None, who: str | None, folder: Path | None) -> None:
    """Take back the last decision that stands, or the one with the number ID. See them with: voidbook decisions"""
    root, job = common.here(folder)
    with opened(root) as db:
        back = ruling.undo(db, job, who or common.me(), id)
    out.say(f"taken back: {back.id} {back.kind.value} by {back.who}")
