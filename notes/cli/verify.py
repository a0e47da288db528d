"""voidbook verify: is everything still there and right?"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from notes import verify
from notes.cli import common, out
from notes.verifying.problem import Problem


@click.command("verify")
@click.option("--deep", is_flag=True, help="Read every original and every page of the book again.")
@click.option("--repair", is_flag=True, help="Mend what can be derived again, put suspect files aside, sweep litter.")
@common.as_json
@common.in_job
def command(deep: bool, repair: bool, as_json: bool, folder: Path | None) -> int:
    """Check the originals, the book, its indexes and transcripts, and name exactly what is wrong.

    Nothing that was said is ever removed: files that are not what they should be are moved into the folder aside/.
    """
    root, job = common.here(folder)
    tell = out.counter(live=sys.stderr.isatty() and not as_json)
    mended: list[Problem] = []
    if repair:
        mended, left = verify.repair(root, job, deep=deep, tell=tell)
    else:
        left = verify.check(root, job, deep=deep, tell=tell)
    if as_json:
        out.records([*(_json(p, mended=True) for p in mended), *(_json(p, mended=False) for p in left)])
    else:
        _show(mended, left, deep)
    return 5 if any(p.error for p in left) else 0


def _show(mended: list[Problem], left: list[Problem], deep: bool) -> None:
    for problem in mended:
        out.paragraph(f"mended: {problem.what}: {problem.about}", rest="    ")
    for problem in left:
        out.paragraph(
            f"{'' if problem.error else 'left over: '}{problem.about}: {problem.what}; {problem.todo}", rest="    "
        )
    if not left:
        how = "every original and page was read again" if deep else "read all again with --deep"
        out.line(f"All is there and agrees ({how}).")


def _json(problem: Problem, *, mended: bool) -> dict[str, object]:
    told = {"what": problem.what, "about": problem.about, "todo": problem.todo, "error": problem.error}
    return {**told, "mended": mended}
