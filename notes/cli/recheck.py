"""voidbook recheck: work out all follow-ups again."""

from __future__ import annotations

from pathlib import Path

import click

from notes import derive, search
from notes.book import opened, write
from notes.cli import common, out


@click.command("recheck")
@common.in_job
def command(folder: Path | None) -> None:
    """Work out all follow-ups again from the facts on record, by the rules of today."""
    root, job = common.here(folder)
    with opened(root) as db:
        with write(db):
            derive.refresh(db, job, None)
        out.say(f"checked again; {len(search.followups(db))} follow-ups are open")
