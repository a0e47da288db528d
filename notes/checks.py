"""Facts, runs and photos -> follow-ups, open and closed, each with the words it rests on. Pure.

Room by room: `touched` tells which rooms new facts can change, so that the check of one take looks at those alone.
"""

from __future__ import annotations

from collections import ChainMap, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from itertools import groupby

from notes.checking import figures, hidden, joists, judges
from notes.checking.cases import Book, fold
from notes.checking.catalogue import Check, rules, spoken
from notes.checking.due import due
from notes.checking.judges import Evidence
from notes.checking.scene import Case, Finding, Judge, Scene
from notes.lexicon import Lexicon
from notes.limits import WEAK
from notes.model import Fact, FollowUp, Job, Memo, Photo, Room, Run, Severity, Status
from notes.runs import Reach, everywhere, in_order
from notes.wording import service

Said = Sequence[tuple[Fact, bool]]


def follow_ups(
    facts: Sequence[Fact],
    runs: Sequence[Run],
    memos: Mapping[str, Memo | datetime],
    photos: Sequence[Photo] = (),
    job: Job | None = None,
    lexicon: Lexicon | None = None,
    also: Sequence[Fact] = (),
) -> tuple[FollowUp, ...]:
    """Every follow-up that `facts` opened, closed ones with the fact that closed them, in the order they were opened.

    `memos` gives each memo or, where its text is not at hand, its time. `runs` are those joined from the same facts.
    `also` is what else may be the first of its kind in the job, and is looked at for reminders only.
    """
    evidence = _evidence(memos, photos)
    book = Book(rules(), _judges(evidence, job.working_pressure_bar if job else {}))
    rooms = {room.name: room for room in job.rooms} if job else {}
    steps = _runs_by_fact(runs)
    ordered = in_order(facts, evidence.when)
    found = list(reminders(in_order({*facts, *also}, evidence.when) if also else ordered, evidence))
    for name, said in by_room(ordered, tuple(rooms.values())).items():
        scene = Scene(name, rooms[name or ""].floor if name in rooms else "", runs=steps[name])
        cases = fold(_by_memo(said), book, scene)
        found += [_follow_up(case, name, evidence) for case in cases if _lasted(case)]
    return tuple(sorted(found, key=lambda f: f.since))


def _judges(evidence: Evidence, working: Mapping[str, float]) -> dict[str, Judge]:
    told = (judges.judges(evidence), joists.judges(evidence), hidden.judges(evidence))
    return dict(ChainMap(*told, figures.judges(evidence, working)))


def _evidence(memos: Mapping[str, Memo | datetime], photos: Sequence[Photo]) -> Evidence:
    known = sorted(memos.items(), key=lambda item: item[1].order if isinstance(item[1], Memo) else 0)
    by_room: dict[str | None, list[Photo]] = defaultdict(list)
    for photo in photos:
        by_room[photo.room].append(photo)
    when = {id: memo.at if isinstance(memo, Memo) else memo for id, memo in known}
    return Evidence(when, {id: memo.text for id, memo in known if isinstance(memo, Memo)}, by_room)


def _runs_by_fact(runs: Sequence[Run]) -> dict[str | None, dict[tuple[str, int], list[Run]]]:
    """The runs of each room that each fact is a step of: one said of the whole house is a step of hundreds."""
    found: dict[str | None, dict[tuple[str, int], list[Run]]] = defaultdict(lambda: defaultdict(list))
    for run in runs:
        for step in run.steps:
            found[run.room][step.fact.memo, step.fact.n].append(run)
    return found


def by_room(facts: Sequence[Fact], rooms: Sequence[Room] = ()) -> dict[str | None, list[tuple[Fact, bool]]]:
    """Facts of each room in their order, each with whether it is the room's own or was said of more than the room."""
    reach = Reach(facts, rooms)
    found: dict[str | None, list[tuple[Fact, bool]]] = defaultdict(list)
    for fact in facts:
        found[fact.room].append((fact, True))
        for room in reach.of(fact):
            if room != fact.room:
                found[room].append((fact, False))
    return found


def _by_memo(said: Said) -> Iterator[Said]:
    for _, group in groupby(said, key=lambda item: item[0].memo):
        yield list(group)


def _lasted(case: Case) -> bool:
    """Whether it was still open when the memo that opened it ended."""
    return case.closed_by is None or case.closed_by.memo != case.openings[0].fact.memo


def _follow_up(case: Case, room: str | None, evidence: Evidence) -> FollowUp:
    first, closed = case.openings[0], case.closed_by
    worded = _worded(case.check, first.fact, first.finding, evidence)
    return replace(
        worded, title=worded.title + _left(case), room=room, subject=case.subject,
        facts=tuple(dict.fromkeys(o.fact for o in case.left or case.openings)),
        closed_by=f"{closed.memo}: {closed.quote}" if closed else None,
        closed_at=evidence.when[closed.memo] if closed else None, due=_due(case, evidence),
    )  # fmt: skip


def _left(case: Case) -> str:
    """What is still to be dealt with, where that is no longer what is quoted."""
    first, left = case.openings[0].fact, case.left[0].fact if case.left else None
    if case.closed_by or left is None or left.quote == first.quote:
        return ""
    return f"; left: {left.place or left.quote} ({left.memo})"


def _worded(check: Check, fact: Fact, finding: Finding, evidence: Evidence) -> FollowUp:
    weak = finding.weak or check.confidence in WEAK
    return FollowUp(
        check=check.id, room=None, subject=fact.subject, memo=fact.memo, title=_title(check, fact, finding, weak),
        severity=Severity.REMINDER if weak else check.severity, since=evidence.when[fact.memo], quote=fact.quote,
        second=fact.second, closes=check.settled, limit=finding.limit, caution=check.caution, facts=(fact,),
        source=finding.source or f"{check.source} ({check.confidence})",
    )  # fmt: skip


def _title(check: Check, fact: Fact, finding: Finding, weak: bool) -> str:
    subject, done = service(fact.subject), rules().done.get(fact.action, fact.action)
    words = check.title.format(subject=subject, finding=finding.words, done=done)
    return f"Reminder: {words}" if weak else words


def reminders(facts: Sequence[Fact], evidence: Evidence) -> Iterator[FollowUp]:
    """What is reminded of once a job: the first fact of a kind, or the first one said with certain words."""
    for check in rules().checks:
        if check.scope == "job":
            heard = spoken(check.words)
            said = (f for f in facts if f.subject in check.subjects or (heard and evidence.tells(heard, f)))
            if first := next(said, None):
                yield _worded(check, first, Finding(), evidence)


def _due(case: Case, evidence: Evidence) -> str | None:
    """The day named with the plan that still stands, the latest plan first."""
    plans = (o.fact for o in reversed(case.left or case.openings) if o.fact.status is Status.TO_DO)
    days = (due(f.quote, day) or due(evidence.sentence(f), day) for f in plans if (day := evidence.when[f.memo].date()))
    return next(filter(None, days), None)


@lru_cache(maxsize=1)
def once_a_job() -> frozenset[str]:
    """Ids of the checks that only remind: once a job, of no room, whatever room their fact is of."""
    return frozenset(check.id for check in rules().checks if check.scope == "job")


def touched(new: Iterable[Fact]) -> tuple[frozenset[str | None], frozenset[str]]:
    """What new facts can change: the rooms they are of, and the services that they speak of everywhere."""
    rooms, services = set(), set()
    for fact in new:
        rooms.add(fact.room)
        if everywhere(fact):
            services.add(fact.subject)
    return frozenset(rooms), frozenset(services)


def concerns(fact: Fact, rooms: frozenset[str | None]) -> bool:
    """Whether `fact` is needed to check `rooms` again: it is of one of them, or of more than its own."""
    return fact.room in rooms or everywhere(fact)
