"""Runs out of the book: those of a room or service, those that answer a question; from no more facts than needed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence

from notes import ledger, search
from notes.ask import answer, unsaid
from notes.decisions import ON_RUNS
from notes.joining import standing_runs
from notes.lexicon import load
from notes.model import Job, Run
from notes.question import Question, read
from notes.tracing.things import things


def runs(db: sqlite3.Connection, job: Job, rooms: Iterable[str] = (), services: Iterable[str] = ()) -> tuple[Run, ...]:
    """The runs of these rooms and services, as people joined and parted them; all, where none are named."""
    facts, decided = search.for_runs(db, rooms, services), ledger.all_of(db, ON_RUNS)
    return standing_runs(facts, search.times(db, facts), job.rooms, decided)


def elsewhere(db: sqlite3.Connection, job: Job, question: str) -> list[str]:
    """Where the services asked for are on record, where they are not in the rooms asked for; a sentence each."""
    asked = read(question, load(job), job)
    rooms = " or ".join(sorted(asked.rooms or asked.near))
    told = []
    for service in asked.subjects:
        known = ", ".join(dict.fromkeys(run.room or "no room named" for run in runs(db, job, (), [service])))
        where = f"in {rooms}, but in {known}" if known else "anywhere on this job"
        told.append(f"There is no {service} on record {where}.")
    return told


def answers(db: sqlite3.Connection, job: Job, question: str) -> list[Run]:
    """The runs that answer `question`, best first."""
    lexicon = load(job)
    return answer(question, candidates(db, job, read(question, lexicon, job)), lexicon, job)


def nothing_so(job: Job, question: str, found: Sequence[Run]) -> str:
    """A sentence where the best answer is not quite what is asked for: what is there must not look as if it were."""
    asked = read(question, load(job), job)
    if not found or found[0].subject in asked.things:
        return ""
    if asked.only and not asked.states & set(found[0].state):
        return f"Nothing on record is {' and '.join(sorted(asked.states))} there; what is on record:"
    if missing := unsaid(found[0], asked):
        there = " there" if asked.rooms or asked.near else ""
        return f"Nothing on record{there} speaks of {' or '.join(missing)}; the nearest to it:"
    return ""


def candidates(db: sqlite3.Connection, job: Job, asked: Question) -> tuple[Run, ...]:
    """The runs, and the things if one is asked for itself, that may answer."""
    rooms = () if asked.onward else asked.rooms or asked.near
    found = runs(db, job, rooms, asked.subjects)
    if not asked.things:
        return found
    said = search.for_runs(db, rooms, asked.things)
    return (*things(said, search.times(db, said)), *found)
