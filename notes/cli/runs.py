"""voidbook runs: the pipe runs and what state each is in."""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from notes import answering, search, wording
from notes.ask import as_json as run_json
from notes.cli import common, out
from notes.errors import UsageError
from notes.model import PIPES, STATES, Run

_SAME = {"untested": "not tested", "uninsulated": "not insulated", "unlagged": "not insulated", "lagged": "insulated"}


def _states(context: click.Context, option: click.Parameter, words: str | None) -> frozenset[str]:
    """The states named with commas between."""
    asked = [word.strip().lower() for word in (words or "").split(",") if word.strip()]
    states = frozenset(_SAME.get(word, word) for word in asked)
    if unknown := sorted(states - set(STATES)):
        raise UsageError(f"no state is called {unknown[0]!r}", todo=f"name some of: {', '.join(STATES)}")
    return states


@click.command("runs")
@common.in_room
@click.option("--service", type=click.Choice(PIPES), metavar="SERVICE", help="Only this service, as in: hot return.")
@click.option("--state", callback=_states, metavar="STATES", help="Only runs in all of these: capped,untested.")
@common.as_json
@common.in_job
def command(room: str | None, service: str | None, state: frozenset[str], as_json: bool, folder: Path | None) -> None:
    """List the pipe runs by room: what each is, where it goes, what state it is in now."""
    root, job = common.here(folder)
    name = common.room_named(room, job)
    with search.opened(root) as db:
        found = answering.runs(db, job, [name] if name else [], [service] if service else [])
    wanted = [run for run in found if (not name or run.room == name) and state <= set(run.state)]
    if as_json:
        out.records({"key": run.key, **run_json(run)} for run in wanted)
        return
    if not wanted:
        out.line("No pipe run on record is like that.")
    by_key = {run.key: run for run in wanted}
    for room_name in dict.fromkeys(run.room for run in wanted):
        out.line()
        out.line(room_name or "No room named", bold=True)
        for run in wanted:
            if run.room == room_name:
                _show(run)
                _show_alike(run, by_key)


def _show(run: Run) -> None:
    out.paragraph(wording.run(run), first="  ", rest="      ")


def _show_alike(run: Run, by_key: dict[str, Run]) -> None:
    """The runs before this one that it may be one pipe with, and how to say so."""
    keys = list(by_key)
    for other in (by_key[key] for key in run.maybe_same if key in by_key and keys.index(key) < keys.index(run.key)):
        verbs = f"voidbook merge {shlex.quote(other.key)} {shlex.quote(run.key)}, if not: voidbook part"
        text = f"may be one pipe with the {wording.other_than(other)}; if so: {verbs} with the same keys"
        out.paragraph(text, first="    ? ", rest="      ")
