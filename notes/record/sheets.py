"""The three sheets: a day, a room, the whole job. Pure, but for the schematic's layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from notes import wording
from notes.absent import Gap
from notes.decisions import Kind
from notes.model import Fact, FollowUp, Memo, Run, Severity, Status
from notes.record import parts
from notes.record.gather import Matter, Shot, moment
from notes.record.page import ABOUT, Block, Cell, Document, Section, Sketch, Table, Words
from notes.sketch import draw

PAGE = 1150.0
"""The highest piece of the schematic, in its own points, that fits on a sheet of A4 with its margins."""


def day(matter: Matter, on: str) -> Document:
    """Who said what on a day: done, left, to order, still open."""
    facts = [fact for fact in matter.facts if matter.day_of(fact.memo) == on]
    shots = [shot for shot in matter.shots if shot.photo.at.date().isoformat() == on]
    items = [item for item in matter.followups if item.since.date().isoformat() == on]
    done = [f for f in facts if f.status is Status.DONE and f.action not in ("order", "ask")]
    wanted = [f for f in facts if f.action == "order" and f.status is not Status.DROPPED]
    rest = [f for f in facts if f not in done and f not in wanted and f.status is not Status.UNSURE]
    sections = [
        _what_it_is(),
        Section("Who spoke", _or_none(_speakers(matter, on, facts), "Nobody spoke that day.")),
        Section("Done", _facts(matter, done, "Nothing was said to be done.")),
        Section("Not done, to do, or dropped", _facts(matter, rest, "Nothing was said to be left.")),
        Section("To order or collect", _facts(matter, wanted, "Nothing was said to be ordered.")),
        Section("Opened that day", _followups(matter, items)),
        Section("Photos", tuple(parts.pictures(matter, shots))),
        Section("What is not known", (*parts.unknown(matter, (), facts, shots), *_lost(matter, on))),
    ]
    named = wording.day(datetime.combine(date.fromisoformat(on), datetime.min.time()))
    return Document(matter.job.name, "Day sheet", named, matter.issued, tuple(sections))


def room(matter: Matter, name: str) -> Document:
    """Everything of one room."""
    sections = [_what_it_is(), *_room(matter, name, level=1)]
    return Document(matter.job.name, "Room record", name, matter.issued, tuple(sections))


def whole(matter: Matter) -> Document:
    """The whole job: schematic, every room, what is open, what was decided."""
    sections = [_what_it_is(), _glance(matter), _schematic(matter)]
    for name in _rooms(matter):
        inside = _room(matter, name, level=2)
        sections += [Section(name or "No room named", ()), *inside] if inside else []
    silent = [r.name for r in matter.job.rooms if r.name not in _rooms(matter)]
    sections += [
        Section("Open follow-ups", _followups(matter, [i for i in matter.followups if not i.closed_by])),
        Section("Closed follow-ups", _followups(matter, [i for i in matter.followups if i.closed_by])),
        Section("Decisions and sign-offs", _or_none(parts.decided(matter), "Nobody has decided or signed anything.")),
        Section("What is not known", tuple(_not_known(matter, silent))),
    ]
    return Document(matter.job.name, "Job record", "the whole job", matter.issued, tuple(sections))


def _what_it_is() -> Section:
    return Section("What this is", tuple(Words(text, caution=True) for text in ABOUT))


def _glance(matter: Matter) -> Section:
    """How much is on record, and what is open."""
    memos = list(matter.memos.values())
    left = Counter(item.severity.value for item in matter.followups if not item.closed_by)
    runs = [run for run in matter.runs if not {"dropped", "removed"} & set(run.state)]
    untested = sum("not tested" in run.state for run in runs)
    hidden = sum({"covered", "not tested"} <= set(run.state) for run in runs)
    sure = [memo for memo in memos if memo.sure_of_time]
    span = f", from {wording.day(sure[0].at)} to {wording.day(sure[-1].at)}" if sure else ""
    span += f"; of {len(memos) - len(sure)} the time is not sure" if len(sure) < len(memos) else ""
    rows = (
        ("Memos", f"{len(memos)}{span}"),
        ("Who spoke", ", ".join(dict.fromkeys(m.speaker or "not known" for m in memos)) or "nobody"),
        ("Photos", f"{len(matter.shots)}, of which {sum(not s.photo.sharp for s in matter.shots)} not clear enough"),
        ("Pipe runs", f"{len(runs)}; {untested} without a passed test on record, {hidden} of these covered"),
        ("Open follow-ups", ", ".join(f"{left[s.value]} {s.value}" for s in Severity if left[s.value]) or "none"),
        ("Signed off", f"{sum(d.kind is Kind.SIGN for d in matter.decided)} times"),
    )
    cells = tuple((Cell(name, strong=True), Cell(text)) for name, text in rows)
    return Section("At a glance", (Table(("What", "On record"), (25, 75), cells),))


def _schematic(matter: Matter) -> Section:
    if not matter.runs:
        return Section("Schematic", (Words("No pipe run is on record."),))
    drawing = draw(matter.runs, matter.job, f"{matter.job.name} · schematic")
    return Section("Schematic", (Sketch(tuple(drawing.pieces(PAGE))),))


def _rooms(matter: Matter) -> list[str | None]:
    """The rooms that anything is on record of, in the order of job.toml; None last."""
    told: set[str | None] = {f.room for f in matter.facts} | {s.photo.room for s in matter.shots}
    known = [r.name for r in matter.job.rooms if r.name in told]
    return [*known, *sorted(n for n in told if n and n not in known), *([None] if None in told else [])]


def _room(matter: Matter, name: str | None, level: int) -> list[Section]:
    runs = [run for run in matter.runs if run.room == name]
    facts = [fact for fact in matter.facts if fact.room == name]
    items = [item for item in matter.followups if item.room == name]
    shots = [shot for shot in matter.shots if shot.photo.room == name]
    fitted = parts.others(facts)
    found = [Section("Pipe runs", _runs(matter, runs), level)]
    if fitted:
        found.append(Section("Other things", (parts.said(matter, fitted),), level))
    if level == 1:  # the whole record tells these once, at its end
        found.append(Section("Follow-ups", _followups(matter, items), level))
    if shots or level == 1:
        found.append(Section("Photos", tuple(parts.pictures(matter, shots)), level))
    if level == 1:
        unknown = (*parts.unknown(matter, runs, facts, shots), *_lost(matter))
        found.append(Section("What is not known", unknown, level))
    return found


def _runs(matter: Matter, runs: Sequence[Run]) -> tuple[Block, ...]:
    if not runs:
        return (Words("No pipe run is on record here."),)
    return parts.runs(matter, runs), parts.evidence(matter, runs)


def _facts(matter: Matter, facts: Iterable[Fact], none: str) -> tuple[Block, ...]:
    return _or_none(parts.said(matter, _by_room(matter, facts), of_room=True), none)


def _by_room(matter: Matter, facts: Iterable[Fact]) -> list[Fact]:
    order = {name: n for n, name in enumerate(_rooms(matter))}
    return sorted(facts, key=lambda fact: order.get(fact.room, len(order)))


def _followups(matter: Matter, items: Sequence[FollowUp]) -> tuple[Block, ...]:
    return _or_none(parts.followups(matter, items), "None on record.")


def _or_none(table: Table, none: str) -> tuple[Block, ...]:
    return (table,) if table.rows else (Words(none),)


def _speakers(matter: Matter, on: str, facts: Sequence[Fact]) -> Table:
    """The memos of a day, with those that were forgotten."""
    spoke = [memo for memo in matter.memos.values() if memo.at.date().isoformat() == on]
    told: list[Memo | Gap] = sorted([*spoke, *(gap for gap in matter.gaps if gap.day == on)], key=lambda one: one.at)
    rows = []
    for one in told:
        when = f"{one.at:%H:%M}"
        if isinstance(one, Gap):
            id, about = "", f"removed for good by {one.who}, {moment(one.removed.astimezone(matter.zone))}"
        else:
            when += "" if one.sure_of_time else ", not sure"
            rooms = dict.fromkeys(f.room for f in facts if f.memo == one.id and f.room)
            id, about = one.id, ", ".join(rooms) or "no room named"
        cells = when, one.speaker or "not known", id, wording.second(one.seconds) or "typed", about
        rows.append(tuple(map(Cell, cells)))
    return Table(("Time", "Who", "Memo", "Length", "Spoke of"), (14, 14, 18, 12, 42), tuple(rows))


def _not_known(matter: Matter, silent: Sequence[str]) -> list[Block]:
    shots: Sequence[Shot] = matter.shots
    order = {name: n for n, name in enumerate(_rooms(matter))}
    runs = sorted(matter.runs, key=lambda run: order.get(run.room, len(order)))
    blocks = parts.unknown(matter, runs, matter.facts, shots)
    if silent:
        blocks.append(Words(f"Rooms of which nothing is on record: {', '.join(silent)}."))
    unsure = [memo.id for memo in matter.memos.values() if not memo.sure_of_time]
    if unsure:
        blocks.append(Words(f"Memos whose time is not sure: {', '.join(unsure)}."))
    if matter.unfiled:
        blocks.append(Words(f"Files that could not be read: {'; '.join(matter.unfiled)}."))
    return [*blocks, *_lost(matter)]


def _lost(matter: Matter, on: str | None = None) -> list[Block]:
    """Memos that were forgotten, of a day or all: what they spoke of, and of which room, nobody knows any more."""
    lost = [gap for gap in matter.gaps if on in (None, gap.day)]
    told = [f"{wording.day(gap.at)}, {gap.told(matter.zone)}" for gap in lost]
    return [Words(f"Removed for good, so that nobody can tell what was said: {'; '.join(told)}.")] if told else []
