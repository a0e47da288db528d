"""Two runs, named by their keys or asked for in plain words; where it is not clear which, a person says so."""

from __future__ import annotations

import re
import shlex
import sqlite3
import sys
from collections.abc import Callable, Sequence

import click

from notes import answering, ledger, search, wording
from notes.cli import out
from notes.decisions import ON_RUNS
from notes.errors import UsageError
from notes.joining import may_be_one, merged_into
from notes.model import PIPES, Job, Run

Pipes = dict[str, str]
"""Runs in words, by their keys."""
Pair = tuple[str, str]
"""The keys of two runs."""

_KEY = re.compile(r"\S+:\d+(:.+)?")


def to_merge(db: sqlite3.Connection, job: Job, words: Sequence[str]) -> Pair:
    """Two runs that may be one pipe. Raises UsageError where it is not clear which, and nobody is there to ask."""

    def others(run: Run) -> Pipes:
        near = answering.runs(db, job, [run.room] if run.room else (), [run.subject])
        fit = [other for other in near if other.key != run.key and may_be_one(other, run)]
        return _by_key(sorted(fit, key=lambda other: other.key not in run.maybe_same))

    return _two(db, job, words, others, "merge", "no two pipes of one service and one room answer that")


def to_part(db: sqlite3.Connection, job: Job, words: Sequence[str]) -> Pair:
    """Two runs that a person said are one pipe, or that look as if they were. Raises as `to_merge`."""
    decided = ledger.all_of(db, ON_RUNS)

    def others(run: Run) -> Pipes:
        return {key: _began(db, key) for key in (*merged_into(run.key, decided), *run.maybe_same)}

    return _two(db, job, words, others, "part", "nobody said of these that two are one, and no two look alike")


def _two(
    db: sqlite3.Connection, job: Job, words: Sequence[str], others: Callable[[Run], Pipes], verb: str, none: str
) -> Pair:
    if len(words) == 2 and all(map(_KEY.fullmatch, words)):
        return words[0], words[1]
    found = _answering(db, job, words)
    with_others = {run.key: pipes for run in found if (pipes := others(run))}
    if not with_others:
        raise UsageError(f"{none}: {'; '.join(map(_told, found[:3]))}", todo="see: voidbook runs")
    if len(found) == 2 and found[1].key in with_others.get(found[0].key, {}):
        return found[0].key, found[1].key
    one = _chosen(_by_key([run for run in found if run.key in with_others]), "Which pipe?", verb)
    return one, _chosen(with_others[one], "And which other?", verb, one)


def _answering(db: sqlite3.Connection, job: Job, words: Sequence[str]) -> list[Run]:
    if len(words) == 1 and _KEY.fullmatch(words[0]):
        began = search.beginning(db, words[0])
        near = answering.runs(db, job, [began.room] if began and began.room else (), [began.subject] if began else ())
        found = [run for run in near if run.key == words[0]]
    else:
        found = [run for run in answering.answers(db, job, " ".join(words)) if run.subject in PIPES]
    if not found:
        elsewhere = " ".join(answering.elsewhere(db, job, " ".join(words)))
        raise UsageError(f"no pipe on record answers that. {elsewhere}".rstrip(". "), todo="see: voidbook runs")
    return found


def _chosen(pipes: Pipes, question: str, verb: str, *before: str) -> str:
    """The key of the run that a person chooses; the only one without asking. Where nobody is there to ask,
    all are listed by key."""
    keys = list(pipes)
    if len(keys) == 1:
        return keys[0]
    asking = sys.stdin.isatty()
    for n, key in enumerate(keys, start=1):
        out.paragraph(pipes[key], first=f"{n:3}  " if asking else f"{shlex.quote(key)}  ", rest=" " * 5)
    if not asking:
        named = " ".join(map(shlex.quote, before))
        todo = f"voidbook {verb} {named} OTHER" if before else f"voidbook {verb} KEY, or with more words"
        raise UsageError(f"{len(keys)} pipes answer that", todo=f"say which: {todo}")
    chosen: int = click.prompt(question, type=click.IntRange(1, len(keys)), err=True, prompt_suffix=" ")
    return keys[chosen - 1]


def _by_key(runs: Sequence[Run]) -> Pipes:
    return {run.key: _told(run) for run in runs}


def _told(run: Run) -> str:
    return f"{run.room or 'no room named'}, {wording.run(run)}"


def _began(db: sqlite3.Connection, key: str) -> str:
    """A run as it was before anybody joined it: by what was said of it first."""
    fact = search.beginning(db, key)
    if fact is None:
        return key
    return f"{fact.room or 'no room named'}, {wording.told([fact])} ({wording.source(fact.memo, fact.second)})"
