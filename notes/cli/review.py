"""voidbook review: go through the day on the screen."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from notes import job as jobs
from notes.book import opened
from notes.cli import common
from notes.errors import UsageError


@click.command("review")
@common.in_job
def command(folder: Path | None) -> None:
    """Go through the rooms and days on the screen: read, listen, look, put right, close what is open, sign off.

    Press ? on any screen for what can be done there, with the command that does the same. Each screen in plain text,
    for a screen reader or a pipe:

    \b
      the house      voidbook rooms
      a room's log   voidbook log --room ROOM; its memos: voidbook memo ID
      still open     voidbook followups
      ask            voidbook find WORDS, voidbook trace WORDS
      pipe runs      voidbook runs --room ROOM
      photos, and what they show before the boards go up   voidbook photos
      dictate        voidbook dictate
      take           voidbook take PATH, voidbook problems
      decided        voidbook decisions
    """
    root = jobs.find(folder or Path.cwd())
    if not all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr)):  # it is drawn on the last
        raise UsageError("review needs a terminal", todo="in plain text: voidbook log, followups, rooms, memo ID")
    opened(root).__enter__().close()
    from tui.terminal import run

    run(root)
