"""voidbook accept: say that a fact is right."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("accept")
@click.argument("id", metavar="ID", type=int)
@common.by_whom
@common.in_job
def command(id: int, who: str | None, folder: Path | None) -> None:
    """Say that the fact with the number ID is right as it stands, whatever was heard badly.

    `voidbook facts` and `voidbook memo` give the numbers.
    """
    root, job = common.here(folder)
    with opened(root) as db:
        ruling.accept(db, job, id, who or common.me())
    out.say(f"{id} is kept as right")
