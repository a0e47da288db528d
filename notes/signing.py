"""Signing off a day, a room, or a room's day: who, when, what was open, and what each fact said then.

A fact is marked where it says something else today than when it was signed, whatever changed it: a person, new rules,
or a memo that arrived late. So a short digest of every fact is kept with the signature.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple
from zlib import crc32

from notes import decisions, ledger, paging, rows
from notes.book import write
from notes.decisions import Decision, Kind
from notes.model import Fact
from notes.paging import Where

_ALL = 1_000_000


class Signed(NamedTuple):
    """A signature that stands. `facts` maps memo:number to the digest of what the fact said."""

    who: str
    at: datetime
    where: Where
    open: tuple[int, ...]
    facts: Mapping[str, str]

    def changed(self, fact: Fact) -> bool:
        """Whether `fact` says something else than when this was signed."""
        return self.facts.get(_name(fact)) != _digest(fact)


def gone(db: sqlite3.Connection, signed: Signed, where: Where) -> list[str]:
    """What was signed of `where` and is in the log no more, as memo:number: taken out by a person, or read otherwise.

    In which room it stood is known of what the machine read; else it counts for all rooms alone.
    """
    if not signed.facts:
        return []
    left = set(signed.facts) - {f"{row['memo']}:{row['n']}" for row in db.execute("SELECT memo, n FROM facts")}
    return sorted(name for name in left if _was_in(db, name, where))


def _was_in(db: sqlite3.Connection, name: str, where: Where) -> bool:
    memo, _, n = name.rpartition(":")
    row = db.execute("SELECT substr(at, 1, 10) AS day, said FROM memos WHERE id = ?", (memo,)).fetchone()
    if row is None or where.day not in (None, row["day"]):
        return False
    return where.anywhere or any(f.n == int(n) and f.room == where.room for f in rows.facts_from(row["said"]))


def sign(db: sqlite3.Connection, who: str, where: Where) -> int:
    """Sign off a part of the log, keeping what was open then; how many follow-ups that were."""
    with write(db):
        open_now = _open(db, where)
        facts = {_name(said.fact): _digest(said.fact) for said in paging.said(db, where, limit=_ALL)}
        about = {"day": where.day, "room": where.room, "anywhere": where.anywhere}
        value = {"open": open_now, "facts": facts}
        ledger.append(db, Decision(Kind.SIGN, who, decisions.now(), None, about, value))
    return len(open_now)


def _open(db: sqlite3.Connection, where: Where) -> list[int]:
    wanted = paging.Wanted(room=None if where.anywhere else where.room)
    items = paging.followups(db, wanted, limit=_ALL)
    return [item.id for item in items if item.id and (not where.day or item.since.date().isoformat() <= where.day)]


def signatures(db: sqlite3.Connection) -> list[Signed]:
    """The signatures that stand, the newest first."""
    stand = decisions.standing(ledger.all_of(db, (Kind.SIGN,)))
    return [_signed(d) for d in reversed(stand) if d.kind is Kind.SIGN]


def over(found: list[Signed], where: Where) -> Signed | None:
    """The newest of `found` that covers all of `where`."""
    return next((s for s in found if _covers(s.where, where)), None)


def _covers(signed: Where, where: Where) -> bool:
    same_room = signed.anywhere or (not where.anywhere and signed.room == where.room)
    return same_room and signed.day in (None, where.day)


def _signed(decision: Decision) -> Signed:
    about, value = decision.about, decision.value
    where = Where(about["room"], about["day"], bool(about.get("anywhere", about["room"] is None)))
    return Signed(decision.who, decision.at, where, tuple(value["open"]), value.get("facts", {}))


def _name(fact: Fact) -> str:
    return f"{fact.memo}:{fact.n}"


def _digest(fact: Fact) -> str:
    from notes.rows import FACT

    # where in the text it stands may move when a word is put right, and says nothing of the work
    told = [getattr(fact, name) for name in FACT if name not in ("n", "start", "end", "second", "cue", "by", "doubts")]
    return f"{crc32(repr(told).encode('utf-8', 'replace')):08x}"
