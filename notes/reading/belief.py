"""How far a fact is to be believed: talk that only looks like work is left out.

Rules fire on words that they were not made for: 'it'll start at three', 'that's on her'. What such a fact lacks shows
in what the second reader hears (`second.py`) and in what stands around it: whether its pipe is named or only carried
along, whether a size or an end is told, what leads and follows the words of work, and whether these words were ever
work in memos that people have labelled. Each weighs something; the weights in data/belief.csv are learned by
tests/bench/belief.py from what was found rightly and wrongly in memos that were read for the first time. What only the
second reader hears (`proposed.py`) is weighed the same way. A fact whose sum is below `LEAST` is not told; of those
that rules found `voidbook explain` shows it.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from notes.lexicon import data_rows
from notes.model import ITEMS, PIPES, Status
from notes.reading.event import Event
from notes.reading.said import Said
from notes.reading.second import Opinion

LEAST = 0.0
"""Log odds of being right below which a fact is left out: it is more likely talk."""
_POINTS = frozenset(
    "it them they both that those these this all everything lot one ones other same he him un she each either neither "
    "which its their any none pair first second rest".split()
)
_SLOTS = ("size_mm", "material", "place", "to", "from_")
SURE = range(-8, 5)
"""Steps of log odds that the second reader's opinion is told by."""


def believed(said: Said, event: Event, second: Opinion) -> bool:
    """Whether the words around an event and the second reader speak for it."""
    return summed("belief.csv", ("", *features(said, event, second))) >= LEAST


def summed(file: str, names: Iterable[str]) -> float:
    """The weights of names in a table of data/, log odds; 0 for a name that it does not have."""
    table = _weights(file)
    return sum(table.get(name, 0.0) for name in names)


def features(said: Said, event: Event, second: Opinion) -> list[str]:
    """What speaks for an event or against it, by name."""
    row, act = said.row, event.act
    how = _named(said, event)
    before = row[act.start - 1] if act.start > said.start else None
    after = row[act.end] if act.end < said.end else None
    told = [slot for slot in _SLOTS if event.slots.get(slot)]
    if any(event.per_key_size) and "size_mm" not in told:
        told.append("size_mm")
    return [
        f"{event.action} {event.status}", event.action, f"{event.status}", how, f"{how} {event.action}",
        f"cue {event.cue}",
        *(f"told {slot}" for slot in told), f"lead {said.clauses[min(event.clause, len(said.clauses) - 1)].lead}",
        f"heard {often(_worked().get(said.joined(act.start, act.end), 0))}",
        f"before {before.kind if before else ''}", f"after {after.kind if after else ''}",
        f"before '{before.norm if before else ''}'", f"after '{after.norm if after else ''}'",
        *_seconded(event, second),
    ]  # fmt: skip


def _seconded(event: Event, second: Opinion) -> list[str]:
    """How sure the second reader is of the work in its status, of the work in any, of its pipe or thing, and how much
    surer of another status, of another pipe or thing."""
    at = second.labels
    peak, mean = second.peak(*event.span), second.mean(*event.span)
    work = at[f"{event.action} {event.status}"]
    told = max(second.mean(*event.work)[work], peak[work])
    statuses = [at[f"{event.action} {status}"] for status in Status]
    some = max(peak[n] for n in statuses)
    rival = max(peak[n] for n in statuses if n != work)
    of = max((peak[at[key]] for key in event.keys), default=told)
    beside = max(mean[at[key]] for key in PIPES + ITEMS if key not in event.keys)
    heard = (("work", told), ("some", some), ("of", of), ("rival", rival - told), ("beside", beside - of))
    return [f"{what}>{step}" for what, odds in heard for step in SURE if odds > step]


def _named(said: Said, event: Event) -> str:
    """Whether the words of an event name what was worked on, point to it, or do neither."""
    nodes = said.row[event.span[0] : event.span[1]]
    keys = {key for node in nodes if node.kind != "room" for key in node.keys}
    halves = event.keys and event.keys[0].startswith(("heating", "ufh")) and any(n.kind in _HALVES for n in nodes)
    if halves or keys & set(event.keys):
        return "named"
    return "pointed" if any(node.norm in _POINTS for node in nodes) else "carried"


_HALVES = frozenset(("pair", "half"))
_STEPS = ((0, "never"), (2, "seldom"), (9, "at times"))


def often(count: int) -> str:
    """How often words were work in the labelled memos, in a word."""
    return next((name for most, name in _STEPS if count <= most), "often")


@lru_cache(maxsize=1)
def _worked() -> dict[str, int]:
    return {row["words"]: int(row["count"]) for row in data_rows("worked.csv")}


@lru_cache(maxsize=2)
def _weights(file: str) -> dict[str, float]:
    return {row["name"]: float(row["weight"]) for row in data_rows(file)}
