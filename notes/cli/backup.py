"""voidbook backup: a copy of the job that can be used as it is."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from notes import backup
from notes.cli import common, out


@click.command("backup")
@click.argument("dest", metavar="DEST", type=click.Path(path_type=Path))
@common.in_job
def command(dest: Path, folder: Path | None) -> int:
    """Copy the job into the folder DEST: its book, job.toml and what originals DEST has not yet, each checked.

    The job may be in use meanwhile. Bring it back with `voidbook restore`. What was forgotten goes from DEST too.
    """
    root, _job = common.here(folder)
    kept = backup.backup(root, dest, out.counter(live=sys.stderr.isatty()))
    return out.kept(f"backed up into {dest}", kept.memos, kept.copied, kept.wrong)
