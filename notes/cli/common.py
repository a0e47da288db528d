"""What verbs share: the options every one of them takes, and finding the job, a room, a day."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any, TypeVar

import click

from notes import job as jobs
from notes.errors import UsageError
from notes.lexicon import Lexicon
from notes.model import Job

F = TypeVar("F", bound=Callable[..., Any])

in_job: Callable[[F], F] = click.option(
    "--job", "folder", metavar="DIR", type=click.Path(path_type=Path), help="The job's folder; else the one you are in."
)
as_json: Callable[[F], F] = click.option(
    "--json", "as_json", is_flag=True, help="One JSON object a line, for programs."
)
by_whom: Callable[[F], F] = click.option("--by", "who", metavar="NAME", help="Who says so; else who is logged in.")
in_room: Callable[[F], F] = click.option("--room", metavar="ROOM", help="Only this room, by name or nickname.")

_CERTIFICATES = (
    ("--tls-ca", "VOIDBOOK_TLS_CA", "Certificate of the authority that signed those of all machines."),
    ("--tls-cert", "VOIDBOOK_TLS_CERT", "This machine's certificate."),
    ("--tls-key", "VOIDBOOK_TLS_KEY", "The key of that certificate."),
)


def certificates(verb: F) -> F:
    """The options that let a machine into a cluster; each may stand in a variable of the environment instead."""
    for name, variable, line in reversed(_CERTIFICATES):
        verb = click.option(
            name, metavar="FILE", envvar=variable, show_envvar=True, type=click.Path(path_type=Path), help=line
        )(verb)
    return verb


def here(folder: Path | None) -> tuple[Path, Job]:
    """The job in `folder`, or the one that the working directory is in."""
    root = jobs.find(folder or Path.cwd())
    return root, jobs.load(root)


def room_named(name: str | None, job: Job) -> str | None:
    """The room's own name. Raises UsageError with the nearest one."""
    if name is None:
        return None
    if room := Lexicon((), job.rooms).room(name):
        return room.name
    known = {alias: room.name for room in job.rooms for alias in (room.name, *room.aliases)}
    close = jobs.near(name, known)
    todo = f"did you mean {known[close]!r}?" if close else "see them with: voidbook rooms"
    raise UsageError(f"no room is called {name!r}", todo=todo)


_WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def day_named(words: str | None, *, coming: bool = False, today: date | None = None) -> str | None:
    """The date that `words` mean, as YYYY-MM-DD: a date, today, yesterday, tomorrow, or a day of the week.

    A day of the week is the last one of that name, or the next where it is `coming`.
    """
    if words is None:
        return None
    now, plain = today or date.today(), words.strip().lower()
    if plain in _NEAR:
        return (now + timedelta(days=_NEAR[plain])).isoformat()
    named = [n for n, day in enumerate(_WEEK) if len(plain) >= 3 and day.startswith(plain)]
    if named:
        ahead, back = (named[0] - now.weekday() - 1) % 7 + 1, (now.weekday() - named[0]) % 7
        return (now + timedelta(days=ahead if coming else -back)).isoformat()
    try:
        return date.fromisoformat(plain).isoformat()
    except ValueError:
        raise UsageError(f"{words!r} is no day", todo="write 2026-03-02, today or monday") from None


_NEAR = {"yesterday": -1, "today": 0, "tomorrow": 1}


def me() -> str:
    """Who is logged in on this machine."""
    from getpass import getuser

    try:
        return getuser()
    except (KeyError, OSError, ImportError):  # a container may run as a number without a name
        return "somebody"
