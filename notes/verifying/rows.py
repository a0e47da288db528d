"""Rows of the book against each other: what is told twice must agree, and what is derived must follow."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from notes import decisions, derive, rows, short, timed, typed
from notes.errors import MediaError
from notes.kinds import Kind
from notes.model import Job, Memo
from notes.reading.scene import Carry
from notes.store import Store
from notes.verifying import derived
from notes.verifying.problem import BACKUP, BAD, Problem


def check(db: sqlite3.Connection, job: Job, store: Store, deep: bool) -> list[Problem]:
    """Rows that can't be read or do not agree; where `deep`, typed memos that do not say what their original says."""
    db.execute("BEGIN")  # one state of the book for all that is compared
    try:
        found = [*_media(db), *_decisions(db), *_transcripts(db), *_memos(db), *_photos(db), *_followups(db, job)]
        whole = not any(p.error for p in found)
        found += list(derived.facts(db)) if whole else []
        found += list(_said_as_filed(db, job, store)) if deep and whole else []
    finally:
        db.execute("ROLLBACK")
    return found


def _each(db: sqlite3.Connection, table: str, name: str, read: Callable[[rows.Row], str | None]) -> Iterator[Problem]:
    """Problems of the rows of a table; `read` raises or gives what is wrong with one."""
    for row in db.execute(f"SELECT * FROM {table}").fetchall():
        try:
            wrong = _no_text(row) or read(row)
        except BAD as error:
            wrong = f"it can't be read ({type(error).__name__}: {error})"
        if wrong:
            yield Problem(f"a row of {table} is broken: {wrong}", f"{table} {row[name]!r}", BACKUP)


def _no_text(row: rows.Row) -> str | None:
    """Bytes that are no UTF-8 were read as half surrogate pairs, which no text that was stored can hold."""
    bad = [name for name in row.keys() if isinstance(row[name], str) and not _is_utf8(row[name])]  # noqa: SIM118
    return f"{', '.join(bad)} is no text" if bad else None


def _is_utf8(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _types(row: rows.Row, texts: tuple[str, ...]) -> str | None:
    wrong = [name for name in texts if not isinstance(row[name], str)]
    return f"{', '.join(wrong)} is no text" if wrong else None


# --- what people said and what was heard


def _media(db: sqlite3.Connection) -> Iterator[Problem]:
    def read(row: rows.Row) -> str | None:
        Kind(row["kind"])
        datetime.fromisoformat(row["filed_at"])
        if not re.fullmatch("[0-9a-f]{64}", row["sha"]) or not isinstance(row["size"], int):
            return "it names no file"
        return _types(row, ("name",))

    yield from _each(db, "media", "sha", read)


def _decisions(db: sqlite3.Connection) -> Iterator[Problem]:
    def read(row: rows.Row) -> str | None:
        kind, about, value = decisions.Kind(row["kind"]), json.loads(row["about"]), json.loads(row["value"])
        datetime.fromisoformat(row["at"])
        if not isinstance(about, dict) or not isinstance(value, dict):
            return "about and value must be objects"
        if lacks := [*NEEDS.get(kind, frozenset()) - {*about, *value}]:
            return f"it does not say {', '.join(sorted(lacks))}"
        return _types(row, ("who",))

    yield from _each(db, "decisions", "id", read)


_FACT = frozenset(("start", "end", "quote", "subject", "action"))
_FOLLOWUP = frozenset(("check", "room", "subject", "quote"))
_PAIR = frozenset(("key", "other"))
NEEDS = {
    decisions.Kind.ACCEPT: _FACT, decisions.Kind.REJECT: _FACT, decisions.Kind.CORRECT: _FACT | {"field", "value"},
    decisions.Kind.ADD: _FACT, decisions.Kind.WORD: {"start", "quote", "now"},
    decisions.Kind.CLOSE: _FOLLOWUP | {"why"}, decisions.Kind.REOPEN: _FOLLOWUP,
    decisions.Kind.ASSIGN: _FOLLOWUP | {"to"}, decisions.Kind.MERGE: _PAIR, decisions.Kind.PART: _PAIR,
    decisions.Kind.SIGN: {"facts", "open", "room", "day"},
    decisions.Kind.PLACE: {"photo", "room"}, decisions.Kind.FORGET: {"digests"},
}  # fmt: skip
"""What decisions of each kind must say."""


def _transcripts(db: sqlite3.Connection) -> Iterator[Problem]:
    from notes import hearing, transcribe

    def read(row: rows.Row) -> str | None:
        key, _, number = row["key"].partition("/")
        if number:
            hearing.from_json(row["transcript"])
            return None if number.isdigit() else "its key is no key"
        heard = transcribe.from_json(row["transcript"])
        if transcribe.cache_key(row["media"], heard.model, heard.settings) != key:
            return "its key is not that of its recording, model and settings"
        return _spans(heard.text, heard.words) or _unchanged(json.loads(short.full(row["transcript"])), heard.text)

    for problem in _each(db, "transcripts", "key", read):
        key = problem.about.split("'")[1]
        used = db.execute("SELECT 1 FROM memos WHERE transcript = ?", (key,)).fetchone()
        yield problem if used else _drop(problem, key)


def _drop(problem: Problem, key: str) -> Problem:
    def mend(db: sqlite3.Connection) -> None:
        db.execute("DELETE FROM transcripts WHERE key = ?", (key,))

    return Problem(problem.what, problem.about, "repair removes it; the recording is heard again when needed", mend)


def _spans(text: str, words: Any) -> str | None:
    """Words carry the letters of the text at their place, or what was put right there."""
    bad = next((w for w in words if text[w.start : w.end] != w.text), None)
    return f"the word {bad.text!r} does not stand at {bad.start}" if bad else None


def _unchanged(words: Mapping[str, Any], text: str) -> str | None:
    return None if timed.agree(words, text) else "its text or the times of its words have changed"


# --- memos, photos, follow-ups


def _memos(db: sqlite3.Connection) -> Iterator[Problem]:
    heard = {row["key"]: row["transcript"] for row in db.execute("SELECT key, transcript FROM transcripts")}

    def read(row: rows.Row) -> str | None:
        memo = rows.memo(row)
        rows.facts_from(row["said"])
        Carry.from_json(short.full(row["carry"]))
        if memo.at.timestamp() != row["moment"]:
            return "its time is told twice and not alike"
        if row["transcript"] and json.loads(short.full(heard[row["transcript"]]))["text"] != memo.raw:
            return "its words are not those of its transcript"
        words = json.loads(short.full(row["words"]))
        wrong = _types(row, ("id", "digest", "raw", "text", "at_source")) or _spans(memo.text, memo.words)
        return wrong or (None if isinstance(words, list) else _unchanged(words, memo.text))

    yield from _each(db, "memos", "id", read)


def _photos(db: sqlite3.Connection) -> Iterator[Problem]:
    def read(row: rows.Row) -> str | None:
        if rows.photo(row).at.timestamp() != row["moment"]:
            return "its time is told twice and not alike"
        rows.look(row)
        return _types(row, ("id", "digest", "caption"))

    yield from _each(db, "photos", "id", read)


def _followups(db: sqlite3.Connection, job: Job) -> Iterator[Problem]:
    def read(row: rows.Row) -> str | None:
        rows.followup(row)
        if not isinstance(json.loads(row["facts"]), list):
            return "its facts are no list"
        return _types(row, ("key", "title", "quote", "closes"))

    def anew(db: sqlite3.Connection) -> None:
        db.execute("DELETE FROM followups")
        derive.refresh(db, job, None)

    for problem in _each(db, "followups", "id", read):
        yield Problem(problem.what, problem.about, "repair works all of them out again", anew)


# --- against the originals


def _said_as_filed(db: sqlite3.Connection, job: Job, store: Store) -> Iterator[Problem]:
    """Typed memos whose words are not those of their original."""
    from notes import clock

    zone = clock.zone_of(job.zone)
    sql = "SELECT memos.*, media.kind FROM memos JOIN media ON sha = media WHERE kind IN ('note', 'memos') ORDER BY row"
    told: dict[str, set[tuple[datetime, str | None, str]]] = {}
    for row in db.execute(sql).fetchall():
        memo = rows.memo(row)
        try:
            path = store.path(row["media"])
            store.verify(row["media"])
            if row["kind"] == Kind.NOTE:
                agree = typed.note(path) == memo.raw
            else:
                said = told.setdefault(row["media"], _lines(path, zone))
                agree = (memo.at, memo.speaker, memo.raw) in said
        except MediaError:  # changed or gone: told among the originals
            continue
        if not agree:
            yield Problem("a memo does not say what its original says", f"memo {memo.id}", BACKUP)


def _lines(path: Any, zone: Any) -> set[tuple[datetime, str | None, str]]:
    found = (entry.memo for entry in typed.lines(path, zone, path) if isinstance(entry, typed.Typed))
    return {_line(memo) for memo in found}


def _line(memo: Memo) -> tuple[datetime, str | None, str]:
    return memo.at, memo.speaker, memo.raw
