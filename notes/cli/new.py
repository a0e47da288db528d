"""voidbook new: make a job."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import click

from notes import job as jobs
from notes import wording
from notes.book import opened
from notes.cli import out
from notes.model import Job, Room


@click.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--from", "source", metavar="JSON", type=click.Path(path_type=Path), help="Take name and rooms from here."
)
@click.option("--name", metavar="NAME", help="What the job is called; else as its folder.")
@click.option("--zone", metavar="ZONE", help="Its time zone, as in Europe/London; else this machine's.")
def command(folder: Path, source: Path | None, name: str | None, zone: str | None) -> None:
    """Make a job in the folder DIR: job.toml with its rooms, an empty book.

    Without --from it asks for the rooms, when a person is there to answer. Rooms can be added in job.toml at any time.
    """
    job = jobs.from_json(source) if source else Job(folder.resolve().name or "Job")
    job = replace(job, name=name or job.name, zone=zone or (jobs.machine_zone() if job.zone == "UTC" else job.zone))
    if not source and sys.stdin.isatty():
        job = replace(job, rooms=_ask_rooms())
    jobs.create(folder, job)
    with opened(folder):
        out.say(f"made {folder / jobs.NAME} with {wording.count(len(job.rooms), 'room')}")
        out.say(f"next: voidbook take RECORDING --job {folder}")


def _ask_rooms() -> tuple[Room, ...]:
    out.say("Name the rooms, one a line, as in: Bathroom, First, main bathroom, family bathroom")
    out.say("(room, its floor, then nicknames; an empty line ends)")
    rooms: list[Room] = []
    while entry := click.prompt("room", default="", show_default=False, err=True).strip():
        room, floor, *nicknames = [part.strip() for part in f"{entry},".split(",")]
        rooms.append(Room(room, floor, tuple(n for n in nicknames if n)))
    return tuple(rooms)
