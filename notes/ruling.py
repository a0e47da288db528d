"""Deciding, in the book: each decision appended and carried out in one transaction."""

from __future__ import annotations

import sqlite3
from dataclasses import asdict
from typing import Any

from notes import decisions, derive, editable, filing, joining, ledger, rows, search
from notes.book import write
from notes.decisions import Decision, Kind
from notes.errors import UsageError
from notes.model import Fact, FollowUp, Job, Photo, Run, Status
from notes.runs import join

# --- follow-ups


def close(db: sqlite3.Connection, job: Job, id: int, who: str, why: str) -> FollowUp:
    """Close a follow-up; as it was."""
    return _on_followup(db, id, Kind.CLOSE, who, {"why": why})


def reopen(db: sqlite3.Connection, job: Job, id: int, who: str) -> FollowUp:
    """Open a follow-up again that a person or a later fact closed."""
    return _on_followup(db, id, Kind.REOPEN, who, {})


def assign(db: sqlite3.Connection, job: Job, id: int, who: str, to: str, due: str | None = None) -> FollowUp:
    """Give a follow-up to somebody, with the day it is due (YYYY-MM-DD)."""
    return _on_followup(db, id, Kind.ASSIGN, who, {"to": to, "due": due})


def _on_followup(db: sqlite3.Connection, id: int, kind: Kind, who: str, value: dict[str, Any]) -> FollowUp:
    with write(db):
        item = search.followup(db, id)
        if (item.closed_by is None) is (kind is Kind.REOPEN):
            raise UsageError(
                f"follow-up {id} is {'open' if kind is Kind.REOPEN else f'closed already, by {item.closed_by}'}"
            )
        decision = Decision(kind, who, decisions.now(), item.memo, decisions.about_followup(item), value)
        ledger.append(db, decision)
        (ruled,) = decisions.overlay([item], [decision])
        sets = {name: getattr(ruled, name) for name in ("closed_by", "assignee", "due")}
        sets["closed_at"] = ruled.closed_at.isoformat() if ruled.closed_at else None
        db.execute(
            f"UPDATE followups SET {', '.join(f'{name} = :{name}' for name in sets)} WHERE id = :id", {**sets, "id": id}
        )
        return ruled


# --- facts


def accept(db: sqlite3.Connection, job: Job, id: int, who: str) -> None:
    """Say that a fact is right as it was read, whatever was doubted."""
    _on_fact(db, job, id, Kind.ACCEPT, who, {})


def correct(db: sqlite3.Connection, job: Job, id: int, who: str, name: str, value: object) -> None:
    """Put one field of a fact right. Raises UsageError for what the field can't hold."""
    _on_fact(db, job, id, Kind.CORRECT, who, {"field": name, "value": editable.checked(name, value, job)})


def reject(db: sqlite3.Connection, job: Job, id: int, who: str) -> None:
    """Say that a fact was not said."""
    _on_fact(db, job, id, Kind.REJECT, who, {})


def _on_fact(db: sqlite3.Connection, job: Job, id: int, kind: Kind, who: str, value: dict[str, Any]) -> None:
    with write(db):
        row = db.execute("SELECT * FROM facts WHERE id = ?", (id,)).fetchone()
        if row is None:
            raise UsageError(f"no fact has the number {id}", todo="look again, it may have been read anew")
        fact = rows.fact(row)
        about = decisions.about_fact(fact)
        ledger.append(db, Decision(kind, who, decisions.now(), fact.memo, about, value))
        _carry_out(db, job, fact.memo)


def add(db: sqlite3.Connection, job: Job, who: str, fact: Fact) -> None:
    """Add a fact by hand to `fact.memo`; its number is given here."""
    named = {name: value for name, value in asdict(fact).items() if name in editable.FIELDS and value is not None}
    checked = {name: editable.checked(name, value, job) for name, value in named.items()}
    span = {"room": fact.room, "quote": fact.quote, "start": fact.start, "end": fact.end, "second": fact.second}
    with write(db):
        search.memo(db, fact.memo)
        value = {**checked, **span, "status": Status(fact.status).value}
        ledger.append(db, Decision(Kind.ADD, who, decisions.now(), fact.memo, {}, value))
        _carry_out(db, job, fact.memo)


def _carry_out(db: sqlite3.Connection, job: Job, memo: str) -> None:
    touched = derive.settle(db, memo)
    moved = filing.relink(db, job, [memo])
    derive.refresh(db, job, derive.joined(derive.rooms_of(db, touched), moved))


# --- photos


def place_photo(db: sqlite3.Connection, job: Job, id: str, room: str, who: str) -> Photo:
    """Move the photo `id` to a room; the photo as it stands then. Raises UsageError where there is none."""
    with write(db):
        row = db.execute("SELECT digest FROM photos WHERE id = ?", (id,)).fetchone()
        if row is None:
            raise UsageError(f"no photo is called {id!r}", todo="see them with: voidbook photos")
        about, value = {"photo": row["digest"], "id": id}, {"room": room}
        ledger.append(db, Decision(Kind.PLACE, who, decisions.now(), None, about, value))
        filing.place_again(db, job, row["digest"])
        return rows.photo(db.execute("SELECT * FROM photos WHERE id = ?", (id,)).fetchone())


# --- words, runs


def put_word_right(db: sqlite3.Connection, job: Job, memo: str, who: str, start: int, heard: str, meant: str) -> None:
    """Put right what was heard at character `start` of a memo, and read that memo again."""
    about, value = {"start": start, "quote": heard}, {"now": meant}
    with write(db):
        search.memo(db, memo)
        ledger.append(db, Decision(Kind.WORD, who, decisions.now(), memo, about, value))
        filing.read_inside(db, job, memo)


def merge(db: sqlite3.Connection, job: Job, who: str, key: str, other: str) -> None:
    """Say that two runs are one pipe. Raises UsageError for keys of no run, of two services or of two rooms."""
    _on_runs(db, job, Kind.MERGE, who, key, other)


def part(db: sqlite3.Connection, job: Job, who: str, key: str, other: str) -> None:
    """Say that two runs are not one pipe, whatever was said before."""
    _on_runs(db, job, Kind.PART, who, key, other)


def _on_runs(db: sqlite3.Connection, job: Job, kind: Kind, who: str, key: str, other: str) -> None:
    with write(db):
        a, b = _run(db, job, key), _run(db, job, other)
        if kind is Kind.MERGE and not joining.may_be_one(a, b):
            places = " and ".join(f"{run.subject} in {run.room or 'no room'}" for run in (a, b))
            raise UsageError(
                f"{key} and {other} can't be one run: {places}",
                todo="a run is of one service and one room; put the facts right with: voidbook correct",
            )
        if a.key == b.key:
            raise UsageError(f"{key} is one run only", todo="name two; see them with: voidbook runs")
        ledger.append(db, Decision(kind, who, decisions.now(), None, {"key": key, "other": other}))
        derive.refresh(db, job, frozenset((a.room, b.room)))


def _run(db: sqlite3.Connection, job: Job, key: str) -> Run:
    """The run of this key, as it was before anybody joined it. Raises UsageError where there is none."""
    for room in _rooms_of_run(db, key):
        facts = search.for_runs(db, [room] if room else ())
        found = join(facts, search.times(db, facts), job.rooms)
        if run := next((run for run in found if run.key == key), None):
            return run
    raise UsageError(f"no pipe run has the key {key!r}", todo="see them with: voidbook runs")


def _rooms_of_run(db: sqlite3.Connection, key: str) -> frozenset[str | None]:
    """The room of a run by its key; none where the fact that began it is gone."""
    found = db.execute(
        """
        SELECT memo || ':' || n AS begins, room FROM facts
        WHERE ?1 = begins OR substr(?1, 1, length(begins) + 1) = begins || ':'""",
        (key,),
    )
    return frozenset(row["room"] if row["begins"] == key else key[len(row["begins"]) + 1 :] for row in found)


def undo(db: sqlite3.Connection, job: Job, who: str, id: int | None = None) -> Decision:
    """Take back a decision, the last one that stands if none is named; the one taken back."""
    with write(db):
        back = _to_undo(db, id)
        ledger.append(db, Decision(Kind.UNDO, who, decisions.now(), back.memo, undoes=back.id))
        if back.kind in decisions.ON_FACTS and back.memo:
            _carry_out(db, job, back.memo)
        elif back.kind is Kind.PLACE:
            filing.place_again(db, job, back.about["photo"])
        elif back.kind in decisions.ON_FOLLOWUPS:
            derive.refresh(db, job, frozenset((back.about["room"],)))
        elif back.kind in decisions.ON_RUNS:
            derive.refresh(db, job, _rooms_of_run(db, back.about["key"]) | _rooms_of_run(db, back.about["other"]))
        elif back.kind is Kind.WORD and back.memo:
            filing.read_inside(db, job, back.memo)
    return back


def _to_undo(db: sqlite3.Connection, id: int | None) -> Decision:
    stand = decisions.standing(ledger.all_of(db, Kind))
    # what was forgotten is gone
    found = next((d for d in reversed(stand) if d.kind is not Kind.FORGET and (id is None or d.id == id)), None)
    if found is None:
        raise UsageError("there is nothing to undo" if id is None else f"no decision {id} stands")
    return found
