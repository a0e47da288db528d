"""voidbook take: file recordings, photos and notes."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from notes import intake, problems
from notes.book import opened
from notes.cli import common, out
from notes.cli.progress import Progress
from notes.clustering.address import Address, settled
from notes.errors import UsageError
from notes.model import Job


@contextmanager
def _elsewhere(at: Address | None, job: Job) -> Iterator[dict[str, Any]]:
    """Who hears and reads, where it is not this process."""
    if at is None:
        yield {}
        return
    from notes.cluster import met

    with met(at, job) as workers:
        yield {"ears": workers.ears, "reader": workers.read}


@click.command("take")
@click.argument("paths", metavar="PATH...", nargs=-1, type=click.Path(path_type=Path))
@click.option("--again", is_flag=True, help="Try the files again that could not be filed.")
@click.option("--move", is_flag=True, help="Remove each original once its kept copy was read back and is the same.")
@click.option("--speaker", metavar="NAME", help="Who speaks in these recordings and notes.")
@click.option("--cluster", "where", metavar="ADDRESS", help="Have recordings heard and read by the workers there.")
@common.certificates
@common.as_json
@common.in_job
def command(
    paths: tuple[Path, ...], again: bool, move: bool, speaker: str | None, where: str | None, tls_ca: Path | None,
    tls_cert: Path | None, tls_key: Path | None, as_json: bool, folder: Path | None,
) -> int:  # fmt: skip
    """File recordings, photos, .txt notes, .jsonl text memos, or folders of them.

    The originals are copied and never changed, nor removed without --move. A file that was filed before is left alone.
    One that can't be filed is named, the others are filed all the same; see them with `voidbook problems`, and try
    again with --again.

    With --cluster this machine only keeps and files: see `voidbook cluster` and `voidbook worker`.
    """
    at = settled(where, tls_ca, tls_cert, tls_key) if where else None
    root, job = common.here(folder)
    with opened(root) as db, _elsewhere(at, job) as elsewhere:
        wanted = [*paths, *(problems.failed(db) if again else [])]
        if not wanted:
            if again:
                out.say("there is nothing to try again")
                return 0
            raise UsageError("name a recording, photo, note or folder", todo="see: voidbook take --help")
        talk = Progress(as_json=as_json, live=sys.stderr.isatty() and not as_json)
        wrong = intake.take(db, root, job, wanted, talk, speaker=speaker, move=move, **elsewhere)
    talk.end()
    return wrong[0].exit_code if wrong else 0
