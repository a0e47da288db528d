"""Which memos and facts meet a question in the full-text indexes, quick on a book of any size. Read only."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from notes import query, rows
from notes.model import Fact

COMMON = 2_000
"""What is met more often than this is not ranked, the newest comes first: to rank, FTS5 looks at every hit of every
word, though few have them all. So far back nobody looks for the best anyway."""


class Hits(NamedTuple):
    """What was met, in order: the row of a memo with its words around what was met, and with facts in it that met it.

    `newest` tells that the order is that of filing, the last first.
    """

    snippets: Mapping[int, str]
    facts: Mapping[int, list[Fact]]
    newest: bool


def meeting(db: sqlite3.Connection, groups: Sequence[str], any_of: bool, limit: int, marks: tuple[str, str]) -> Hits:
    """The best `limit` memos, and facts of as many, that have all of `groups` (of `query.groups`), or any."""
    counts = {index: {group: _count(db, index, group) for group in groups} for index in ("memos_fts", "facts_fts")}
    wanted = _telling(groups, *counts.values()) if any_of else groups
    memos, facts = (_search({group: counts[index][group] for group in wanted}, any_of) for index in counts)
    snippets = {r["row"]: r["snippet"] for r in _run(db, _IN_MEMOS, memos, marks, limit)}
    found: dict[int, list[Fact]] = {}
    for row in _run(db, _IN_FACTS, facts, (), limit * 4):
        found.setdefault(row["memo_row"], []).append(rows.fact(row))
    return Hits(snippets, found, "rank" not in (memos and memos[1], facts and facts[1]) and bool(snippets or found))


_Search = tuple[str, str] | None
"""An expression and the order of what meets it; None where nothing can."""


def _telling(groups: Sequence[str], *counts: Mapping[str, int]) -> list[str]:
    """Those that are met, without those that so much meets that they would hide the others."""
    most = {group: max(count[group] for count in counts) for group in groups}
    there = [group for group in groups if most[group]]
    return [group for group in there if most[group] <= COMMON] or there


def _search(counts: Mapping[str, int], any_of: bool) -> _Search:
    there = [group for group, count in counts.items() if count]
    if not there or (len(there) < len(counts) and not any_of):
        return None
    ranked = all(counts[group] <= COMMON for group in there)
    return query.joined(there, any_of=any_of), "rank" if ranked else "rowid DESC"


def _count(db: sqlite3.Connection, index: str, group: str) -> int:
    """How many rows meet `group`, as far as it matters."""
    sql = f"SELECT count(*) FROM (SELECT 1 FROM {index} WHERE {index} MATCH ? LIMIT {COMMON + 1})"
    return int(db.execute(sql, (group,)).fetchone()[0])


def _run(db: sqlite3.Connection, sql: str, search: _Search, values: tuple[str, ...], limit: int) -> Sequence[Any]:
    if search is None:
        return ()
    expression, order = search
    return db.execute(sql.format(order=order), (*values, expression, limit)).fetchall()


_IN_MEMOS = """
SELECT rowid AS row, snippet(memos_fts, 0, ?, ?, '…', 32) AS snippet
FROM memos_fts WHERE memos_fts MATCH ? ORDER BY {order} LIMIT ?
"""
# the rows of the best alone are looked up
_IN_FACTS = """
SELECT facts.*, memos.row AS memo_row FROM
    (SELECT rowid AS id FROM facts_fts WHERE facts_fts MATCH ? ORDER BY {order} LIMIT ?) AS hits
    CROSS JOIN facts ON facts.id = hits.id JOIN memos ON memos.id = facts.memo
"""
