"""voidbook explain: how a sentence is read, and why."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from notes import rows, wording
from notes.cli import common, out
from notes.errors import JobError
from notes.lexicon import load
from notes.model import Job, Memo

if TYPE_CHECKING:
    from notes.reading.explained import Decided, Explained, Reaching, Taken

_RULES = {
    "said so": "the words say so themselves",
    "instruction": "it opens its clause, as an instruction does",
    "bare verb": "it is only named, not told",
    "no cue": "nothing says whether it is done",
    "order to nobody": "nobody is told to do it",
    "again": "the last work is told again",
    "put right": "it was taken back",
    "verdict": "the verdict on this pipe",
    "wants doing": "what was not done is asked for",
    "to be done": "the last work is still to be done",
    "second reader": "no rule finds it, the second reader is sure of it",
}
_SIDES = {"before": "after it", "after": "before it", "both": "on both sides"}


@click.command("explain")
@click.argument("sentence", metavar="SENTENCE...", nargs=-1, required=True)
@click.option("--room", metavar="ROOM", help="As if it were said in this room.")
@common.as_json
@common.in_job
def command(sentence: tuple[str, ...], room: str | None, as_json: bool, folder: Path | None) -> None:
    """Show which words of SENTENCE were taken as what, which cue decided each status and how far it reaches,
    and the facts that come of it. Nothing is filed.

    Works in a job, with its rooms and own words, and without one.
    """
    from notes.heard import put_right
    from notes.reading.explained import explain

    job = _job(folder)
    text, lexicon = " ".join(sentence), load(job)
    memo = put_right(Memo("explain", datetime.now(UTC), None, text, text), lexicon)
    found = explain(memo, lexicon, common.room_named(room, job) if job else room)
    if as_json:
        out.records([_json(memo.text, found)])
    else:
        _show(text, memo.text, found)


def _job(folder: Path | None) -> Job | None:
    """The job asked for, or the one here; none is no fault."""
    if folder is not None:
        return common.here(folder)[1]
    with suppress(JobError):
        return common.here(None)[1]
    return None


def _json(text: str, found: Explained) -> dict[str, object]:
    told, doubted = ([rows.fact_json(fact) for fact in some] for some in (found.facts, found.doubted))
    work = [asdict(each) for each in found.work]
    words = [asdict(each) for each in found.taken]
    return {"text": text, "words": words, "work": work, "facts": told, "doubted": doubted}


def _show(typed: str, text: str, found: Explained) -> None:
    if typed != text:
        out.paragraph(text, first="Read as: ", rest="         ")
        out.line()
    out.line("Words", bold=True)
    for taken in found.taken:
        out.paragraph(_words(taken), first="  ", rest="      ")
    if not found.taken:
        out.line("  No words of the trade.")
    out.line()
    out.line("What decides", bold=True)
    for work in found.work:
        _show_work(work)
    if not found.work:
        out.line("  No word of work.")
    out.line()
    out.line("Facts", bold=True)
    for fact in found.facts:
        where = f"{fact.room or 'no room'}, because of: {_rule(fact.cue or '')}"
        out.paragraph(f"{wording.told([fact])} ({where})", first=f"  {wording.sign(fact)} ", rest="      ")
        out.paragraph(f"“{fact.quote}”", first="      ", rest="      ")
    if not found.facts:
        out.line("  None: nothing is told of a pipe or a thing.")
    for fact in found.doubted:
        out.paragraph(f"{wording.told([fact])}: left out, as such words are mostly talk", first="  ? ", rest="      ")


def _words(taken: Taken) -> str:
    return f"{taken.text}: {taken.kind}" + (f" {' and '.join(taken.means)}" if taken.means else "")


def _show_work(work: Decided) -> None:
    status = "a question, no fact" if work.question else work.status or "no fact"
    out.paragraph(f"{work.text} ({work.action}): {status}; {_rule(work.rule)}", first="  ", rest="      ")
    for cue in work.cues:
        out.paragraph(_reach(cue), first="    ", rest="      ")


def _rule(rule: str) -> str:
    return _RULES.get(rule, f"rule {rule!r}")


def _reach(cue: Reaching) -> str:
    stops = f", but not past {' or '.join(map(repr, cue.stops))}" if cue.stops else ""
    decides = "decides" if cue.decided else "is outweighed"
    far = f"up to {cue.reach} word{'s' if cue.reach > 1 else ''} in the same {cue.within}{stops}"
    return f"“{cue.text}” says {cue.says}, {_SIDES[cue.direction]}, {far}: it {decides}"
