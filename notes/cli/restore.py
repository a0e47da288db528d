"""voidbook restore: a job out of a backup."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from notes import backup
from notes.cli import out


@click.command("restore")
@click.argument("source", metavar="BACKUP", type=click.Path(path_type=Path))
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def command(source: Path, folder: Path) -> int:
    """Make a job in the new folder DIR out of the BACKUP, each original checked. The backup stays as it is."""
    kept = backup.restore(source, folder, out.counter(live=sys.stderr.isatty()))
    return out.kept(f"restored into {folder}", kept.memos, kept.copied, kept.wrong)
