"""Facts, runs and times in an installer's words. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from itertools import groupby

from notes.model import Fact, Run, Status, Word

SIGNS = {Status.DONE: "+", Status.NOT_DONE: "-", Status.TO_DO: ">", Status.UNSURE: "?", Status.DROPPED: "x"}
STATUSES = {
    Status.DONE: "done", Status.NOT_DONE: "not done", Status.TO_DO: "to do", Status.UNSURE: "not sure",
    Status.DROPPED: "no longer wanted",
}  # fmt: skip
KEY = ", ".join([*(f"{SIGNS[status]} {words}" for status, words in STATUSES.items()), "! failed"])

_DONE = {
    "tee": "teed off", "connect": "connected", "join": "joined", "cap": "capped", "leave": "left open",
    "clip": "clipped", "drill": "drilled", "notch": "notched", "sleeve": "sleeved", "seal": "sealed",
    "insulate": "insulated", "test": "tested", "fill": "filled", "flush": "flushed", "drain": "drained",
    "isolate": "isolated", "fit": "fitted", "remove": "taken out", "move": "moved", "cover": "covered",
    "commission": "commissioned", "order": "ordered", "decide": "decided", "ask": "asked",
    "photograph": "photographed",
}  # fmt: skip
_FIELDS = {
    "size_mm": "size", "to_size_mm": "the size it is reduced to", "from_": "from", "subject": "what it is",
    "action": "what was done", "status": "state", "length_m": "length", "depth_mm": "depth",
    "pressure_bar": "pressure", "duration_min": "time", "count": "how many",
}  # fmt: skip
_PLAN = {"tee": "tee off", "leave": "leave open", "remove": "take out"}


def sign(fact: Fact) -> str:
    """One letter for the state, so that colour never has to tell it."""
    return "!" if fact.failed else SIGNS[fact.status]


def doing(fact: Fact) -> str:
    """What was done or is to be done."""
    done, plan = _DONE.get(fact.action, fact.action), _PLAN.get(fact.action, fact.action)
    if fact.failed:
        return f"{done}, failed"
    return {
        Status.DONE: done,
        Status.NOT_DONE: f"not {done}",
        Status.TO_DO: f"to {plan}",
        Status.UNSURE: f"{done}, not sure",
        Status.DROPPED: f"{plan}: no longer wanted",
    }[fact.status]


def told(facts: Sequence[Fact]) -> str:
    """Facts that differ in nothing but what they are of, as one line."""
    fact = facts[0]
    subjects = ", ".join(dict.fromkeys(f.subject for f in facts))
    return f"{subjects}: {', '.join([doing(fact), *details(fact)])}"


def details(fact: Fact) -> list[str]:
    """What else is known of it, in the order an installer would say it."""
    numbers = (
        (fact.count, "{:g} off"), (fact.length_m, "{:g} m"), (fact.depth_mm, "joist {:g} mm deep"),
        (fact.pressure_bar, "{:g} bar"), (fact.duration_min, "{:g} min"),
    )  # fmt: skip
    found = [pipe(fact), *(form.format(value) for value, form in numbers if value is not None)]
    found += [fact.place or "", way(fact.from_, fact.to)]
    found += ["temporary" if fact.temporary else "", f"put right by {fact.by}" if fact.by else ""]
    found += [f"heard badly: {fields(fact.doubts)}" if fact.doubts else ""]
    return [words for words in found if words]


def fields(names: Iterable[str]) -> str:
    """Fields of a fact as a person calls them: 'size' for size_mm."""
    return ", ".join(_FIELDS.get(name, name) for name in names)


def put_right(values: Mapping[str, object]) -> str:
    """What fields of a fact were changed to: 'room is Yard, size is 28, not failed'."""
    return ", ".join(_put_right(fields([name]), value) for name, value in values.items())


def _put_right(field: str, value: object) -> str:
    if isinstance(value, bool):
        return field if value else f"not {field}"
    if value is None:
        return f"{field} is not said"
    return f"{field} is {f'{value:g}' if isinstance(value, float) else value}"


def since_signed(changed: int, gone: int) -> list[str]:
    """What came of a signed part of the log: how many of its entries were changed, and how many are gone."""
    return [f"{n} {what} since" for n, what in ((changed, "changed"), (gone, "gone")) if n]


def signed(who: str, at: datetime, changed: int, gone: int) -> str:
    """A signature in a line, and what came of that part of the log since."""
    return ", ".join([f"signed off by {who}", moment(at), *since_signed(changed, gone)])


def pipe(thing: Fact | Run) -> str:
    """Size and material."""
    sizes = [f"{size:g}" for size in (thing.size_mm, thing.to_size_mm) if size is not None]
    size = f"{' to '.join(sizes)} mm" if sizes else ""
    return " ".join(word for word in (size, thing.material) if word)


def state(run: Run) -> str:
    """What state a pipe is in; of one that nobody says is there, what is said of it instead."""
    if run.state:
        return ", ".join(run.state)
    said = {step.fact.status for step in run.steps if step.fact.action not in ("ask", "decide", "order")}
    return "not sure" if Status.UNSURE in said else "planned" if Status.TO_DO in said else "not there yet"


def run(run: Run) -> str:
    """A pipe in a line: what it is, where it goes, what state it is in, where that was last said."""
    parts = (pipe(run), way(run.from_, run.to), run.place, state(run))
    return f"{run.subject}: {', '.join(part for part in parts if part)} ({source(run.memo, run.second)})"


def other_than(run: Fact | Run) -> str:
    """Words that tell a run from another of its service in its room."""
    words = run.place or way(run.from_, run.to) or pipe(run)
    return f"{run.subject} {words}".strip() if words else f"other {run.subject}"


def service(name: str) -> str:
    """A service as it stands at the head of a line."""
    return {"ufh flow": "Underfloor flow", "ufh return": "Underfloor return"}.get(name, name[:1].upper() + name[1:])


def way(start: str | None, end: str | None) -> str:
    """Where from and where to."""
    return " ".join([*([f"from {start}"] if start else []), *([f"to {end}"] if end else [])])


def alike(facts: Iterable[Fact]) -> list[list[Fact]]:
    """Neighbours that were said in one breath and differ in nothing but their subject."""
    return [list(group) for _, group in groupby(facts, key=_but_subject)]


def _but_subject(fact: Fact) -> tuple[object, ...]:
    return (fact.memo, fact.room, fact.start, fact.end, fact.failed, doing(fact), tuple(details(fact)))


def second(at: float | None) -> str:
    """A place in the sound, as 1:05."""
    return f"{int(at) // 60}:{int(at) % 60:02}" if at is not None else ""


def source(memo: str | None, at: float | None) -> str:
    """Where it was said."""
    return " ".join(word for word in (memo, second(at)) if word)


def day(at: date) -> str:
    """A day in full; `strftime` would take the names from the machine's language and pads the day."""
    return f"{_DAYS[at.weekday()]} {at.day} {_MONTHS[at.month - 1]} {at.year}"


def moment(at: datetime) -> str:
    """A day and time, short."""
    return f"{_DAYS[at.weekday()][:3]} {at.day} {_MONTHS[at.month - 1][:3]} {at:%H:%M}"


def age(since: datetime, until: datetime) -> str:
    """How many days something has been open."""
    days = max((until - since).days, 0)
    return "open since today" if days == 0 else f"open {count(days, 'day')}"


_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def count(many: int, of: str) -> str:
    """'1 fact', '2 facts', '3 entries', '4 days'."""
    more = f"{of[:-1]}ies" if re.search("[^aeiou]y$", of) else f"{of}s"
    return f"{many} {of if many == 1 else more}"


def misheard(word: Word) -> str:
    """What was heard in place of a word; nothing where only commas, apostrophes or capitals were put right."""
    raw = word.raw or ""
    return raw if _letters(raw) != _letters(word.text) else ""


def _letters(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalnum())
