"""Runs out of the book: those of a room or service, those that answer a question; from no more facts than needed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from notes import ledger, search
from notes.ask import answer
from notes.decisions import Kind
from notes.joining import ruled
from notes.lexicon import load
from notes.model import Job, Run
from notes.question import read
from notes.runs import join


def runs(db: sqlite3.Connection, job: Job, rooms: Iterable[str] = (), services: Iterable[str] = ()) -> tuple[Run, ...]:
    """The runs of these rooms and services, as people joined and parted them; all, where none are named."""
    facts = search.for_runs(db, rooms, services)
    found = join(facts, search.times(db, facts), job.rooms)
    return ruled(found, ledger.all_of(db, (Kind.MERGE, Kind.PART)))


def answers(db: sqlite3.Connection, job: Job, question: str) -> list[Run]:
    """The runs that answer `question`, best first."""
    lexicon = load(job)
    asked = read(question, lexicon, job)
    return answer(question, runs(db, job, asked.rooms or asked.near, asked.subjects), lexicon, job)
