"""voidbook record: the record to hand over."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from notes import clock, files, search
from notes.cli import common, out
from notes.errors import UsageError
from notes.model import Job

if TYPE_CHECKING:
    from notes.record.gather import Matter
    from notes.record.page import Document

FORMATS = (".html", ".pdf", ".md", ".csv", ".json")


@click.command("record")
@click.option("--day", metavar="DAY", help="A day sheet: who said what, done, left, to order.")
@click.option("--room", metavar="ROOM", help="The record of this room.")
@click.option("--whole", is_flag=True, help="The record of the whole job, with its schematic.")
@click.option(
    "--out", "target", metavar="FILE", type=click.Path(path_type=Path), help=f"Write it here: {', '.join(FORMATS)}."
)
@click.option("--places", is_flag=True, help="Tell where on earth photos were taken; else that never leaves.")
@common.in_job
def command(
    day: str | None, room: str | None, whole: bool, target: Path | None, places: bool, folder: Path | None
) -> None:
    """Write what was said, photographed and decided as one record to hand over.

    Every statement carries the memo and time it rests on. It is a memory of what was said, no certificate. Without
    --out it is printed as Markdown.
    """
    if sum(map(bool, (day, room, whole))) != 1:
        raise UsageError("say which record", todo="one of --day DAY, --room ROOM, --whole")
    ending = target.suffix.lower() if target else ".md"
    if ending not in FORMATS:
        raise UsageError(
            f"no record is written as {ending or 'a file without an ending'!r}",
            todo=f"end the name in {', '.join(FORMATS)}",
        )
    root, job = common.here(folder)
    document = _sheet(root, job, common.day_named(day), common.room_named(room, job), places)
    data = _write(root, document, ending)
    if target is None:
        click.echo(data.decode(), nl=False)
        return
    files.write(target, data)
    out.say(f"written: {target}")


def _sheet(root: Path, job: Job, day: str | None, room: str | None, places: bool) -> Document:
    from notes.record import sheets
    from notes.record.gather import gather

    with search.opened(root) as db:
        matter: Matter = gather(db, job, datetime.now(UTC), clock.zone_of(job.zone))
    if places:
        from notes.record.places import with_places

        matter = with_places(matter, root)
    if day:
        return sheets.day(matter, day)
    return sheets.room(matter, room) if room else sheets.whole(matter)


def _write(root: Path, document: Document, ending: str) -> bytes:
    from notes.record import html, pdf, plain_text
    from notes.thumbs import Thumbs

    picture = Thumbs(root).jpeg
    writers: dict[str, Callable[[], str | bytes]] = {
        ".html": lambda: html.html(document, picture),
        ".pdf": lambda: pdf.pdf(document, picture),
        ".md": lambda: plain_text.markdown(document),
        ".csv": lambda: plain_text.table_csv(document),
        ".json": lambda: plain_text.as_json(document),
    }
    data = writers[ending]()
    return data.encode("utf-8", "replace") if isinstance(data, str) else data
