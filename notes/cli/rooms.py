"""voidbook rooms: the rooms and what is filed of each."""

from __future__ import annotations

from pathlib import Path

import click

from notes import search, wording
from notes.cli import common, out


@click.command("rooms")
@common.as_json
@common.in_job
def command(as_json: bool, folder: Path | None) -> None:
    """List the rooms of the job with how many facts, open follow-ups (High: the gravest) and photos each has."""
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = search.tallies(db, job)
    if as_json:
        out.records(map(_json, found))
        return
    room_width = max([len(tally.room.name) for tally in found] + [4])
    out.line(f"{'Room':{room_width}}  {'Floor':10}  Facts   Open  High  Photos  Last", bold=True)
    for tally in found:
        counts = f"{tally.facts:5}  {tally.open:5}  {tally.high:4}  {tally.photos:6}"
        last = wording.moment(tally.last) if tally.last else ""
        out.line(f"{tally.room.name:{room_width}}  {tally.room.floor:10}  {counts}  {last}".rstrip())


def _json(tally: search.Tally) -> dict[str, object]:
    counts = {"facts": tally.facts, "open": tally.open, "high": tally.high, "photos": tally.photos}
    named = {"room": tally.room.name, "floor": tally.room.floor, "nicknames": tally.room.aliases}
    return {**named, **counts, "last": tally.last.isoformat() if tally.last else None}
