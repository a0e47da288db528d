"""What follows from memos and decisions, worked out again and compared: readings, facts, follow-ups."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from notes import decisions, derive, filing, ledger, rows, search, short
from notes.model import Job
from notes.verifying.problem import BACKUP, BAD, Mend, Problem


def facts(db: sqlite3.Connection) -> Iterator[Problem]:
    """Facts that are not those which the machine read with what people decided over them."""
    for row in db.execute("SELECT id, said FROM memos ORDER BY row").fetchall():
        memo = row["id"]
        try:
            should = decisions.replay(rows.facts_from(row["said"]), ledger.of_memo(db, memo))
            agree = {replace(f, id=None) for f in search.of_memo(db, memo)} == set(should)
            agree = agree and _indexed(db, memo) == {rows.fact_row(fact)["words"] for fact in should}
        except BAD:
            agree = False
        if not agree:
            what = "the facts of a memo are not what was read in it and decided on it"
            yield Problem(what, f"memo {memo}", "repair derives them again", _settler(memo))


def _indexed(db: sqlite3.Connection, memo: str) -> set[str]:
    return {row["words"] for row in db.execute("SELECT words FROM facts WHERE memo = ?", (memo,))}


def _settler(memo: str) -> Mend:
    def mend(db: sqlite3.Connection) -> None:
        db.execute("DELETE FROM facts WHERE memo = ?", (memo,))
        derive.settle(db, memo)

    return mend


def out_of_step(db: sqlite3.Connection, job: Job) -> Iterator[Problem]:
    """Readings and follow-ups that are not those of today's rules and words; worked out and taken back."""

    def read(db: sqlite3.Connection) -> None:
        filing.read_all_inside(db, job)

    def follow(db: sqlite3.Connection) -> None:
        derive.refresh(db, job, None)

    checks: tuple[tuple[str, str, Mend], ...] = (
        ("memos are not read as the rules of today read them", "SELECT id, text, words, said, carry FROM memos", read),
        ("follow-ups are not those that the rules of today give", _FOLLOWUPS, follow),
    )
    for what, sql, mend in checks:
        yield from _compared(db, what, sql, mend)


_FOLLOWUPS = "SELECT * FROM followups"


def _compared(
    db: sqlite3.Connection, what: str, sql: str, mend: Callable[[sqlite3.Connection], None]
) -> Iterator[Problem]:
    db.execute("BEGIN IMMEDIATE")
    try:
        before = _told(db, sql)
        mend(db)
        after = _told(db, sql)
    except BAD as wrong:
        yield Problem(what, f"{type(wrong).__name__}: {wrong}", BACKUP)
        return
    finally:
        db.execute("ROLLBACK")
    if before != after:
        yield Problem(what, f"{len(before ^ after)} differences", "repair works them out again", mend)


def _told(db: sqlite3.Connection, sql: str) -> set[tuple[Any, ...]]:
    skip = 1 if sql == _FOLLOWUPS else 0  # a follow-up worked out again may get another number
    return {tuple(short.full(v) if isinstance(v, bytes) else v for v in row)[skip:] for row in db.execute(sql)}
