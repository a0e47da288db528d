"""voidbook export: the whole job as plain files."""

from __future__ import annotations

from pathlib import Path

import click

from notes.cli import common, out


@click.command("export")
@click.argument("target", metavar="DIR", type=click.Path(path_type=Path))
@common.in_job
def command(target: Path, folder: Path | None) -> None:
    """Write the whole job into the new folder DIR: its words, facts and decisions as JSON Lines, its recordings and
    photos as they are, and a list of all with their hashes. `voidbook import` reads it back without loss.
    """
    from notes import export

    root, _job = common.here(folder)
    count = export.write(root, target)
    out.say(f"{count} files written to {target}")
