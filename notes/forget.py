"""Forgetting a memo for good: recording, transcript, words, facts, what was decided on them, and their traces.

What stays is a note of the gap: who had it forgotten and when, when it was said and how long it was, and digests by
which the same file is refused if it comes again.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Set
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path
from typing import Any

from notes import book, clock, decisions, dictations, filing, ledger, points, search, typed
from notes.decisions import Decision, Kind
from notes.errors import BookError, MediaError
from notes.kinds import Kind as FileKind
from notes.model import Job, Memo
from notes.store import ASIDE, Store, sha_of


@dataclass(frozen=True, slots=True)
class _Gone:
    """What is to be removed with a memo: files by their SHA-256, and the digests that refuse them later."""

    media: tuple[str, ...]
    digests: tuple[str, ...]


def forget(db: sqlite3.Connection, root: Path, job: Job, id: str, who: str) -> Memo:
    """Remove the memo `id` for good; the memo as it was. Raises UsageError, and BookError where traces may remain."""
    store = Store(root / "media")
    with book.worded(root / book.NAME):
        db.execute("PRAGMA secure_delete = ON")
    with book.write(db):
        memo = search.memo(db, id)
        gone = _media(db, store, memo, clock.zone_of(job.zone))
        with _deciding_lifted(db):
            unused = _remove(db, job, memo)
        ledger.append(db, _gap(memo, who, gone))
        for table in book.indexes(db):  # what was deleted stays readable in the index until it is made anew
            db.execute(f"INSERT INTO {table}({table}) VALUES ('rebuild')")
    for sha in (*gone.media, *unused):
        remove_file(store, sha)
    for path in copies(root, {*gone.media, *unused, *gone.digests}, clock.zone_of(job.zone)):
        path.unlink(missing_ok=True)
    points.reach("forget removed")
    wipe(db, root)
    points.reach("forget wiped")
    return memo


def forgotten(db: sqlite3.Connection) -> frozenset[str]:
    """Digests of all that was forgotten: SHA-256 of files, and of what was said in lines of text memos."""
    found = decisions.standing(ledger.all_of(db, (Kind.FORGET,)))
    return frozenset(digest for d in found if d.kind is Kind.FORGET for digest in d.about["digests"])


def refuse(db: sqlite3.Connection, path: Path, kind: FileKind, zone: tzinfo) -> None:
    """Raise MediaError where the file at `path` holds what was forgotten, before a byte of it is kept."""
    known = forgotten(db)
    if known and not known.isdisjoint(_digests(path, kind, zone)):
        what = "it holds a memo that was forgotten for good"
        raise MediaError(what, file=path, todo="take that memo out of it, or leave it where it is")


def remove_file(store: Store, sha: str) -> None:
    """Remove a kept file, where it is there."""
    with suppress(MediaError):
        store.path(sha).unlink(missing_ok=True)


def copies(root: Path, gone: Set[str], zone: tzinfo) -> list[Path]:
    """Files beside the media that hold what is `gone`: suspect originals that were put aside, dictations filed since.

    One that was put aside is no longer what its name says, but may still say enough.
    """
    beside = [*(root / ASIDE).glob("*"), *dictations.folder(root).glob("*")] if gone else []
    return [path for path in beside if path.name[:64] in gone or not gone.isdisjoint(_said_in(path, zone))]


def _said_in(path: Path, zone: tzinfo) -> Iterator[str]:
    with suppress(OSError, MediaError):
        yield from _digests(path, FileKind.MEMOS if path.suffix == ".jsonl" else FileKind.NOTE, zone)


def wipe(db: sqlite3.Connection, root: Path) -> None:
    """Leave no trace of what was deleted in the book's free pages, its log, or in copies from before migrations."""
    for copy in root.glob(f"{book.NAME}.v*"):
        copy.unlink(missing_ok=True)
    with book.worded(root / book.NAME):
        db.execute("PRAGMA secure_delete = ON")
        db.execute("VACUUM")
        busy = db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    if busy:
        what = "forgotten, but another program reads the book, so traces may stay on the disk"
        raise BookError(what, file=root / book.NAME, todo="end it and run: voidbook verify --repair")


# --- what goes


def _media(db: sqlite3.Connection, store: Store, memo: Memo, zone: tzinfo) -> _Gone:
    """Take the memo out of every file that holds it; files with other memos are kept anew without it."""
    row = db.execute("SELECT digest, media, kind FROM memos JOIN media ON sha = media WHERE id = ?", (memo.id,))
    digest, media, kind = row.fetchone()
    if kind != FileKind.MEMOS:
        return _Gone((media,), (digest,))
    gone = [sha for sha in _all_text(db) if _without(db, store, sha, memo, zone)]
    held = tuple({media, *gone})
    return _Gone(held, (*held, said_digest(memo)))


def _all_text(db: sqlite3.Connection) -> list[str]:
    return [row["sha"] for row in db.execute("SELECT sha FROM media WHERE kind = ?", (FileKind.MEMOS.value,))]


def _without(db: sqlite3.Connection, store: Store, sha: str, memo: Memo, zone: tzinfo) -> bool:
    """Keep the text file `sha` anew without the memo and point to that; whether it held it."""
    try:
        path = store.path(sha)
        text = typed.text_of(path)
    except MediaError:
        return False
    lines, said = text.split("\n"), said_digest(memo)
    others = {row["digest"] for row in db.execute("SELECT digest FROM memos WHERE id != ?", (memo.id,))}

    def goes(line: str) -> bool:
        """A twin with a name of its own, filed as another memo, stays: nobody asked for that one to be forgotten."""
        return _line_digest(line, zone) == said and typed.one(line, zone).digest not in others

    # an emptied line keeps the numbers of the others, which may be their ids
    kept = ["" if goes(line) else line for line in lines]
    if kept == lines:
        return False
    put = store.put_bytes("\n".join(kept).encode(), path.suffix)
    db.execute(
        "INSERT OR IGNORE INTO media SELECT ?, kind, name, ?, filed_at FROM media WHERE sha = ?",
        (put.sha, put.size, sha),
    )
    for table in ("memos", "photos"):
        db.execute(f"UPDATE {table} SET media = ? WHERE media = ?", (put.sha, sha))
    db.execute("DELETE FROM media WHERE sha = ?", (sha,))
    return True


def _digests(path: Path, kind: FileKind, zone: tzinfo) -> Iterator[str]:
    yield sha_of(path)
    if kind is FileKind.MEMOS:
        with suppress(MediaError):
            yield from filter(None, (_line_digest(line, zone) for line in typed.text_of(path).split("\n")))


def _line_digest(line: str, zone: tzinfo) -> str | None:
    try:
        return said_digest(typed.one(line, zone).memo) if line.strip() else None
    except MediaError:
        return None


def said_digest(memo: Memo) -> str:
    """What tells a text memo from others whatever it is called: when, by whom and what was said."""
    return hashlib.sha256(json.dumps([memo.at.isoformat(), memo.speaker, memo.raw]).encode()).hexdigest()


def _remove(db: sqlite3.Connection, job: Job, memo: Memo) -> tuple[str, ...]:
    """Remove all rows of the memo, and what later memos and signatures took from it; the file that is of no use now."""
    media = db.execute("SELECT media FROM memos WHERE id = ?", (memo.id,)).fetchone()["media"]
    db.execute(_DECIDED, (memo.id,))
    _from_signatures(db, memo.id)
    db.execute(f"DELETE FROM photos WHERE {_TOLD}", (memo.id,))
    db.execute("UPDATE photos SET told_memo = NULL WHERE told_memo = ?", (memo.id,))
    filing.unfile(db, job, memo.id)
    if db.execute(_USED, (media,)).fetchone():
        return ()
    db.execute("DELETE FROM transcripts WHERE media = ?", (media,))
    db.execute("DELETE FROM media WHERE sha = ?", (media,))
    return (media,)


_TOLD = "told_memo = ?1 AND media IS NULL"
"""Photos that only the memo speaks of."""
_DECIDED = f"""
WITH RECURSIVE gone(id) AS (
    SELECT id FROM decisions WHERE memo = ?1
    UNION
    SELECT id FROM decisions WHERE json_extract(about, '$.photo') IN (SELECT digest FROM photos WHERE {_TOLD})
    UNION
    SELECT decisions.id FROM decisions JOIN gone ON decisions.undoes = gone.id
)
DELETE FROM decisions WHERE id IN gone
"""
_USED = "SELECT 1 FROM memos WHERE media = ?1 UNION ALL SELECT 1 FROM photos WHERE media = ?1"


def _from_signatures(db: sqlite3.Connection, memo: str) -> None:
    """Signatures keep a digest of each fact: those of the memo's facts go."""
    for row in db.execute("SELECT id, value FROM decisions WHERE kind = ?", (Kind.SIGN.value,)).fetchall():
        value: dict[str, Any] = json.loads(row["value"])
        facts = {name: digest for name, digest in value["facts"].items() if name.rpartition(":")[0] != memo}
        if len(facts) < len(value["facts"]):
            kept = json.dumps({**value, "facts": facts}, ensure_ascii=False)
            db.execute("UPDATE decisions SET value = ? WHERE id = ?", (kept, row["id"]))


@contextmanager
def _deciding_lifted(db: sqlite3.Connection) -> Iterator[None]:
    """Without the triggers that refuse to change decisions, inside the caller's transaction."""
    sql = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'decisions'"
    made = db.execute(sql).fetchall()
    for trigger in made:
        db.execute(f'DROP TRIGGER "{trigger["name"]}"')
    yield
    for trigger in made:
        db.execute(trigger["sql"])


def _gap(memo: Memo, who: str, gone: _Gone) -> Decision:
    told = {"said": memo.at.isoformat(), "speaker": memo.speaker, "seconds": memo.seconds}
    return Decision(Kind.FORGET, who, decisions.now(), None, {"digests": gone.digests}, told)
