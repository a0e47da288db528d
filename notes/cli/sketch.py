"""voidbook sketch: a schematic of the pipe runs."""

from __future__ import annotations

from pathlib import Path

import click

from notes import answering, files, search
from notes.cli import common, out
from notes.errors import UsageError, VoidbookError
from notes.model import PIPES


@click.command("sketch")
@click.option("--service", type=click.Choice(PIPES), metavar="SERVICE", help="Only this service, as in: hot return.")
@click.option("--out", "target", metavar="FILE.svg", type=click.Path(path_type=Path), help="Write it here.")
@common.in_job
def command(service: str | None, target: Path | None, folder: Path | None) -> None:
    """Draw the pipe runs by floor and room, as SVG: each service by its letters, line style and colour.

    It is drawn from what was said and is not to scale.
    """
    if target and target.suffix.lower() != ".svg":
        raise UsageError(f"{target.name!r} is no name for a drawing", todo="end it in .svg")
    from notes.sketch import draw
    from notes.sketching.svg import svg

    root, job = common.here(folder)
    with search.opened(root) as db:
        runs = answering.runs(db, job, (), [service] if service else ())
    if not runs:
        raise VoidbookError("no pipe run on record is like that", todo="see them with: voidbook runs")
    text = svg(draw(runs, job, " · ".join(w for w in (job.name, "schematic", service or "") if w)))
    if target is None:
        click.echo(text, nl=False)
        return
    files.write(target, text.encode())
    out.say(f"drawn: {target}")
