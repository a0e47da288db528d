"""voidbook merge: say that two runs are one pipe."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out, which_runs
from notes.cli.decisions import run_named


@click.command("merge")
@click.argument("words", metavar="WORDS...", nargs=-1, required=True)
@common.by_whom
@common.in_job
def command(words: tuple[str, ...], who: str | None, folder: Path | None) -> None:
    """Say that two runs are one pipe.

    Ask for them as `trace` does, as in: voidbook merge scullery hot. Where more than two answer, it asks which. Or name
    them by their keys, which `voidbook runs --json` gives.

    What is open is worked out again: one test may then close both.
    """
    root, job = common.here(folder)
    with opened(root) as db:
        one, other = which_runs.to_merge(db, job, words)
        ruling.merge(db, job, who or common.me(), one, other)
        told = " and ".join(run_named(db, key) for key in (one, other))
    out.say(f"{told} are one pipe from now on; if not: voidbook undo")
