"""Signing off a day, a room, or a room's day: who, when, what was open, and what each fact said then.

A fact is marked where it says something else today than when it was signed, whatever changed it: a person, new rules,
or a memo that arrived late. So a short digest of every fact is kept with the signature.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zlib import crc32

from notes import decisions, ledger, paging
from notes.book import write
from notes.decisions import Decision, Kind
from notes.model import Fact
from notes.paging import Where

_ALL = 1_000_000


@dataclass(frozen=True, slots=True)
class Signed:
    """A signature that stands. `facts` maps memo:number to the digest of what the fact said."""

    who: str
    at: datetime
    where: Where
    open: tuple[int, ...]
    facts: Mapping[str, str]

    def changed(self, fact: Fact) -> bool:
        """Whether `fact` says something else than when this was signed."""
        return self.facts.get(_name(fact)) != _digest(fact)


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
