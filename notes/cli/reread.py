"""voidbook reread: read all memos again."""

from __future__ import annotations

from pathlib import Path

import click

from notes import derive, filing
from notes.book import opened, write
from notes.cli import common, out


@click.command("reread")
@common.in_job
def command(folder: Path | None) -> None:
    """Read all memos again, and check what follows, by the words of job.toml and the rules of today.

    What people decided stays decided.
    """
    root, job = common.here(folder)
    with opened(root) as db:
        count = db.execute("SELECT count(*) FROM memos").fetchone()[0]
        out.say(f"reading {count} memos again")
        changed = filing.read_again(db, job)
        with write(db):
            derive.refresh(db, job, None)  # the rules of follow-ups may have changed where no fact has
        lost = filing.lost(db)
    out.say(f"read again; the facts of {len(changed)} memos changed")
    for decision in lost:
        words = decision.about.get("quote", "")
        out.say(f"kept, but it finds no fact any more: {decision.who} {decision.kind} in {decision.memo}: {words}")
