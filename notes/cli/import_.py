"""voidbook import: a job out of an export, or another person's book merged into this one."""

from __future__ import annotations

from pathlib import Path

import click

from notes import job as jobs
from notes.book import opened
from notes.cli import common, out


@click.command("import")
@click.argument("source", metavar="DIR", type=click.Path(path_type=Path))
@common.in_job
def command(source: Path, folder: Path | None) -> None:
    """Bring in the export in DIR. With --job and the name of a new folder it becomes a job there; else it is merged
    into the job you are in: the same memos and photos once, all decisions kept, and what differs is listed.
    """
    from notes import bringing, export

    found = export.read(source)
    if folder and not (folder / jobs.NAME).exists():
        outcome = bringing.restore(folder, found)
    else:
        root, job = common.here(folder)
        with opened(root) as db:
            outcome = bringing.merge(db, root, job, found)
    out.say(f"brought in: {outcome.memos} memos, {outcome.photos} photos, {outcome.decisions} decisions")
    for conflict in outcome.conflicts:
        out.paragraph(conflict, first="! ", rest="    ")
