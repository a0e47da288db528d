"""Facts, follow-ups, days and memos as styled text. User text only ever enters as plain characters, cleaned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from textual.content import Content

from tui.bridge import MARKS, Fact, FollowUp, Run, Severity, Status, clean, wording

STATES = {
    Status.DONE: "$text-success", Status.NOT_DONE: "$text-warning", Status.TO_DO: "$text-primary",
    Status.UNSURE: "$text-warning", Status.DROPPED: "$muted",
}  # fmt: skip
WEIGHTS = {
    Severity.HIGH: "$text-error bold", Severity.MEDIUM: "$text-warning", Severity.LOW: "",
    Severity.REMINDER: "$muted",
}  # fmt: skip
SIGNS = {Severity.HIGH: "!!", Severity.MEDIUM: "!", Severity.LOW: "·", Severity.REMINDER: "~"}
MUTED = "$muted"
UNDONE = {"failed": "$text-error bold"} | dict.fromkeys(
    ("open", "not tested", "not insulated", "temporary"), "$text-warning"
)
"""States of a pipe that ask for something yet."""


def plain(text: object) -> Content:
    """User text, harmless."""
    return Content(clean(text))


def said(*parts: tuple[object, str] | object) -> Content:
    """Parts, each plain or with a style."""
    return Content.assemble(*((clean(p[0]), p[1]) if isinstance(p, tuple) else clean(p) for p in parts))


def room(name: str | None) -> str:
    return clean(name) if name else "No room named"


def sign(fact: Fact) -> Content:
    """The state of a fact as a sign, coloured besides."""
    return Content.styled(wording.sign(fact), "$text-error bold" if fact.failed else f"{STATES[fact.status]} bold")


def fact(facts: Sequence[Fact], *notes: str) -> Content:
    """Facts that were said in one breath, as a line, with `notes` behind it."""
    first = facts[0]
    subjects = ", ".join(dict.fromkeys(f.subject for f in facts))
    state = "$text-error" if first.failed else STATES[first.status]
    rest = "".join(f", {words}" for words in wording.details(first))
    marks = "".join(f"  ‹{note}›" for note in notes)
    return said((subjects, "bold"), " ", (wording.doing(first), state), rest, (marks, "$text-warning"))


def followup(item: FollowUp) -> Content:
    """A follow-up as a line."""
    given = [f"for {item.assignee}"] if item.assignee else []
    given += [due(item)] if item.due else []
    given += ["closed"] if item.closed_by else []
    style = MUTED if item.closed_by else WEIGHTS[item.severity]
    return said((item.title, style), (" · " + room(item.room), MUTED), ("".join(f" · {g}" for g in given), "italic"))


def weight(item: FollowUp) -> Content:
    """How much it matters, as a sign."""
    return Content.styled("x" if item.closed_by else SIGNS[item.severity], WEIGHTS[item.severity])


def counts(found: Mapping[Severity, int]) -> Content:
    """How many are open, by weight, in words."""
    parts = [Content.styled(f"{n} {severity}", WEIGHTS[severity]) for severity, n in found.items() if n]
    return Content(" · ").join(parts) if parts else Content("nothing open")


def still_open(found: Mapping[Severity, int]) -> Content:
    """The same, where nothing else says that it is what is open."""
    return Content("open: ") + counts(found) if any(found.values()) else counts(found)


def run(thing: Run) -> Content:
    """A run as a line."""
    parts = (wording.pipe(thing), wording.way(thing.from_, thing.to), thing.place)
    rest = "".join(f", {part}" for part in parts if part)
    state = [(f"{', ' if n else ''}{word}", UNDONE.get(word, "$text-success")) for n, word in enumerate(thing.state)]
    return said((thing.subject, "bold"), " ", *(state or [(wording.state(thing), MUTED)]), rest)


def snippet(text: str) -> Content:
    """Words around a hit, what was met set off by brackets and weight."""
    parts: list[tuple[str, str] | str] = []
    for n, piece in enumerate(text.replace(MARKS[1], MARKS[0]).split(MARKS[0])):
        parts.append((f"[{clean(piece)}]", "$text-accent bold") if n % 2 else clean(piece))
    return Content.assemble(*parts)


def day(text: str) -> str:
    """A day, short: Mon 2 Mar."""
    return wording.moment(_midnight(text)).removesuffix(" 00:00")


def long_day(text: str | None) -> str:
    """A day in full, or all of them."""
    return wording.day(_midnight(text)) if text else "all days"


def due(item: FollowUp) -> str:
    """When a follow-up is due; a day that another program wrote, and that is none, as it stands."""
    try:
        return f"due {day(item.due or '')}"
    except ValueError:
        return f"due {item.due}"


def _midnight(text: str) -> datetime:
    return datetime.fromisoformat(text)
