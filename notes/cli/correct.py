"""voidbook correct: put one field of a fact right."""

from __future__ import annotations

from pathlib import Path

import click

from notes import ruling
from notes.book import opened
from notes.cli import common, out
from notes.editable import FIELDS
from notes.model import Job


@click.command("correct")
@click.argument("id", metavar="ID", type=int)
@click.argument("field", metavar="FIELD")
@click.argument("value", metavar="VALUE")
@common.by_whom
@common.in_job
def command(id: int, field: str, value: str, who: str | None, folder: Path | None) -> None:
    """Put one FIELD of the fact with the number ID right, as in: voidbook correct 12 size 22

    `voidbook facts` and `voidbook memo` give the numbers. Fields are room, subject, action, status, size, material,
    place, from, to, count, length, pressure ... A VALUE of none empties it; failed and temporary are yes or no.
    """
    root, job = common.here(folder)
    name = _named(field)
    with opened(root) as db:
        ruling.correct(db, job, id, who or common.me(), name, _value(name, value, job))
    out.say(f"{id}: {field} is {value}")


def _named(field: str) -> str:
    """The field meant by `size`, `from` or `length`."""
    plain = field.lower().replace(" ", "_")
    endings = ("", "_", "_mm", "_m", "_bar", "_min")
    return next((plain + ending for ending in endings if plain + ending in FIELDS), plain)


def _value(name: str, value: str, job: Job) -> object:
    if name in ("failed", "temporary"):
        return {"yes": True, "no": False}.get(value.lower(), value)
    if value.lower() == "none":
        return None
    return common.room_named(value, job) if name == "room" else value
