"""What two books of one job say differently, worded for a person to settle. Pure, but for looking memos up."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence

from notes import decisions
from notes.decisions import Decision, Kind
from notes.export import Rows
from notes.model import Job

_OF_ONE = ("at", "speaker", "raw")


def jobs_apart(mine: Job, theirs: Job) -> list[str]:
    """Differences of job.toml: this job's stays as it is."""
    found = [] if mine.name == theirs.name else [f"the job is called {mine.name!r} here, {theirs.name!r} there"]
    here = {room.name: room for room in mine.rooms}
    for room in theirs.rooms:
        if room.name not in here:
            found.append(f"room {room.name!r} is only in theirs: add it to job.toml, then run: voidbook reread")
        elif room != here[room.name]:
            found.append(f"room {room.name!r} has another floor or other nicknames in theirs")
    return found


def memos_apart(db: sqlite3.Connection, theirs: Rows) -> list[str]:
    """Memos of one recording that the two books tell differently; this book's stays."""
    here = {row["digest"]: row for row in db.execute("SELECT id, digest, at, speaker, raw FROM memos")}
    return [
        f"{here[row['digest']]['id']}: {name} is {here[row['digest']][name]!r:.80} here, {row[name]!r:.80} there"
        for row in theirs
        if row["digest"] in here
        for name in _OF_ONE
        if here[row["digest"]][name] != row[name]
    ]


def decisions_apart(mine: Sequence[Decision], new: Sequence[Decision]) -> list[str]:
    """Decisions on one thing that differ. All are kept; the one that came in last stands."""
    own = {_target(d): d for d in decisions.standing(mine) if _target(d)}
    found = []
    for told in _not_undone(new):
        other = own.get(_target(told))
        if other is not None and _wish(other) != _wish(told):
            what = " ".join(
                w for w in (told.memo or "", str(told.about.get("quote") or told.about.get("id") or "")) if w
            )
            found.append(
                f"{what}: {_worded(other)}, but {_worded(told)}; the second stands, decide again if it is wrong"
            )
    return found


def _not_undone(new: Iterable[Decision]) -> list[Decision]:
    kept = list(new)
    undone = {d.undoes for d in kept if d.kind is Kind.UNDO}
    return [d for d in kept if d.kind is not Kind.UNDO and d.id not in undone]


_SIDES = {
    Kind.ACCEPT: "fact",
    Kind.REJECT: "fact",
    Kind.CLOSE: "open",
    Kind.REOPEN: "open",
    Kind.MERGE: "run",
    Kind.PART: "run",
}


def _target(told: Decision) -> str | None:
    """What a decision is about, so that two on the same thing meet."""
    if told.kind in (Kind.UNDO, Kind.ADD, Kind.SIGN, Kind.FORGET):
        return None
    side = _SIDES.get(told.kind, told.kind.value)
    about = {k: v for k, v in told.about.items() if k != "id"}
    return json.dumps([side, told.memo, about, told.value.get("field")], sort_keys=True, default=str)


def _wish(told: Decision) -> str:
    if told.kind is Kind.CLOSE:
        return told.kind.value  # two reasons to close are no dispute
    return json.dumps([told.kind.value, dict(told.value)], sort_keys=True, default=str)


def _worded(told: Decision) -> str:
    set_ = ", ".join(f"{k} {v}" for k, v in told.value.items() if v is not None)
    return f"{told.who} on {told.at:%Y-%m-%d}: {told.kind.value} {set_}".strip()
