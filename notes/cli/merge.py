"""voidbook merge: say that two runs are one pipe."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("merge")
@click.argument("key", metavar="KEY")
@click.argument("other", metavar="OTHER")
@common.by_whom
@common.in_job
def command(key: str, other: str, who: str | None, folder: Path | None) -> None:
    """Say that the runs KEY and OTHER are one pipe.

    `voidbook runs --json` gives the keys. What is open is worked out again: one test may then close both.
    """
    root, job = common.here(folder)
    with opened(root) as db:
        ruling.merge(db, job, who or common.me(), key, other)
    out.say(f"{key} and {other} are one pipe from now on")
