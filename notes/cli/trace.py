"""voidbook trace: where a pipe goes and ends."""

from __future__ import annotations

from pathlib import Path

import click

from notes import answering, search, wording
from notes.ask import as_json as run_json
from notes.cli import common, out
from notes.errors import UsageError
from notes.model import Run


@click.command("trace")
@click.argument("words", metavar="WORDS...", nargs=-1, required=True)
@click.option("--most", metavar="N", default=3, show_default=True, help="At most so many answers.")
@common.as_json
@common.in_job
def command(words: tuple[str, ...], most: int, as_json: bool, folder: Path | None) -> None:
    """Tell where a pipe comes from, goes to and ends, what it is and what state it is in.

    Ask as you would ask a mate: voidbook trace where does the hot return finish in the main bathroom;
    or of a thing itself: voidbook trace is the shower still going in
    """
    question = " ".join(words)
    if not question.strip():
        raise UsageError("ask for a pipe", todo="as in: voidbook trace hot return main bathroom")
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = answering.answers(db, job, question)
        elsewhere = [] if found or as_json else answering.elsewhere(db, job, question)
        nothing = answering.nothing_so(job, question, found)
    if as_json:
        out.records(map(run_json, found))
    elif found:
        if nothing:
            out.paragraph(nothing)
        show(found, most)
    else:
        for words_ in ("No pipe on record answers that. Try `voidbook find` with other words.", *elsewhere):
            out.paragraph(words_)


def show(found: list[Run], most: int) -> None:
    """Runs for a person."""
    for run in found[:most]:
        show_run(run)
    if len(found) > most:
        out.line()
        out.line(f"{len(found) - most} more; see them with --most {len(found)}")


def show_run(run: Run) -> None:
    """One run: what it is, where it goes, its state, and who said so when."""
    out.line()
    out.line(f"{run.subject} · {run.room or 'no room named'}", bold=True)
    length = f"{run.length_m:g} m" if run.length_m is not None else ""
    passes = ", ".join(room for room in run.rooms if room != run.room)
    pairs = (
        ("state", wording.state(run)), ("pipe", " ".join(w for w in (wording.pipe(run), length) if w)),
        ("from", run.from_), ("to", run.to), ("where", run.place), ("passes", passes),
    )  # fmt: skip
    for name, words in pairs:
        if words:
            out.paragraph(words, first=f"  {name:10}", rest=" " * 12)
    for step in run.steps:
        text = f"{wording.moment(step.memo_at)}, {wording.source(step.fact.memo, step.fact.second)}: {step.fact.quote}"
        out.paragraph(text, first=f"    {wording.sign(step.fact)} ", rest="      ")
