"""The memos that were forgotten for good, as far as a reader must know: when there was one, and who removed it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime, tzinfo
from typing import NamedTuple

from notes import ledger, wording
from notes.decisions import Decision, Kind


class Gap(NamedTuple):
    """A memo that was said at `at`, `seconds` long (None for what was typed), and removed by `who` at `removed`."""

    at: datetime
    speaker: str | None
    seconds: float | None
    who: str
    removed: datetime

    @property
    def day(self) -> str:
        return self.at.date().isoformat()

    def told(self, zone: tzinfo) -> str:
        """In words; what it spoke of is not known any more."""
        what = "a memo" + (f" by {self.speaker}" if self.speaker else "")
        what += f" of {wording.second(self.seconds)}" if self.seconds else ""
        when = wording.moment(self.removed.astimezone(zone))
        return f"{self.at:%H:%M} · {what} was removed for good by {self.who}, {when}"


def gaps(db: sqlite3.Connection, *, day: str | None = None, since: str | None = None) -> list[Gap]:
    """The gaps in the log, as they were said. `day` and `since` are local dates, YYYY-MM-DD."""
    found = of(ledger.all_of(db, (Kind.FORGET,)))
    return [gap for gap in found if day in (None, gap.day) and (since or "") <= gap.day]


def of(decided: Iterable[Decision]) -> list[Gap]:
    """The gaps that these decisions tell of."""
    return sorted((_gap(d) for d in decided if d.kind is Kind.FORGET), key=lambda gap: gap.at)


def _gap(decision: Decision) -> Gap:
    value = decision.value
    at = datetime.fromisoformat(value["said"])
    return Gap(at, value.get("speaker"), value.get("seconds"), decision.who, decision.at)
