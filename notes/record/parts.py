"""The tables that sheets are made of. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from notes import wording
from notes.decisions import Decision, Kind
from notes.model import PIPES, Fact, FollowUp, Memo, Run, Status, Step
from notes.record.gather import Matter, Shot, moment
from notes.record.page import Block, Cell, Picture, Pictures, Table, Words

_PIPES = frozenset(PIPES)
NOT_SAID = "not said"


# --- pipe runs


def runs(matter: Matter, found: Sequence[Run]) -> Table:
    """Every run: what it is, where it goes, its state, its test and its photos, each with what it rests on."""
    columns = "Service", "Size and material", "From, to", "State", "Test", "Photos"
    return Table(columns, (12, 16, 23, 15, 16, 18), tuple(_run_row(matter, run) for run in found))


def _run_row(matter: Matter, run: Run) -> tuple[Cell, ...]:
    return (
        Cell(wording.service(run.subject), strong=True),
        _pipe(matter, run),
        _way(matter, run),
        _state(matter, run),
        _test(matter, run),
        _seen(matter, run),
    )


def _set_by(matter: Matter, run: Run, *names: str) -> tuple[str, ...]:
    """What the fact rests on that last set each of `names`."""
    found = []
    for name in names:
        facts = [step.fact for step in run.steps if any(s.startswith(f"{name} ") or s == name for s in step.sets)]
        found += [matter.by(facts[-1])] if facts else []
    return tuple(dict.fromkeys(found))


def _pipe(matter: Matter, run: Run) -> Cell:
    size = " to ".join(f"{mm:g}" for mm in (run.size_mm, run.to_size_mm) if mm is not None)
    parts = (
        f"{size} mm" if size else f"size {NOT_SAID}",
        run.material or f"material {NOT_SAID}",
        f"{run.length_m:g} m long" if run.length_m is not None else "",
    )
    text = ", ".join(part for part in parts if part)
    return Cell(text, _set_by(matter, run, "size", "to size", "material", "length"))


def _way(matter: Matter, run: Run) -> Cell:
    parts = [f"from {run.from_ or NOT_SAID}", f"to {run.to or NOT_SAID}"]
    parts += [f"by way of {', '.join(run.rooms[1:-1])}"] if len(run.rooms) > 2 else []
    parts += [f"where: {run.place}"] if run.place else []
    placed = [matter.by(step.fact) for step in run.steps if step.fact.place and step.fact.place in (run.place or "")]
    return Cell("; ".join(parts), tuple(dict.fromkeys([*_set_by(matter, run, "from", "to"), *placed[-2:]])))


def _state(matter: Matter, run: Run) -> Cell:
    states = [state for state in run.state if state not in ("tested", "not tested", "photographed")]
    said = _set_by(matter, run, *states)
    told = ", ".join(states) or (NOT_SAID if run.state else wording.state(run))
    return Cell(told, said or (matter.rests_on(run.memo, run.second),))


def _test(matter: Matter, run: Run) -> Cell:
    tests = [s.fact for s in run.steps if s.fact.action == "test" and s.fact.status is Status.DONE]
    if not tests:
        return Cell("no test on record")
    last = tests[-1]
    told = [f"{last.pressure_bar:g} bar" if last.pressure_bar is not None else f"pressure {NOT_SAID}"]
    told += [f"{last.duration_min:g} min" if last.duration_min is not None else f"time {NOT_SAID}"]
    return Cell(f"said to have {'failed' if last.failed else 'held'}: {', '.join(told)}", (matter.by(last),))


def _seen(matter: Matter, run: Run) -> Cell:
    shots = photos_of(matter, run)
    if not shots:
        told = _set_by(matter, run, "photographed")
        return Cell("said to be photographed, none filed" if told else "none", told)
    named = [s.photo.id + ("" if s.photo.sharp else " (not clear enough)") for s in shots if s.photo.sure]
    doubtful = sum(not s.photo.sure for s in shots)
    more = [f"{len(named) - 3} more"] if len(named) > 3 else []
    more += [f"{doubtful} whose link is not sure"] if doubtful else []
    return Cell("; ".join([*named[:3], *more]))


def photos_of(matter: Matter, run: Run) -> list[Shot]:
    """Photos of the run's room that were linked to a memo which spoke of the run."""
    memos = {step.fact.memo for step in run.steps}
    return [shot for shot in matter.shots if shot.photo.room == run.room and shot.photo.memo in memos]


def evidence(matter: Matter, found: Sequence[Run]) -> Table:
    """The words that each run rests on, in the order they were said; runs that rest on the same words together."""
    together: dict[tuple[str, ...], list[Run]] = {}
    for run in found:
        together.setdefault(tuple(f"{wording.doing(s.fact)} {matter.by(s.fact)}" for s in run.steps), []).append(run)
    rows = [
        (Cell(_names(runs), strong=n == 0), *_evidence(matter, step))
        for runs in together.values()
        for n, step in enumerate(runs[0].steps)
    ]
    return Table(("Run", "Said", "In these words"), (24, 18, 58), tuple(rows))


def _names(runs: Sequence[Run]) -> str:
    """'Heating flow, heating return 35 mm copper'."""
    by_pipe: dict[str, list[str]] = {}
    for run in runs:
        by_pipe.setdefault(wording.pipe(run), []).append(wording.service(run.subject))
    return "; ".join(f"{', '.join(names)} {pipe}".strip() for pipe, names in by_pipe.items())


def _evidence(matter: Matter, step: Step) -> tuple[Cell, Cell]:
    fact = step.fact
    return Cell(wording.doing(fact)), Cell(f"“{fact.quote}”", (matter.by(fact),))


# --- facts


def said(matter: Matter, facts: Iterable[Fact], *, of_room: bool = False) -> Table:
    """Facts as statements, those of one breath together."""
    columns = ("Room", "What", "In these words") if of_room else ("What", "In these words")
    widths = (18.0, 38.0, 44.0) if of_room else (45.0, 55.0)
    rows = []
    for group in wording.alike(facts):
        who = matter.memos[group[0].memo].speaker if group[0].memo in matter.memos else None
        cell = Cell(wording.told(group))
        spoken = Cell(f"{f'{who}: ' if who else ''}“{group[0].quote}”", (matter.by(group[0]),))
        rows.append((Cell(group[0].room or "no room named"), cell, spoken) if of_room else (cell, spoken))
    return Table(columns[: len(widths)], widths, tuple(rows))


def others(facts: Iterable[Fact]) -> list[Fact]:
    """Facts of what is no pipe: what was fitted, ordered, drilled."""
    return [fact for fact in facts if fact.subject not in _PIPES]


# --- follow-ups, decisions, photos, what is not known


def followups(matter: Matter, items: Iterable[FollowUp]) -> Table:
    """What is open or was closed, worst first."""
    rows = []
    for item in items:
        what = item.title + (f"; {item.limit} ({item.source})" if item.limit else "")
        given = "; ".join(
            w for w in (f"for {item.assignee}" if item.assignee else "", f"due {item.due}" if item.due else "") if w
        )
        left = (
            f"closed by {item.closed_by}"
            if item.closed_by
            else " ".join(w for w in (item.closes, item.caution, given) if w)
        )
        since = matter.rests_on(item.memo, item.second) or moment(item.since)
        closed = (moment(item.closed_at.astimezone(matter.zone)),) if item.closed_at else ()
        shown = (
            Cell(item.severity.value, strong=True),
            Cell(item.room or "no room named"),
            Cell(what, (since,)),
            Cell(left, closed),
        )
        rows.append(shown)
    return Table(("Weight", "Room", "What", "Closes with"), (11, 17, 38, 34), tuple(rows))


def decided(matter: Matter) -> Table:
    """What people decided, and what they signed off."""
    rows = [
        (Cell(moment(d.at.astimezone(matter.zone))), Cell(d.who), Cell(d.kind.value, strong=True), _about(matter, d))
        for d in matter.decided
    ]
    return Table(("When", "Who", "Decided", "About"), (20, 14, 14, 52), tuple(rows))


def _about(matter: Matter, decision: Decision) -> Cell:
    about, value = decision.about, decision.value
    if decision.kind is Kind.SIGN:
        what = " · ".join(str(about[k]) for k in ("room", "day") if about.get(k)) or "the whole job"
        left = value.get("open") or ()
        return Cell(f"{what}; open then: {len(left) if isinstance(left, (list, tuple)) else NOT_SAID}")
    told = [f"“{about['quote']}”"] if about.get("quote") else []
    told += [f"{about['subject']} {about['action']}"] if about.get("action") else []
    told += [str(about["check"])] if about.get("check") else []
    told += [f"{k}: {v}" for k, v in value.items() if v not in (None, "", [], {}) and k not in ("start", "end")]
    return Cell("; ".join(told), (matter.rests_on(decision.memo),) if decision.memo else ())


def pictures(matter: Matter, shots: Sequence[Shot]) -> list[Block]:
    """Photos with what they are linked to, doubtful links shown as such; those whose file is not here by name."""
    shown = tuple(_picture(matter, shot) for shot in shots if shot.media)
    named = [_picture(matter, shot) for shot in shots if not shot.media]
    blocks: list[Block] = [Pictures(shown)] if shown else []
    if named:
        told = "; ".join(f"{p.caption} ({p.rests_on})" for p in named)
        blocks.append(Words(f"Photos spoken of, whose files are not in the job: {told}."))
    return blocks or [Words("No photo is on record.")]


def _picture(matter: Matter, shot: Shot) -> Picture:
    photo = shot.photo
    parts = [photo.id, photo.room or "room not known"]
    parts += [] if photo.sure else ["link not sure"]
    parts += [] if photo.sharp else ["not clear enough to show anything"]
    parts += [photo.caption, shot.spot]
    taken = f"taken {moment(photo.at)}"
    linked = f"{taken}; goes with {matter.rests_on(photo.memo)}" if photo.memo else f"{taken}; goes with no memo"
    return Picture(photo.id, shot.media, " · ".join(p for p in parts if p), linked)


def unknown(matter: Matter, found: Sequence[Run], facts: Sequence[Fact], shots: Sequence[Shot]) -> list[Block]:
    """What is not known, said plainly."""
    rows = [
        (Cell(label, strong=True), Cell(", ".join(gaps)), Cell(run.room or "no room named"))
        for label, run, gaps in _gaps(found)
    ]
    blocks: list[Block] = [Table(("Run", "Not known", "Room"), (30, 45, 25), tuple(rows))] if rows else []
    doubted = [fact for fact in facts if fact.doubts or fact.status is Status.UNSURE]
    if doubted:
        blocks += [Words("Heard badly, or the speaker was not sure:"), said(matter, doubted, of_room=True)]
    blocks += _nameless([matter.memos[id] for id in dict.fromkeys(f.memo for f in facts) if id in matter.memos])
    loose = [shot.photo.id for shot in shots if shot.photo.room is None or not shot.photo.sure]
    if loose:
        blocks.append(Words(f"Photos whose room is not sure: {', '.join(loose)}."))
    return blocks or [Words("Nothing was noticed. That does not mean that all was said.")]


def _nameless(memos: Sequence[Memo]) -> list[Block]:
    """Memos of which nobody knows who spoke: said once, not before every word of theirs."""
    found = [memo.id for memo in memos if not memo.speaker]
    which = "any memo told of here" if len(found) == len(memos) else ", ".join(found)
    return [Words(f"Who spoke is not known of {which}.")] if found else []


def _gaps(found: Sequence[Run]) -> Iterator[tuple[str, Run, list[str]]]:
    for run in found:
        if "dropped" in run.state or "removed" in run.state:
            continue
        held = (("size", run.size_mm), ("material", run.material), ("from", run.from_), ("to", run.to))
        gaps = [f"{name} {NOT_SAID}" for name, value in held if value is None]
        gaps += ["no passed test on record"] if "tested" not in run.state else []
        gaps += ["may be the same pipe as another one here"] if run.maybe_same else []
        if gaps:
            yield _names([run]), run, gaps
