"""voidbook forget: remove a memo for good."""

from __future__ import annotations

from pathlib import Path

import click

from notes import forget, search, wording
from notes.book import opened
from notes.cli import common, out
from notes.errors import UsageError


@click.command("forget")
@click.argument("memo", metavar="MEMO")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option("--by", "who", metavar="NAME", help="Who wants it forgotten; else who is logged in.")
@common.in_job
def command(memo: str, yes: bool, who: str | None, folder: Path | None) -> None:
    """Remove MEMO for good: recording, transcript, words, facts, decisions on them, and their traces on the disk.

    A note of the gap stays: who had it forgotten, when, and when it was said. This can't be undone. Your own copies,
    and backups until they are brought up to date, are not touched.
    """
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = search.memo(db, memo)
    told = f"{found.id}, said {wording.moment(found.at)}" + (f" by {found.speaker}" if found.speaker else "")
    if not yes and not click.confirm(out.clean(f"Forget {told}, for good?"), err=True):
        raise UsageError("nothing was forgotten")
    with opened(root) as db:
        forget.forget(db, root, job, found.id, who or common.me())
    out.say(f"forgotten: {told}")
    out.say("backups hold it until they are made again: voidbook backup DEST")
