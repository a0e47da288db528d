"""A job out of an export: a new one that is the same to the last row, or one that another person's book is merged into.

Merging keeps both: same media and memos once, every decision of either. What the two say differently is listed for a
person to settle; nothing of this book is overwritten.
"""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from notes import book, clock, derive, disputes, files, filing, forget, ledger, photos, rows, short
from notes import job as jobs
from notes.decisions import Decision, Kind
from notes.errors import MediaError, UsageError, VoidbookError
from notes.export import TABLES, Export, Rows
from notes.filing import NewMemo
from notes.kinds import Kind as FileKind
from notes.lexicon import load as load_lexicon
from notes.model import Job, Memo
from notes.problems import storable
from notes.rowcheck import check, unreadable
from notes.store import Store


@dataclass(slots=True)
class Outcome:
    """What came in, and what the two books say differently."""

    memos: int = 0
    photos: int = 0
    decisions: int = 0
    conflicts: list[str] = field(default_factory=list)


def restore(root: Path, export: Export) -> Outcome:
    """Make the job of `export` in the folder `root`. Raises UsageError where one stands already."""
    if (root / jobs.NAME).exists():
        raise _taken(root)
    jobs.load(export.folder)
    check(export)
    if (root / book.NAME).exists() and not _left_by_us(root, export):
        raise _taken(root)
    root.mkdir(mode=0o700, parents=True, exist_ok=True)
    _keep(root, export.media.values())
    with book.opened(root) as db, book.write(db):
        for table in TABLES if not _has(db) else ():
            _insert(db, table, export.tables[table])
    # last: a folder without it is no job
    files.write(root / jobs.NAME, (export.folder / jobs.NAME).read_bytes())
    told = export.tables
    return Outcome(len(told["memos"]), len(told["photos"]), len(told["decisions"]))


def _taken(root: Path) -> UsageError:
    return UsageError(f"there is a job in {root} already", todo="choose another folder")


def _left_by_us(root: Path, export: Export) -> bool:
    """Whether the book in a folder that is no job yet is what a stopped import of `export` left: empty, or all of it.

    One that holds anything else is somebody's who lost his job.toml.
    """
    with book.opened(root) as db:
        have = {row["digest"] for row in db.execute("SELECT digest FROM memos UNION SELECT digest FROM photos")}
        wanted = {row["digest"] for table in ("memos", "photos") for row in export.tables[table]}
        return not _has(db) or have == wanted


def _has(db: sqlite3.Connection) -> bool:
    return any(db.execute(f"SELECT EXISTS (SELECT 1 FROM {table})").fetchone()[0] for table in TABLES)


def merge(db: sqlite3.Connection, root: Path, job: Job, export: Export) -> Outcome:
    """Bring the memos, photos and decisions of `export` into the book of the job in `root`."""
    check(export)
    refused = _forgotten(db, job, export)
    conflicts = disputes.jobs_apart(job, jobs.load(export.folder))
    conflicts += [
        f"{row['id']}: left out, its file holds what was forgotten here"
        for row in export.tables["memos"]
        if row["media"] in refused
    ]
    export = _without(export, refused)
    _keep(root, export.media.values())
    theirs, before = export.tables["memos"], ledger.all_of(db, Kind)
    outcome = Outcome(conflicts=[*conflicts, *disputes.memos_apart(db, theirs)])
    outcome.memos = len(_file(db, job, export, theirs))
    ids = _now_called(db, theirs)
    with book.write(db):
        outcome.photos = len(_photos(db, job, export.tables["photos"], ids))
        new = _decisions(db, export.tables["decisions"], ids)
        outcome.decisions = len(new)
        outcome.conflicts += disputes.decisions_apart(before, new)
        for memo in {d.memo for d in new if d.memo}:
            derive.settle(db, memo)
        # here, as a stopped merge would bring the decisions and never read by them: the next one finds them known
        for memo in {d.memo for d in new if d.memo and d.kind in (Kind.WORD, Kind.UNDO)}:
            filing.read_inside(db, job, memo)
        derive.refresh(db, job, None)
    return outcome


def _forgotten(db: sqlite3.Connection, job: Job, export: Export) -> set[str]:
    """The originals that hold what was forgotten here: not a byte of them is kept again."""
    zone, found = clock.zone_of(job.zone), set()
    for row in export.tables["media"]:
        try:
            forget.refuse(db, export.media[row["sha"]], FileKind(row["kind"]), zone)
        except MediaError:
            found.add(row["sha"])
    return found


def _without(export: Export, refused: set[str]) -> Export:
    """`export` without these originals and what rests on them."""
    tables = {
        name: [row for row in found if row.get("sha" if name == "media" else "media") not in refused]
        for name, found in export.tables.items()
    }
    return replace(export, tables=tables, media={sha: p for sha, p in export.media.items() if sha not in refused})


def _keep(root: Path, originals: Iterable[Path]) -> None:
    store = Store(root / "media")
    for path in originals:
        if store.put(path).sha != path.name[:64]:
            raise VoidbookError("it changed while it was read", file=path, todo="copy the export again")


def _insert(db: sqlite3.Connection, table: str, found: Rows) -> None:
    """Put rows into a table: the columns that it has. Those that an older export lacks keep their default."""
    known = {column["name"] for column in db.execute(f"PRAGMA table_info({table})")}
    for row in found:
        own = {name: value for name, value in row.items() if name in known}
        own |= {name: short.short(own[name]) for name in short.COLUMNS.get(table, ()) if isinstance(own.get(name), str)}
        if "path" in own:  # of a file whose name is no text
            own["path"] = storable(own["path"])
        try:
            marks = ", ".join(f":{name}" for name in own)
            db.execute(f"INSERT INTO {table} ({rows.columns(own)}) VALUES ({marks})", own)
        except (sqlite3.IntegrityError, sqlite3.ProgrammingError, OverflowError) as wrong:
            raise unreadable(table, wrong) from wrong


def _file(db: sqlite3.Connection, job: Job, export: Export, theirs: Rows) -> list[str]:
    """File the memos that this book has not, read by its own rules and words; their ids."""

    def also() -> None:
        for table in ("media", "transcripts"):
            key = {"media": "sha", "transcripts": "key"}[table]
            have = {row[key] for row in db.execute(f"SELECT {key} FROM {table}")}
            _insert(db, table, [row for row in export.tables[table] if row[key] not in have])

    heard = {row["key"]: row["transcript"] for row in export.tables["transcripts"]}
    return filing.file_memos(db, job, [_new(row, heard) for row in theirs], also)


def _new(row: Mapping[str, Any], heard: Mapping[str, str]) -> NewMemo:
    told = rows.memo(row)
    words = filing.heard_words(heard[row["transcript"]]) if row["transcript"] else ()
    memo = Memo(told.id, told.at, told.speaker, told.raw, told.raw, words, told.seconds, told.sure_of_time)
    return NewMemo(memo, row["digest"], row["at_source"], row["media"], row["transcript"])


def _now_called(db: sqlite3.Connection, theirs: Rows) -> dict[str, str]:
    """What each of their memos is called here."""
    here = {row["digest"]: row["id"] for row in db.execute("SELECT id, digest FROM memos")}
    return {row["id"]: here[row["digest"]] for row in theirs if row["digest"] in here}


def _photos(db: sqlite3.Connection, job: Job, theirs: Rows, ids: Mapping[str, str]) -> list[str]:
    have = {row["digest"] for row in db.execute("SELECT digest FROM photos")}
    taken = {row["id"] for row in db.execute("SELECT id FROM photos")}
    added = []
    for row in theirs:
        if row["digest"] in have:
            continue
        id = rows.free_id(row["id"], taken)
        taken.add(id)
        added.append(id)
        linked = {"id": id, "memo": None, "room": None, "told_memo": ids.get(row["told_memo"] or "")}
        _insert(db, "photos", [{k: v for k, v in (row | linked).items() if k != "row"}])
    found = [db.execute("SELECT * FROM photos WHERE id = ?", (id,)).fetchone() for id in added]
    photos.link(db, load_lexicon(job), found)
    return added


def _decisions(db: sqlite3.Connection, theirs: Rows, ids: Mapping[str, str]) -> list[Decision]:
    """Append the decisions that this book has not, with their memos and undoes as they are called here."""
    have: dict[str, deque[int | None]] = defaultdict(deque)  # the same may be decided twice within a moment
    for d in ledger.all_of(db, Kind):
        have[_same(d)].append(d.id)
    here: dict[int | None, int | None] = {None: None}
    added = []
    for row in sorted(theirs, key=lambda row: int(row["id"])):
        told = _renamed(ledger.decision(row), ids, here)
        if told is None:
            continue
        known = have[_same(told)]
        id = known.popleft() if known else None
        here[int(row["id"])] = id if id is not None else ledger.append(db, told)
        added += [replace(told, id=here[int(row["id"])])] if id is None else []
    return added


def _renamed(told: Decision, ids: Mapping[str, str], here: Mapping[int | None, int | None]) -> Decision | None:
    """A decision in this book's names; None where it is about what this book has not, or only about theirs."""
    lost = (told.memo is not None and told.memo not in ids) or told.undoes not in here
    if lost or told.kind is Kind.FORGET:
        return None
    memo = ids[told.memo] if told.memo else None
    about = {k: _key(v, ids) if k in ("key", "other") else v for k, v in told.about.items()}
    facts = told.value.get("facts")
    value = (
        {**told.value, "facts": {_key(k, ids): v for k, v in facts.items()}} if isinstance(facts, dict) else told.value
    )
    return replace(told, memo=memo, about=about, value=value, undoes=here[told.undoes])


def _key(name: str, ids: Mapping[str, str]) -> str:
    """'m03:2' of theirs as it is called here."""
    memo, _, n = name.rpartition(":")
    return f"{ids.get(memo, memo)}:{n}" if memo else name


def _same(told: Decision) -> str:
    """What is the same in two books of one decision."""
    said = (told.at.isoformat(), told.who, told.kind.value, told.memo, dict(told.about), dict(told.value), told.undoes)
    return json.dumps(said, sort_keys=True, default=str)
