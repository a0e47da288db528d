"""voidbook part: say that two runs are two pipes."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("part")
@click.argument("key", metavar="KEY")
@click.argument("other", metavar="OTHER")
@common.by_whom
@common.in_job
def command(key: str, other: str, who: str | None, folder: Path | None) -> None:
    """Say that the runs KEY and OTHER are not one pipe, whatever was said before.

    `voidbook runs --json` gives the keys.
    """
    root, job = common.here(folder)
    with opened(root) as db:
        ruling.part(db, job, who or common.me(), key, other)
    out.say(f"{key} and {other} are two pipes from now on")
