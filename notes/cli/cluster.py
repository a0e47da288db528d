"""voidbook cluster: where the machines of a firm meet."""

from __future__ import annotations

from pathlib import Path

import click

from notes.cli import common, out
from notes.clustering.address import settled


@click.command("cluster")
@click.argument("address", metavar="ADDRESS")
@common.certificates
def command(address: str, tls_ca: Path | None, tls_cert: Path | None, tls_key: Path | None) -> None:
    """Be the place at ADDRESS where workers and whoever takes recordings meet. End it with Ctrl-C.

    tcp://127.0.0.1:8786 is for this machine alone; tls://0.0.0.0:8786 and the like need certificates. Whoever gets in
    can run programs on every machine of the cluster: sign certificates only for machines and people you trust.
    """
    from notes.clustering import engine

    engine.meet(
        settled(address, tls_ca, tls_cert, tls_key), lambda where: out.say(f"meeting at {where}; end it with Ctrl-C")
    )
