"""voidbook watch: file what arrives in a folder."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

import click

from notes import watch
from notes.cli import common, out
from notes.cli.progress import Progress


@click.command("watch")
@click.argument("inbox", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option("--speaker", metavar="NAME", help="Who speaks in what arrives here.")
@click.option("--move", is_flag=True, help="Remove each original once its kept copy was read back and is the same.")
@click.option("--quiet", metavar="S", default=watch.QUIET, show_default=True, help="Seconds a file must stay the same.")
@click.option("--every", metavar="S", default=watch.EVERY, show_default=True, help="Seconds between two looks.")
@common.as_json
@common.in_job
def command(
    inbox: Path, speaker: str | None, move: bool, quiet: float, every: float, as_json: bool, folder: Path | None
) -> None:
    """File what arrives in FOLDER, the inbox that a phone copies into, as it arrives. End it with Ctrl-C.

    Files still being written are waited for. What fails is kept with its reason; see `voidbook problems`.
    """
    root, _job = common.here(folder)
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # end as Ctrl-C does, between two steps
    out.say(f"watching {inbox}; end it with Ctrl-C")
    talk = Progress(as_json=as_json, live=sys.stderr.isatty() and not as_json)
    watch.watch(root, inbox, talk, speaker=speaker, move=move, quiet=max(quiet, 0), every=max(every, 0.1), told=out.say)
