"""The values that flow through voidbook: frozen, no behaviour beyond what follows from their own fields."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import NamedTuple


class Status(StrEnum):
    """What a speaker says of a piece of work."""

    DONE = "done"
    NOT_DONE = "not done"
    TO_DO = "to do"
    UNSURE = "unsure"
    DROPPED = "dropped"


PIPES = (
    "cold", "hot", "hot return", "heating flow", "heating return", "ufh flow", "ufh return", "mains", "gas", "oil",
    "waste", "soil", "condensate", "overflow", "discharge", "rainwater",
)  # fmt: skip
"""Services: what runs in a pipe. Only ever added to at the end: books hold some by their number."""

ITEMS = (
    "manifold", "cylinder", "boiler", "pump", "header", "vessel", "valve", "radiator", "towel rail", "basin", "sink",
    "bath", "shower", "toilet", "appliance", "tank", "thermostat", "meter", "fitting", "clips", "insulation", "joist",
    "wall", "floor", "sleeve",
)  # fmt: skip
"""Things that are fitted, moved, ordered or drilled."""

ACTIONS = (
    "run", "tee", "connect", "join", "cap", "leave", "clip", "drill", "notch", "sleeve", "seal", "insulate", "test",
    "fill", "flush", "drain", "isolate", "fit", "remove", "move", "cover", "commission", "order", "decide", "ask",
    "photograph",
)  # fmt: skip

MATERIALS = (
    "copper", "multilayer", "pex", "polybutylene", "plastic", "steel", "cast iron", "mdpe", "upvc", "abs",
    "polypropylene", "lead", "csst", "brass",
)  # fmt: skip


class Room(NamedTuple):
    """A room of the job: its name, floor, and what else people call it."""

    name: str
    floor: str = ""
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """What job.toml says. `words` are the job's own: what is heard -> what is meant."""

    name: str
    rooms: tuple[Room, ...] = ()
    services: tuple[str, ...] = ()
    crew: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    zone: str = "UTC"
    working_pressure_bar: Mapping[str, float] = field(default_factory=dict)
    """Highest working pressure by service, in bar, where known."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a memo: its text, character span in the memo's text, seconds in the sound, probability 0..1."""

    text: str
    start: int
    end: int
    at: float | None = None
    until: float | None = None
    sure: float | None = None
    raw: str | None = None
    """What was heard, where a misheard trade word was put right."""


@dataclass(frozen=True, slots=True)
class Memo:
    """One dictation. `text` is what is read (trade words put right), `raw` what was heard or typed.

    `words` cover `text`; those of a typed note have no seconds. `order` is the place in the order of filing,
    which settles memos of the same time.
    """

    id: str
    at: datetime
    speaker: str | None
    text: str
    raw: str
    words: tuple[Word, ...] = ()
    seconds: float | None = None
    sure_of_time: bool = True
    order: int = 0


class Photo(NamedTuple):
    """A picture, the room and memo it belongs to as far as known."""

    id: str
    at: datetime
    room: str | None = None
    memo: str | None = None
    caption: str = ""
    sure: bool = True
    """Whether the link to the room is sure."""
    sharp: bool = True
    """Whether it is sharp and bright enough to show anything."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing said of one pipe or item in one room.

    `memo` and the character span `start:end` in its text say where; `quote` are those words; `second` is the place
    in the sound. Sizes are nominal millimetres, lengths metres, pressures bar, durations minutes.
    `cue` names the rule that decided the status. `doubts` names the fields heard with low probability or not to be
    trusted. `n` numbers the facts of a memo from 0, in the order they were said.
    """

    memo: str
    n: int
    room: str | None
    subject: str
    action: str
    status: Status
    quote: str
    start: int
    end: int
    size_mm: float | None = None
    to_size_mm: float | None = None
    material: str | None = None
    place: str | None = None
    from_: str | None = None
    to: str | None = None
    length_m: float | None = None
    pressure_bar: float | None = None
    duration_min: float | None = None
    count: int | None = None
    failed: bool = False
    temporary: bool = False
    correction: bool = False
    """The words say that they put an earlier memo right ('I said plastic, it's copper')."""
    everywhere: bool = False
    """Said of the service with no room, of the whole floor or of the whole house."""
    depth_mm: float | None = None
    """Depth of the joist, for joist facts."""
    second: float | None = None
    cue: str | None = None
    doubts: tuple[str, ...] = ()
    id: int | None = None
    """Row in the book, where filed."""
    by: str | None = None
    """The person who added or corrected it; None for what was read from the memo."""


class Step(NamedTuple):
    """One fact's part in a run: what it set."""

    fact: Fact
    memo_at: datetime
    sets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """Facts of one pipe joined up: where it goes, what it is, what state it is in now; or those of a thing.

    `state` holds the words of `STATES` (of a thing: of `tracing.things.STATES`) that are true now. `key` is stable for
    the same first fact.
    """

    key: str
    subject: str
    room: str | None
    rooms: tuple[str, ...] = ()
    place: str | None = None
    from_: str | None = None
    to: str | None = None
    size_mm: float | None = None
    to_size_mm: float | None = None
    material: str | None = None
    length_m: float | None = None
    state: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    parent: str | None = None
    branches: tuple[str, ...] = ()
    maybe_same: tuple[str, ...] = ()
    memo: str | None = None
    """The memo that last said something of it."""
    second: float | None = None


STATES = (
    "run", "capped", "open", "connected", "tested", "not tested", "insulated", "not insulated", "covered",
    "photographed", "temporary", "failed", "dropped", "removed",
)  # fmt: skip


class Severity(StrEnum):
    """How much it matters if a follow-up is forgotten."""

    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    REMINDER = "reminder"


@dataclass(frozen=True, slots=True)
class FollowUp:
    """A question that stays open until a later fact or a person closes it.

    `facts` are those it rests on, first the one that opened it; `closed_by` the fact or person that closed it.
    """

    check: str
    room: str | None
    subject: str | None
    memo: str | None
    title: str
    severity: Severity
    since: datetime
    quote: str = ""
    second: float | None = None
    closes: str = ""
    """What would close it, in words."""
    limit: str = ""
    source: str = ""
    caution: str = ""
    facts: tuple[Fact, ...] = ()
    closed_by: str | None = None
    closed_at: datetime | None = None
    due: str | None = None
    assignee: str | None = None
    id: int | None = None
