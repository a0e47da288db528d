"""The tables of the book, as the migrations that made them: only ever added to, never edited once released.

What was taken in:  media, transcripts, memos, photos (an original is named by its SHA-256)
What people said:   decisions (append-only; triggers refuse anything else)
What follows:       facts, followups (derived from memos and decisions; can be made again at any time)
What went wrong:    problems

`memos.said` holds the facts as the machine read them. `facts` holds them with every decision replayed over them.
`memos.carry` is what a memo leaves for the next one in time, so that a memo which arrives late re-reads only those
whose beginning it changes.
"""

from __future__ import annotations

from typing import NamedTuple


class Step(NamedTuple):
    """One migration: its name, its statements, and the tables that get a full-text index with these columns."""

    name: str
    sql: str
    indexed: tuple[tuple[str, tuple[str, ...]], ...] = ()


_FIRST = """
CREATE TABLE media (
    sha TEXT PRIMARY KEY,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    size INTEGER NOT NULL,
    filed_at TEXT NOT NULL
) WITHOUT ROWID;

CREATE TABLE transcripts (
    key TEXT PRIMARY KEY,
    media TEXT NOT NULL REFERENCES media(sha),
    transcript TEXT NOT NULL,
    made_at TEXT NOT NULL
) WITHOUT ROWID;

CREATE TABLE memos (
    row INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    digest TEXT NOT NULL UNIQUE,
    media TEXT NOT NULL REFERENCES media(sha),
    transcript TEXT REFERENCES transcripts(key),
    moment REAL NOT NULL,
    at TEXT NOT NULL,
    at_source TEXT NOT NULL,
    at_sure INTEGER NOT NULL,
    speaker TEXT,
    raw TEXT NOT NULL,
    text TEXT NOT NULL,
    words TEXT NOT NULL,
    seconds REAL,
    said TEXT NOT NULL,
    carry TEXT NOT NULL
);
CREATE INDEX memos_in_time ON memos(moment, row);
CREATE INDEX memos_by_day ON memos(at);

CREATE TABLE photos (
    row INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    digest TEXT NOT NULL UNIQUE,
    media TEXT REFERENCES media(sha),
    moment REAL NOT NULL,
    at TEXT NOT NULL,
    at_source TEXT NOT NULL,
    at_sure INTEGER NOT NULL,
    told_memo TEXT,
    memo TEXT,
    room TEXT,
    caption TEXT NOT NULL,
    sure INTEGER NOT NULL,
    sharp INTEGER NOT NULL
);
CREATE INDEX photos_in_time ON photos(moment, row);

CREATE TABLE decisions (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    kind TEXT NOT NULL,
    memo TEXT,
    about TEXT NOT NULL,
    value TEXT NOT NULL,
    undoes INTEGER REFERENCES decisions(id)
);
CREATE INDEX decisions_by_memo ON decisions(memo);
CREATE TRIGGER decisions_stand BEFORE UPDATE ON decisions
    BEGIN SELECT RAISE(ABORT, 'decisions are only ever added to'); END;
CREATE TRIGGER decisions_stay BEFORE DELETE ON decisions
    BEGIN SELECT RAISE(ABORT, 'decisions are only ever added to'); END;

CREATE TABLE facts (
    id INTEGER PRIMARY KEY,
    memo TEXT NOT NULL REFERENCES memos(id) ON DELETE CASCADE,
    n INTEGER NOT NULL,
    room TEXT,
    subject TEXT NOT NULL,
    action TEXT NOT NULL,
    status TEXT NOT NULL,
    quote TEXT NOT NULL,
    "start" INTEGER NOT NULL,
    "end" INTEGER NOT NULL,
    size_mm REAL,
    to_size_mm REAL,
    material TEXT,
    place TEXT,
    from_ TEXT,
    "to" TEXT,
    length_m REAL,
    pressure_bar REAL,
    duration_min REAL,
    count INTEGER,
    failed INTEGER NOT NULL,
    temporary INTEGER NOT NULL,
    correction INTEGER NOT NULL,
    everywhere INTEGER NOT NULL,
    depth_mm REAL,
    second REAL,
    cue TEXT,
    doubts TEXT NOT NULL,
    "by" TEXT,
    words TEXT NOT NULL,
    UNIQUE (memo, n)
);
CREATE INDEX facts_by_room ON facts(room, subject);
CREATE INDEX facts_by_subject ON facts(subject);

CREATE TABLE followups (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    key TEXT NOT NULL UNIQUE,
    "check" TEXT NOT NULL,
    room TEXT,
    subject TEXT,
    memo TEXT,
    title TEXT NOT NULL,
    severity TEXT NOT NULL,
    since TEXT NOT NULL,
    quote TEXT NOT NULL,
    second REAL,
    closes TEXT NOT NULL,
    "limit" TEXT NOT NULL,
    source TEXT NOT NULL,
    caution TEXT NOT NULL,
    facts TEXT NOT NULL,
    closed_by TEXT,
    closed_at TEXT,
    due TEXT,
    assignee TEXT
);
CREATE INDEX followups_by_room ON followups(room);

CREATE TABLE problems (
    id INTEGER PRIMARY KEY,
    path TEXT NOT NULL,
    line INTEGER NOT NULL,
    reason TEXT NOT NULL,
    media TEXT,
    at TEXT NOT NULL,
    UNIQUE (path, line)
);
"""

_LOOKS = """
ALTER TABLE photos ADD COLUMN sharpness REAL;
ALTER TABLE photos ADD COLUMN brightness REAL;
ALTER TABLE photos ADD COLUMN burnt REAL;
ALTER TABLE photos ADD COLUMN phash TEXT NOT NULL DEFAULT '';
ALTER TABLE photos ADD COLUMN seen TEXT NOT NULL DEFAULT '';
ALTER TABLE photos ADD COLUMN chalked TEXT;
ALTER TABLE photos ADD COLUMN taker TEXT;
CREATE INDEX photos_by_room ON photos(room);
CREATE INDEX photos_by_memo ON photos(memo);
"""
"""What was measured of a photo and read in it, a room written in it for sure, and who took it."""

_BIG = """
PRAGMA defer_foreign_keys = ON;
CREATE TEMP TABLE heard AS SELECT key, media, short(transcript) AS transcript, made_at FROM transcripts;
DROP TABLE transcripts;
CREATE TABLE transcripts (
    key TEXT PRIMARY KEY,
    media TEXT NOT NULL REFERENCES media(sha),
    transcript BLOB NOT NULL,
    made_at TEXT NOT NULL
);
INSERT INTO transcripts SELECT * FROM heard;
DROP TABLE temp.heard;
UPDATE memos SET words = short(words), said = short(said), carry = short(carry);
CREATE INDEX facts_beyond ON facts(subject) WHERE everywhere OR (room IS NULL AND "action" = 'test');
CREATE INDEX decisions_by_kind ON decisions(kind);
CREATE INDEX photos_by_told ON photos(told_memo) WHERE told_memo IS NOT NULL;
"""
"""For big books: long text that is read rarely is kept by `short.short`, and the transcripts are no longer WITHOUT
ROWID, which leaves half of every page of long rows empty. Indexes for what is looked up with every memo that comes."""

STEPS = (
    Step("first", _FIRST, (("memos", ("text",)), ("facts", ("words",)))),
    Step("looks of photos", _LOOKS, (("photos", ("caption", "seen")),)),
    Step("big books", _BIG),
)

VERSION = len(STEPS)
"""Kept in PRAGMA user_version, where a reader can see it without a library."""
