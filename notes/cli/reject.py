"""voidbook reject: say that a fact was not said."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("reject")
@click.argument("id", metavar="ID", type=int)
@common.by_whom
@common.in_job
def command(id: int, who: str | None, folder: Path | None) -> None:
    """Say that the fact with the number ID was not said. It is taken out of the log; the memo stays.

    `voidbook facts` and `voidbook memo` give the numbers.
    """
    root, job = common.here(folder)
    with opened(root) as db:
        ruling.reject(db, job, id, who or common.me())
    out.say(f"{id} is taken out; take that back with: voidbook undo")
