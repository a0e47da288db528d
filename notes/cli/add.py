"""voidbook add: add a fact by hand."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling, search
from notes.book import opened
from notes.cli import common, out
from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES, Fact, Status


@click.command("add")
@click.argument("memo", metavar="MEMO")
@click.argument("subject", metavar="WHAT", type=click.Choice((*PIPES, *ITEMS)))
@click.argument("action", metavar="ACTION", type=click.Choice(ACTIONS))
@click.option(
    "--status", type=click.Choice([s.value for s in Status]), default="done", show_default=True, help="State."
)
@common.in_room
@click.option("--size", metavar="MM", type=float, help="Size in millimetres.")
@click.option("--material", type=click.Choice(MATERIALS), metavar="MATERIAL", help="What it is made of.")
@click.option("--place", metavar="WORDS", help="Where, as in: behind the basin.")
@click.option("--words", "quote", metavar="WORDS", default="", help="The words of the memo that say it.")
@common.by_whom
@common.in_job
def command(
    memo: str, subject: str, action: str, status: str, room: str | None, size: float | None, material: str | None,
    place: str | None, quote: str, who: str | None, folder: Path | None,
) -> None:  # fmt: skip
    """Add by hand what MEMO says and was not read from it, as in: voidbook add m01 "hot return" cap --room bathroom"""
    root, job = common.here(folder)
    with opened(root) as db:
        text = search.memo(db, memo).text
        start = max(text.find(quote), 0)
        fact = Fact(memo, 0, common.room_named(room, job), subject, action, Status(status), quote, start,
                    start + len(quote), size_mm=size, material=material, place=place)  # fmt: skip
        ruling.add(db, job, who or common.me(), fact)
    out.say(f"added to {memo}: {subject}, {action}, {status}")
