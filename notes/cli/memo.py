"""voidbook memo: one memo with its words and facts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from notes import rows, search, wording
from notes.cli import common, out
from notes.model import Memo, Word

DOUBTFUL = 0.5
"""Below this probability a word is marked."""
LINE = 10.0
"""Seconds of speech a line."""


@click.command("memo")
@click.argument("id", metavar="ID")
@common.as_json
@common.in_job
def command(id: str, as_json: bool, folder: Path | None) -> None:
    """Show one memo: its words with their times, those heard badly marked (?), trade words put right with what was
    heard, and the facts read from it, each with the number that `accept`, `correct` and `reject` take."""
    root, _job = common.here(folder)
    with search.opened(root) as db:
        memo = search.memo(db, id)
        facts, photos = search.of_memo(db, memo.id), search.photos(db, memo.id)
    if as_json:
        out.records([{**_json(memo), "facts": [rows.fact_json(f) for f in facts], "photos": [p.id for p in photos]}])
        return
    sure = "" if memo.sure_of_time else "time not sure"
    long = f"{wording.second(memo.seconds)} long" if memo.seconds else ""
    out.line(" · ".join(w for w in (memo.id, wording.moment(memo.at), memo.speaker, long, sure) if w), bold=True)
    out.line()
    for at, text in _lines(memo):
        out.paragraph(text, first=f"  {wording.second(at):>5}  ", rest=" " * 9)
    out.line()
    for fact in facts:
        where = ", ".join(w for w in (fact.room or "no room", wording.second(fact.second)) if w)
        text = f"{wording.told([fact])} ({where})"
        out.paragraph(text, first=f"{fact.id or '':>5} {wording.sign(fact)} ", rest=" " * 10)
    for photo in photos:
        out.line(f"  photo {photo.id} · {photo.room or 'no room'}{f' · {photo.caption}' if photo.caption else ''}")


def _lines(memo: Memo) -> Iterator[tuple[float | None, str]]:
    """The text in lines of a few seconds, with the marks of its words."""
    start, since = 0, memo.words[0].at if memo.words else None
    for word in memo.words:
        if word.at is not None and since is not None and word.at - since >= LINE:
            yield since, _marked(memo, start, word.start)
            start, since = word.start, word.at
    yield since, _marked(memo, start, len(memo.text))


def _marked(memo: Memo, start: int, end: int) -> str:
    parts, here = [], start
    for word in memo.words:
        if start <= word.start < end:
            parts += [memo.text[here : word.end], _mark(word)]
            here = word.end
    return "".join([*parts, memo.text[here:end]])


def _mark(word: Word) -> str:
    doubt = "(?)" if word.sure is not None and word.sure < DOUBTFUL else ""
    heard = wording.misheard(word)
    return doubt + (f" [heard: {heard}]" if heard else "")


def _json(memo: Memo) -> dict[str, Any]:
    words = [
        {"text": w.text, "start": w.start, "end": w.end, "at": w.at, "until": w.until, "sure": w.sure, "heard": w.raw}
        for w in memo.words
    ]
    when = {"at": memo.at.isoformat(), "sure_of_time": memo.sure_of_time, "speaker": memo.speaker}
    return {"memo": memo.id, **when, "seconds": memo.seconds, "text": memo.text, "raw": memo.raw, "words": words}
