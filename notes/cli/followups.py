"""voidbook followups: what is still open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path

import click

from notes import rows, search, wording
from notes.cli import common, out
from notes.errors import UsageError
from notes.job import near
from notes.model import FollowUp


@click.command("followups")
@common.in_room
@click.option("--all", "all_", is_flag=True, help="Closed ones too.")
@click.option("--check", metavar="CHECK", help="Only of this kind, as in: capped not tested.")
@click.option("--for", "to", metavar="WHO", help="Only those given to this person.")
@click.option("--due", is_flag=True, help="Only those with a day they are due, the soonest first.")
@common.as_json
@common.in_job
def command(
    room: str | None, all_: bool, check: str | None, to: str | None, due: bool, as_json: bool, folder: Path | None
) -> None:
    """List what is still open, worst first: since when, on which words, and what would close it.

    The number before each is what `close` and `assign` take.
    """
    root, job = common.here(folder)
    with search.opened(root) as db:
        found = search.followups(db, room=common.room_named(room, job), closed=all_)
    if check and not any(_is(check, item.check) for item in found):
        _must_be_one(check)
    found = [item for item in found if _is(check, item.check) and _is(to, item.assignee)]
    if due:
        found = sorted((item for item in found if item.due), key=lambda item: item.due or "")
    if as_json:
        out.records(map(rows.followup_json, found))
    else:
        show(found, _due if due else _worth)


def _is(wanted: str | None, what: str | None) -> bool:
    """Whether it is what is wanted, however it is written; whatever it is where nothing is."""
    return wanted is None or _plain(wanted) == _plain(what or "")


def _must_be_one(check: str) -> None:
    """Raises UsageError with the nearest where no check is called so."""
    from notes.checking.catalogue import rules

    known = {_plain(rule.id) for rule in rules().checks}
    if _plain(check) not in known:
        close = near(_plain(check), known)
        todo = f"did you mean {close!r}?" if close else f"known: {', '.join(sorted(known))}"
        raise UsageError(f"no check is called {check!r}", todo=todo)


def _plain(words: str) -> str:
    return " ".join(words.replace("-", " ").casefold().split())


def _worth(item: FollowUp) -> str:
    return "closed" if item.closed_by else item.severity.value


def _due(item: FollowUp) -> str:
    return f"due {item.due}"


def show(found: Sequence[FollowUp], heading: Callable[[FollowUp], str] = _worth) -> None:
    """Follow-ups for a person: under headings, then by check, since one thing closes all of a check."""
    counts = Counter(map(heading, found))
    out.line(", ".join(f"{count} {what}" for what, count in counts.items()) or "Nothing is open.")
    for words, items in groupby(found, key=heading):
        out.line()
        out.line(words.upper(), bold=True)
        by_check: dict[str, list[FollowUp]] = {}
        for item in items:
            by_check.setdefault(item.check, []).append(item)
        for alike in by_check.values():
            _show_check(alike)


def _show_check(items: list[FollowUp]) -> None:
    first = items[0]
    out.line()
    out.line(f"  {first.check.replace('-', ' ').capitalize()}")
    for words in (f"Closes with: {first.closes}", first.caution, "" if first.limit else f"Source: {first.source}"):
        if words and not first.closed_by:
            out.paragraph(words, first="  ", rest="    ")
    for _, same in groupby(items, key=lambda item: (item.memo, item.room, item.quote, item.closed_by)):
        _show(list(same))


def _show(items: list[FollowUp]) -> None:
    """Follow-ups that rest on the same words."""
    for item in items:
        given = [] if item.closed_by else [wording.age(item.since, datetime.now(UTC))]
        given += [f"for {item.assignee}"] if item.assignee else []
        given += [f"due {item.due}"] if item.due else []
        title = " · ".join((item.title, item.room or "no room", *given))
        out.paragraph(title, first=f"{item.id or 0:6}  ", rest=" " * 8)
        if item.limit:
            out.paragraph(f"{item.limit} ({item.source})", first=" " * 8, rest=" " * 8)
    said = f"{wording.moment(items[0].since)}, {wording.source(items[0].memo, items[0].second)}"
    out.paragraph(f'{said}: "{items[0].quote}"' if items[0].quote else said, first=" " * 8, rest=" " * 8)
    if items[0].closed_by:
        on = f" on {wording.moment(items[0].closed_at)}" if items[0].closed_at else ""
        out.paragraph(f"closed by {items[0].closed_by}{on}", first=" " * 8, rest=" " * 8)
