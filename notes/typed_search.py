"""Finding words while they are typed: quick on a book of any size, where a ranking of everything would not be."""

from __future__ import annotations

import sqlite3
from datetime import datetime

from notes import query, rows, search
from notes.lexicon import Lexicon
from notes.model import Fact
from notes.search import MARKS, Found

MOST_RANKED = 1_000
"""Above so many hits the newest come first instead of the best: bm25 looks up the length of every one of them."""


def find(db: sqlite3.Connection, words: str, lexicon: Lexicon, limit: int = 20) -> tuple[list[Found], bool]:
    """As `search.find` while one types; the newest first where very much is met."""
    expression = query.expression(words, lexicon, typing=True)
    if expression is None or not _many(db, expression):
        return search.find(db, words, lexicon, limit=limit, typing=True)
    snippets = {row["row"]: row["snippet"] for row in db.execute(_MEMOS, (*MARKS, expression, limit))}
    facts: dict[int, list[Fact]] = {}
    for row in db.execute(_FACTS, (expression, limit * 4)):
        facts.setdefault(row["memo_row"], []).append(rows.fact(row))
    newest = sorted({*snippets, *facts}, reverse=True)[:limit]
    return [_found(db, row, snippets.get(row), facts.get(row, [])) for row in newest], True


def _many(db: sqlite3.Connection, expression: str) -> bool:
    counts = (
        db.execute(f"SELECT count(*) FROM (SELECT 1 FROM {table} WHERE {table} MATCH ? LIMIT ?)",
                   (expression, MOST_RANKED + 1)).fetchone()[0]
        for table in ("memos_fts", "facts_fts")
    )  # fmt: skip
    return any(count > MOST_RANKED for count in counts)


_MEMOS = """
SELECT rowid AS row, snippet(memos_fts, 0, ?, ?, '…', 32) AS snippet
FROM memos_fts WHERE memos_fts MATCH ? ORDER BY rowid DESC LIMIT ?
"""
_FACTS = """
SELECT facts.*, memos.row AS memo_row FROM
    (SELECT rowid AS id FROM facts_fts WHERE facts_fts MATCH ? ORDER BY rowid DESC LIMIT ?) AS hits
    CROSS JOIN facts ON facts.id = hits.id JOIN memos ON memos.id = facts.memo
"""


def _found(db: sqlite3.Connection, row: int, snippet: str | None, facts: list[Fact]) -> Found:
    memo = db.execute("SELECT id, at, speaker FROM memos WHERE row = ?", (row,)).fetchone()
    in_order = sorted(facts, key=lambda fact: fact.n)
    shown = snippet or f"…{MARKS[0]}{in_order[0].quote}{MARKS[1]}…"
    return Found(memo["id"], datetime.fromisoformat(memo["at"]), memo["speaker"], shown, tuple(in_order))
