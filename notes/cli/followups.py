"""voidbook followups: what is still open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

import click

from notes import rows, search
from notes.cli import common, out, wording
from notes.model import FollowUp


@click.command("followups")
@common.in_room
@click.option("--all", "all_", is_flag=True, help="Closed ones too.")
@click.option("--due", is_flag=True, help="Only those with a day they are due, the soonest first.")
@common.as_json
@common.in_job
def command(room: str | None, all_: bool, due: bool, as_json: bool, folder: Path | None) -> None:
    """List what is still open, worst first: since when, on which words, and what would close it.

    The number before each is what `close` and `assign` take.
    """
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = search.followups(db, room=common.room_named(room, job), closed=all_)
    if due:
        found = sorted((item for item in found if item.due), key=lambda item: item.due or "")
    if as_json:
        out.records(map(rows.followup_json, found))
    else:
        show(found, grouped=not due)


def show(found: Sequence[FollowUp], *, grouped: bool = True) -> None:
    """Follow-ups for a person."""
    counts = Counter("closed" if item.closed_by else item.severity.value for item in found)
    order = ("high", "medium", "low", "reminder", "closed")
    out.line(
        f"{len(found)} follow-ups: " + ", ".join(f"{counts[s]} {s}" for s in order if counts[s]) if found else _NONE
    )
    for severity, items in groupby(found, key=_heading if grouped else lambda _item: ""):
        out.line()
        if severity:
            out.line(severity.upper(), bold=True)
        for item in items:
            _show(item)


_NONE = "Nothing is open."


def _heading(item: FollowUp) -> str:
    return "closed" if item.closed_by else item.severity.value


def _show(item: FollowUp) -> None:
    out.paragraph(f"{item.title} · {item.room or 'no room'}", first=f"{item.id or 0:4}  ", rest="      ")
    said = wording.source(item.memo, item.second)
    quote = f' "{item.quote}"' if item.quote else ""
    out.paragraph(f"since {wording.moment(item.since)}, {said}:{quote}", first="      ", rest="      ")
    for words in _more(item):
        out.paragraph(words, first="      ", rest="        ")


def _more(item: FollowUp) -> list[str]:
    if item.closed_by:
        on = f" on {wording.moment(item.closed_at)}" if item.closed_at else ""
        return [f"closed by {item.closed_by}{on}"]
    given = [f"for {item.assignee}"] if item.assignee else []
    given += [f"due {item.due}"] if item.due else []
    lines = [", ".join(given), f"closes with: {item.closes}" if item.closes else ""]
    lines += [f"{item.limit} ({item.source})" if item.source else item.limit, item.caution]
    return [words for words in lines if words]
