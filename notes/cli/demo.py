"""voidbook demo: a job made from the recordings that come along."""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from notes import answering, intake, search
from notes import job as jobs
from notes.book import opened
from notes.cli import followups, log, out, trace
from notes.cli.progress import Progress
from notes.errors import VoidbookError
from notes.model import Job, Run

_HERE = Path(__file__).resolve()
PLACES = (_HERE.parents[1] / "sample_media", _HERE.parents[2] / "sample_media")
"""Inside an installed package; beside it in the repository."""


@click.command("demo")
@click.option("--keep", "folder", metavar="DIR", type=click.Path(path_type=Path), help="Make the job here and keep it.")
def command(folder: Path | None) -> int:
    """Make a job from the spoken memos and photos that come along, and show its log, what is open and two pipe runs.

    All of it is invented: the voices are synthetic, the pictures rendered.
    """
    media = _media()
    with _place(folder) as root:
        job = jobs.from_json(media / "job.json")
        jobs.create(root, job)
        with opened(root) as db:
            wrong = _take(db, root, job, media)
            told = _tell(db, job)
    _next(folder, told)
    return wrong[0].exit_code if wrong else 0


def _media() -> Path:
    for place in PLACES:
        if (place / "job.json").is_file():
            return place
    raise VoidbookError("the sample recordings are not here", file=PLACES[0], todo="install voidbook again")


@contextmanager
def _place(folder: Path | None) -> Iterator[Path]:
    if folder:
        yield folder
    else:
        with tempfile.TemporaryDirectory(prefix="voidbook-") as room:
            yield Path(room) / "job"


def _take(db: sqlite3.Connection, root: Path, job: Job, media: Path) -> list[VoidbookError]:
    talk = Progress(as_json=False, live=sys.stderr.isatty())
    wrong = intake.take(db, root, job, [media], talk)
    talk.end()
    return wrong


def _tell(db: sqlite3.Connection, job: Job) -> list[Run]:
    log.show(job, search.said(db))
    out.line()
    followups.show(search.followups(db))
    told = _most_told(answering.runs(db, job))
    for run in told:
        question = f"where does the {run.subject} go in the {run.room}"
        out.line()
        out.line(f"> voidbook trace {question}")
        trace.show(answering.answers(db, job, question), most=1)
    return told


def _most_told(runs: tuple[Run, ...]) -> list[Run]:
    """The two runs that most was said of, of two rooms."""
    known = sorted((run for run in runs if run.room), key=lambda run: len(run.steps), reverse=True)
    others = [run for run in known[1:] if run.room != known[0].room]
    return [*known[:1], *others[:1]]


def _next(folder: Path | None, told: list[Run]) -> None:
    out.say("")
    if folder is None:
        out.say("That job is gone again. Keep one with: voidbook demo --keep DIR")
        out.say("Begin your own with:               voidbook new DIR")
        return
    out.say(f"The job is in {folder}. Go there and try:")
    rooms = [f'followups --room "{run.room}"' for run in told[:1]]
    for words in ("find lagged", *rooms, "memo m01", "rooms"):
        out.say(f"  voidbook {words}")
