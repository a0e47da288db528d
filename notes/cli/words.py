"""voidbook words: the job's own words, what is heard and what is meant by it."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from notes import job as jobs
from notes.cli import common, out
from notes.errors import UsageError
from notes.lexicon import load
from notes.model import Job
from notes.ownwords import doubts


@click.group("words")
@common.in_job
@click.pass_context
def command(ctx: click.Context, folder: Path | None) -> None:
    """The job's own words: names and turns of speech that are misheard, or that only this crew uses.

    They stand in job.toml under [words] and are put in the place of what is heard, in any memo.
    """
    ctx.obj = folder


def _here(folder: Path | None) -> tuple[Path, Job]:
    """The job named after the verb, before it, or the one here."""
    return common.here(folder or click.get_current_context().find_object(Path))


@command.command("list")
@common.as_json
@common.in_job
def list_words(as_json: bool, folder: Path | None) -> None:
    """List them."""
    _, job = _here(folder)
    if as_json:
        out.records({"heard": heard, "meant": meant} for heard, meant in job.words.items())
        return
    for heard, meant in job.words.items():
        out.line(f"{heard} = {meant}")
    if not job.words:
        out.line("The job has no words of its own.")


@command.command("add")
@click.argument("heard", metavar="HEARD")
@click.argument("meant", metavar="MEANT")
@common.in_job
def add(heard: str, meant: str, folder: Path | None) -> None:
    """From now on read HEARD as MEANT."""
    if not heard.strip() or not meant.strip():
        raise UsageError("one side is empty", todo='write it as in: voidbook words add "jelly rail" "towel rail"')
    root, _ = _here(folder)
    jobs.add_word(root, heard, meant)
    out.say(f"{heard} is now read as {meant}; read older memos again with: voidbook reread")
    _tell_doubts(root, heard)


@command.command("drop")
@click.argument("heard", metavar="HEARD")
@common.in_job
def drop(heard: str, folder: Path | None) -> None:
    """Read HEARD as it is again."""
    root, _ = _here(folder)
    meant = jobs.drop_word(root, heard)
    out.say(f"{heard} is no longer read as {meant}; read older memos again with: voidbook reread")


@command.command("check")
@common.as_json
@common.in_job
def check(as_json: bool, folder: Path | None) -> None:
    """Look for words that can do harm: too common, misspelt, or meaning something else already.

    Ends with exit code 1 where there are any.
    """
    _, job = _here(folder)
    found = doubts(job.words, load(job))
    if as_json:
        out.records(asdict(doubt) for doubt in found)
    for doubt in [] if as_json else found:
        out.paragraph(f"{doubt.heard} = {doubt.meant}: {doubt.what}; {doubt.todo}", rest="    ")
    if not found and not as_json:
        out.line(f"{len(job.words)} words, nothing wrong with them.")
    if found:
        raise SystemExit(1)


def _tell_doubts(root: Path, heard: str) -> None:
    job = jobs.load(root)
    for doubt in doubts(job.words, load(job)):
        if doubt.heard == heard:
            out.say(f"but: {doubt.what}; {doubt.todo}")
