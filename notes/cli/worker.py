"""voidbook worker: lend this machine to a cluster."""

from __future__ import annotations

import os
from pathlib import Path

import click

from notes.cli import common, out
from notes.clustering.address import settled


@click.command("worker")
@click.argument("address", metavar="ADDRESS")
@click.option("--cores", metavar="N", type=click.IntRange(1), default=1, show_default=True, help="Cores it may use.")
@common.certificates
def command(address: str, cores: int, tls_ca: Path | None, tls_cert: Path | None, tls_key: Path | None) -> None:
    """Hear recordings and read memos for whoever takes them with `voidbook take --cluster ADDRESS`.

    Start one for each core that this machine can spare. It needs the same voidbook and the same speech model as they
    have, and keeps nothing. End it with Ctrl-C: what it was at is done by another one.
    """
    at = settled(address, tls_ca, tls_cert, tls_key)

    os.environ["OMP_NUM_THREADS"] = str(cores)  # read when the model is loaded
    from notes.clustering import engine

    engine.join(at, lambda where: out.say(f"working for {at} at {where}; end it with Ctrl-C"))
