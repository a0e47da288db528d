"""voidbook find: words in all that was said."""

from __future__ import annotations

from pathlib import Path

import click

from notes import rows, search, wording
from notes.cli import common, out
from notes.lexicon import load
from notes.model import Photo


@click.command("find")
@click.argument("words", metavar="WORDS...", nargs=-1, required=True)
@click.option("--most", metavar="N", default=20, show_default=True, help="At most so many memos.")
@common.as_json
@common.in_job
def command(words: tuple[str, ...], most: int, as_json: bool, folder: Path | None) -> None:
    """Find words in memos and facts, best first, with what was met in [brackets].

    Words of the trade find each other: hot return finds secondary return and circulation, 3/4 finds three-quarter,
    20 and 22 mm.
    """
    text = " ".join(words)
    root, job = common.here(folder)
    with search.opened(root) as db:
        found, all_met = search.find(db, text, load(job), limit=max(1, most))
        shots = search.pictured(db, text, load(job), limit=max(1, most))
    if as_json:
        out.records([*map(_json, found), *map(_photo_json, shots)])
        return
    if not found and not shots:
        out.line(f"Nothing on record says {text!r}.")
    elif found and not all_met:
        out.line("No memo has all of these words; these have some of them.")
    for hit in found:
        _show(hit)
    for photo, seen in shots:
        written = f"written in it: {seen}" if seen else ""
        out.line()
        out.line(f"photo {photo.id} · {wording.moment(photo.at)}", bold=True)
        out.paragraph(
            " · ".join(w for w in (photo.room or "no room", photo.caption, written) if w), first="  ", rest="  "
        )


def _photo_json(shot: tuple[Photo, str]) -> dict[str, object]:
    photo, seen = shot
    return {"photo": photo.id, "at": photo.at.isoformat(), "room": photo.room, "caption": photo.caption, "seen": seen}


def _marked(snippet: str) -> str:
    return snippet.replace(search.MARKS[0], "[").replace(search.MARKS[1], "]")


def _json(hit: search.Found) -> dict[str, object]:
    facts = [rows.fact_json(fact) for fact in hit.facts]
    when = {"memo": hit.memo, "at": hit.at.isoformat(), "speaker": hit.speaker}
    return {**when, "snippet": _marked(hit.snippet), "facts": facts}


def _show(hit: search.Found) -> None:
    out.line()
    out.line(" · ".join(word for word in (hit.memo, wording.moment(hit.at), hit.speaker) if word), bold=True)
    out.paragraph(_marked(hit.snippet), first="  ", rest="  ")
    for facts in wording.alike(hit.facts):
        at = wording.second(facts[0].second)
        where = f"{facts[0].room or 'no room'}{f', {at}' if at else ''}"
        out.paragraph(f"{wording.told(facts)} ({where})", first=f"    {wording.sign(facts[0])} ", rest="        ")
