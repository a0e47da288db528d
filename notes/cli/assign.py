"""voidbook assign: give a follow-up to somebody."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out


@click.command("assign")
@click.argument("id", metavar="ID", type=int)
@click.argument("to", metavar="WHO")
@click.option("--due", metavar="DAY", help="By when: 2026-03-02, today, friday.")
@click.option("--by", "who", metavar="NAME", help="Who gives it; else who is logged in.")
@common.in_job
def command(id: int, to: str, due: str | None, who: str | None, folder: Path | None) -> None:
    """Give the follow-up with the number ID to WHO."""
    root, job = common.here(folder)
    day = common.day_named(due, coming=True)
    with opened(root) as db:
        item = ruling.assign(db, job, id, who or common.me(), to, day)
    out.say(f"{id} is now for {to}{f', due {day}' if day else ''}: {item.title} · {item.room or 'no room'}")
