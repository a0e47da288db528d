"""voidbook decisions: what people decided."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from pathlib import Path

import click

from notes import ledger, search, wording
from notes.cli import common, out
from notes.decisions import ON_RUNS, Decision, Kind, standing


@click.command("decisions")
@common.as_json
@common.in_job
def command(as_json: bool, folder: Path | None) -> None:
    """List what people decided, the newest first, with the number that `undo` takes. + stands, - was taken back."""
    root, _job = common.here(folder)
    with search.opened(root) as db:
        found = ledger.all_of(db, Kind)
        runs = named(db, found)
    stand = {d.id for d in standing(found)}
    if as_json:
        out.records({**_json(d), "stands": d.id in stand} for d in reversed(found))
        return
    if not found:
        out.line("Nothing was decided yet.")
    for d in reversed(found):
        out.paragraph(
            f"{wording.moment(d.at)}, {d.who}: {what(d, runs)}",
            first=f"{d.id:5} {'+' if d.id in stand else '-'} ", rest=" " * 8,
        )  # fmt: skip


def named(db: sqlite3.Connection, found: Iterable[Decision]) -> dict[str, str]:
    """The runs that decisions are about in words, by their keys: these are looked up, so that nothing is kept twice."""
    keys = {key for d in found if d.kind in ON_RUNS for key in (d.about["key"], d.about["other"])}
    return {key: run_named(db, key) for key in keys}


def run_named(db: sqlite3.Connection, key: str) -> str:
    """The run of this key in a few words, by what it begins with."""
    fact = search.beginning(db, key)
    return f"{wording.other_than(fact)}, {fact.room or 'no room named'}" if fact else key


def what(decision: Decision, runs: Mapping[str, str]) -> str:
    """What was decided, and on which words it is, with the words of `named` for runs."""
    quote = decision.about.get("quote")
    return in_short(decision, runs) + (f": “{quote}”" if quote else "")


def in_short(decision: Decision, runs: Mapping[str, str]) -> str:
    """What was decided, in words."""
    about, value = decision.about, decision.value

    def run(end: str) -> str:
        return runs.get(about.get(end, ""), "")

    sets = {
        Kind.CORRECT: wording.put_right({value.get("field", ""): value.get("value")}),
        Kind.WORD: f"means {value.get('now')}", Kind.CLOSE: f"because {value.get('why')}",
        Kind.ASSIGN: f"to {value.get('to')}", Kind.UNDO: f"of number {decision.undoes}",
        Kind.ADD: f"{value.get('subject')} {value.get('action')}, {value.get('room') or 'no room'}",
        Kind.SIGN: f"{about.get('room') or 'all rooms'}, {about.get('day') or 'all days'}",
        Kind.PLACE: f"{about.get('id')} in {value.get('room')}",
        Kind.MERGE: f"{run('key')} with {run('other')}",
        Kind.PART: f"{run('key')} from {run('other')}",
    }.get(decision.kind, "")  # fmt: skip
    check = str(about.get("check") or "").replace("-", " ")
    place = " · ".join(str(part) for part in (decision.memo, about.get("subject"), check) if part)
    return f"{decision.kind.value} {sets}".strip() + (f" ({place})" if place else "")


def _json(decision: Decision) -> dict[str, object]:
    when = {"id": decision.id, "at": decision.at.isoformat(), "who": decision.who, "kind": decision.kind.value}
    return {**when, "memo": decision.memo, "about": dict(decision.about), "value": dict(decision.value),
            "undoes": decision.undoes}  # fmt: skip
