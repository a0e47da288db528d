"""Facts in a few words for tests: 'hot cap done size_mm=15 to="the basin"', each said in a memo of its own."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta

from notes.checks import follow_ups
from notes.model import ITEMS, PIPES, Fact, FollowUp, Job, Memo, Photo, Run, Status
from notes.runs import join

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
_SUBJECTS = sorted((*PIPES, *ITEMS), key=len, reverse=True)
_TEXTS = frozenset(("room", "material", "place", "from_", "to", "quote", "memo"))
_FLAGS = frozenset(("failed", "temporary", "correction", "everywhere"))
_NAMES = frozenset(f.name for f in fields(Fact))


def fact(line: str, n: int = 0, room: str | None = "Kitchen") -> Fact:
    """One fact; `test passed` and `test failed` are tests that were done. A memo is named m1, m2... after `n`."""
    subject = next(s for s in _SUBJECTS if line.startswith(s + " "))
    action, status, *rest = shlex.split(line[len(subject) :])
    said = dict(word.split("=", 1) for word in rest)
    said.pop("working", None)
    assert said.keys() <= _NAMES, said
    values = {name: _value(name, text) for name, text in said.items()}
    done = {"failed": Status.DONE, "passed": Status.DONE}.get(status) or Status(status.replace("-", " "))
    base = Fact(f"m{n + 1}", n, room, subject, action, done, quote=line, start=0, end=0, failed=status == "failed")
    return replace(base, **values)  # type: ignore[arg-type]


def _value(name: str, text: str) -> object:
    if name in _FLAGS:
        return text == "1"
    return (text or None) if name in _TEXTS else float(text)


def facts(*lines: str, room: str | None = "Kitchen") -> list[Fact]:
    return [fact(line, n, room) for n, line in enumerate(lines)]


def times(said: Iterable[Fact]) -> dict[str, datetime]:
    """A memo an hour, in the order of their numbers."""
    names = sorted({f.memo for f in said}, key=lambda name: int(name[1:]))
    return {name: MONDAY + timedelta(hours=int(name[1:])) for name in names}


def memos(said: Sequence[Fact]) -> dict[str, Memo]:
    when = times(said)
    texts = {name: ". ".join(f.quote for f in said if f.memo == name) + "." for name in when}
    return {name: Memo(name, at, "A", texts[name], texts[name], order=i) for i, (name, at) in enumerate(when.items())}


def runs(*lines: str) -> tuple[Run, ...]:
    said = facts(*lines)
    return join(said, times(said))


def checked(said: Sequence[Fact], job: Job | None = None, photos: Sequence[Photo] = ()) -> tuple[FollowUp, ...]:
    """The follow-ups of these facts, open and closed."""
    when = times(said)
    return follow_ups(said, join(said, when, job.rooms if job else ()), when, photos, job)


def still_open(said: Sequence[Fact], job: Job | None = None, photos: Sequence[Photo] = ()) -> set[str]:
    """The ids of the checks that stand open."""
    return {f.check for f in checked(said, job, photos) if f.closed_by is None}
