"""voidbook word: put a word right that was misheard."""

from __future__ import annotations

from pathlib import Path

import click

from notes import job as jobs
from notes import ruling, search
from notes.book import opened
from notes.cli import common, out
from notes.errors import UsageError


@click.command("word")
@click.argument("memo", metavar="MEMO")
@click.argument("heard", metavar="HEARD")
@click.argument("meant", metavar="MEANT")
@click.option("--always", is_flag=True, help="Always in this job: add it to the job's own words.")
@common.by_whom
@common.in_job
def command(memo: str, heard: str, meant: str, always: bool, who: str | None, folder: Path | None) -> None:
    """Put right what was HEARD in a memo and MEANT otherwise, and read the memo again. What was heard is kept."""
    root, job = common.here(folder)
    with opened(root) as db:
        start = search.memo(db, memo).text.find(heard)
        if start < 0:
            raise UsageError(f"memo {memo} does not say {heard!r}", todo=f"see: voidbook memo {memo}")
        if always:
            jobs.add_word(root, heard, meant)
            job = jobs.load(root)
        ruling.put_word_right(db, job, memo, who or common.me(), start, heard, meant)
    out.say(f"{heard} is {meant}{', from now on' if always else ''}")
