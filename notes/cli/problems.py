"""voidbook problems: the files that could not be filed."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import click

from notes import problems, search
from notes.book import opened
from notes.cli import common, out


@click.command("problems")
@click.option("--forget", metavar="FILE", type=click.Path(path_type=Path), help="Strike this file off the list.")
@common.as_json
@common.in_job
def command(forget: Path | None, as_json: bool, folder: Path | None) -> None:
    """List the files that could not be filed, each with its reason. Try them again with: voidbook take --again"""
    root, _job = common.here(folder)
    if forget is not None:
        with opened(root) as db:
            problems.remember(db, forget, ())
    with search.opened(root) as db:
        found = search.problems(db)
    if as_json:
        out.records({"file": _name(p), "line": p["line"] or None, "reason": p["reason"], "at": p["at"]} for p in found)
        return
    if not found:
        out.line("Every file that was taken is filed.")
    for problem in found:
        line = f":{problem['line']}" if problem["line"] else ""
        out.paragraph(f"{_name(problem)}{line}: {problem['reason']}", first="  ", rest="      ")


def _name(problem: sqlite3.Row) -> str:
    return os.fsdecode(problem["path"])
