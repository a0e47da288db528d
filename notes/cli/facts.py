"""voidbook facts: every fact."""

from __future__ import annotations

from pathlib import Path

import click

from notes import rows, search, wording
from notes.cli import common, out


@click.command("facts")
@common.in_room
@common.as_json
@common.in_job
def command(room: str | None, as_json: bool, folder: Path | None) -> None:
    """List every fact in the order they were said, each with its room and memo.

    The number before each is what `accept`, `correct` and `reject` take.
    """
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = search.said(db, room=common.room_named(room, job))
        if as_json:
            out.records(rows.fact_json(said.fact) for said in found)
            return
        for said in found:
            _show(said)


def _show(said: search.Said) -> None:
    fact = said.fact
    where = f"{fact.room or 'no room'} · {wording.source(fact.memo, fact.second)}"
    out.paragraph(f"{wording.told([fact])} ({where})", first=f"{fact.id or '':>5} {wording.sign(fact)} ", rest=" " * 10)
