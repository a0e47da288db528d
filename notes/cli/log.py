"""voidbook log: what was said, by day and room."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from datetime import date, tzinfo
from itertools import groupby
from pathlib import Path

import click

from notes import absent, rows, search, signing, wording
from notes.absent import Gap
from notes.cli import common, out
from notes.clock import zone_of
from notes.model import Job
from notes.paging import Where
from notes.signing import Signed


@click.command("log")
@common.in_room
@click.option("--day", metavar="DAY", help="Only this day: 2026-03-02, today, yesterday, monday.")
@click.option("--since", metavar="DAY", help="From this day on.")
@click.option("--new", is_flag=True, help="Only what was filed since you last left the review.")
@common.as_json
@common.in_job
def command(
    room: str | None, day: str | None, since: str | None, new: bool, as_json: bool, folder: Path | None
) -> None:
    """Show what was said of which pipe, by day and room: its state, size, material and place, and the memo."""
    root, job = common.here(folder)
    days = common.day_named(day), common.day_named(since)
    with search.opened(root) as db:
        after = _last_looked(root) if new else 0
        found = search.said(db, room=common.room_named(room, job), day=days[0], since=days[1], after=after)
        lost = absent.gaps(db, day=days[0], since=days[1])
        if as_json:
            out.records([*map(_json, found), *map(_gap_json, lost)])
        else:
            show(job, found, lost, Signatures(db))


def _last_looked(root: Path) -> int:
    from notes.looked import looked  # what --new alone needs

    return looked(root).memo


def _json(said: search.Said) -> dict[str, object]:
    when = {"day": said.at.date().isoformat(), "at": said.at.isoformat(), "sure_of_time": said.sure}
    return {**when, "speaker": said.speaker, **rows.fact_json(said.fact)}


def _gap_json(gap: Gap) -> dict[str, object]:
    return {"day": gap.day, "at": gap.at.isoformat(), "speaker": gap.speaker, "forgotten": True,
            "seconds": gap.seconds, "by": gap.who, "removed": gap.removed.isoformat()}  # fmt: skip


class Signatures:
    """Who signed off what of a job."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db, self._all = db, signing.signatures(db)

    def over(self, room: str | None, day: date) -> Signed | None:
        return signing.over(self._all, Where(room, day.isoformat()))

    def told(self, signed: Signed, room: str | None, day: date, entries: Iterable[search.Said]) -> str:
        """A signature in words, and what came of that part of the log since."""
        changed = sum(signed.changed(said.fact) for said in entries)
        gone = len(signing.gone(self._db, signed, Where(room, day.isoformat())))
        return wording.signed(signed.who, signed.at, changed, gone)


def show(
    job: Job, found: Iterable[search.Said], lost: Sequence[Gap] = (), signatures: Signatures | None = None
) -> None:
    """The log for a person. What was `lost` stands under its day, whatever room is asked for: its own nobody knows."""
    out.line(job.name, bold=True)
    days: dict[date, list[search.Said]] = {}
    for said in found:
        days.setdefault(said.at.date(), []).append(said)
    for gap in lost:
        days.setdefault(gap.at.date(), [])
    zone = zone_of(job.zone)
    for day, entries in sorted(days.items()):
        out.line()
        out.line(wording.day(day), bold=True)
        _show_lost([gap for gap in lost if gap.at.date() == day], zone)
        for room in _rooms(job, entries):
            _show_room(job, room, [said for said in entries if said.fact.room == room], signatures)
    if days:
        out.line()
        out.paragraph(wording.KEY)
    else:
        out.line("Nothing was said then.")


def _show_lost(lost: Sequence[Gap], zone: tzinfo) -> None:
    for n, gap in enumerate(lost):
        if not n:
            out.line()
        out.paragraph(gap.told(zone), first="  ", rest="      ")


def _rooms(job: Job, entries: list[search.Said]) -> list[str | None]:
    """The rooms spoken of, in the order of job.toml; what was said of no room last."""
    spoken = {said.fact.room for said in entries}
    known = [room.name for room in job.rooms if room.name in spoken]
    others = sorted(name for name in spoken if name is not None and name not in known)
    return [*known, *others, *([None] if None in spoken else [])]


def _show_room(job: Job, room: str | None, entries: list[search.Said], signatures: Signatures | None) -> None:
    floor = next((r.floor for r in job.rooms if r.name == room and r.floor), "")
    out.line()
    out.line(f"  {room or 'No room named'}{f' · {floor}' if floor else ''}")
    day = entries[0].at.date()
    signed = signatures.over(room, day) if signatures else None
    if signed and signatures:
        out.paragraph(signatures.told(signed, room, day, entries), first="  ", rest="      ")
    for memo, said_in in groupby(entries, key=lambda said: said.fact.memo):
        _show_memo(memo, list(said_in), signed)


def _show_memo(memo: str, entries: list[search.Said], signed: Signed | None) -> None:
    first = entries[0]
    heading = (f"{first.at:%H:%M}", memo, first.speaker, "" if first.sure else "time not sure")
    out.line(f"  {' · '.join(words for words in heading if words)}")
    for facts in wording.alike(said.fact for said in entries):
        at_second = wording.second(facts[0].second)
        text = wording.told(facts) + (f"  ({at_second})" if at_second else "")
        text += "  changed since signed" if signed and any(map(signed.changed, facts)) else ""
        out.paragraph(text, first=f"    {wording.sign(facts[0])} ", rest="        ")
