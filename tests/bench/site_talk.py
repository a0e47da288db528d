"""What is said on a big invented job: rooms, sentences that the product's own reader has read, memos put together."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import lru_cache

from notes.lexicon import load
from notes.model import Fact, Job, Memo, Room, Word
from notes.reading import Carry, read
from notes.reading.scene import ROOMS_KEPT

AT = datetime(2025, 1, 6, 7, 30, tzinfo=UTC)
_KINDS = ("kitchen", "bathroom", "wet room", "utility", "lounge", "airing cupboard")
_SERVICES = (
    "hot", "cold", "hot and cold", "flow and return", "waste", "soil", "gas", "mains", "condensate", "hot return",
    "overflow", "hot and its return",
)  # fmt: skip
_SIZES = ("fifteen", "twenty-two", "twenty-eight", "thirty-five", "ten", "sixteen", "forty mil", "inch and a half")
_MATERIALS = ("copper", "multilayer", "plastic", "steel", "")
_PLACES = (
    "behind the basin", "under the bath", "in the riser", "over the window", "under the sink", "by the door",
    "behind the toilet", "in the ceiling void", "at the back wall", "along the skirting", "under the stairs",
    "behind the shower", "above the boiler", "next to the manifold", "in the corner", "below the worktop",
    "behind the washing machine", "to the left of the window", "in the boxing", "under the landing",
)  # fmt: skip
_THINGS = ("radiator", "towel rail", "isolation valve", "manifold", "pump", "basin", "sink", "thermostat", "stop tap")
_SAID = (
    "I've run the {service} in {size} {material} {place}", "Capped the {service} {place}, {size}",
    "Left the {service} open {place} for now", "The {service} is clipped {place}",
    "Tested the {service} at {bar} bar for {minutes} minutes and it held", "The {service} wants lagging {place}",
    "I've lagged the {service} {place}", "Boards are down over the {service} {place}",
    "Took a photo of the {service} {place}", "I've not tested the {service} yet", "Need to order a {thing}",
    "Fitted the {thing} {place}", "I've connected the {service} to the {thing}",
    "Drilled {count} joists for the {service}",
    "Teed the {service} off {place} in {size} {material}", "The {thing} is still to fit {place}",
    "I think the {service} is {size} {place}", "Put a sleeve on the {service} {place}",
)  # fmt: skip
_BARS, _MINUTES = ("three", "six", "ten", "one and a half"), ("ten", "thirty", "sixty")
_COUNTS = ("two", "three", "four")
_CHATTER = (
    "It's perishing up here and the {odd} lot have been no help at all.",
    "Kettle's on the {odd} side, I'll be ten minutes.",
    "That {odd} lad moved all my gear again, so mind the steps.",
    "There's a mark on the wall from the {odd}, never mind that now.",
    "Right then, that's about it for the minute, the {odd} is shut.",
    "Er, so, what else was there, hang on, no, the {odd} was fine.",
)
_SYLLABLES = "ka ren dil mo sto ver lin gra pe tor wick bas hol nim zeb fa".split()


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence with the facts that the reader finds in it, where a room was named before; they start at 0."""

    text: str
    facts: tuple[Fact, ...]
    after: Carry


def rooms(count: int) -> tuple[Room, ...]:
    """So many rooms: flats of six rooms, four flats a floor."""
    return tuple(Room(f"Flat {n // 6 + 1} {_KINDS[n % 6]}", f"Floor {n // 24 + 1}") for n in range(count))


@lru_cache(maxsize=4)
def lines(count: int = 1500, seed: int = 3) -> tuple[Line, ...]:
    """Different sentences that tell of work in a room."""
    chance, found = random.Random(seed), dict[str, Line]()
    while len(found) < count:
        text = _sentence(chance)
        found.setdefault(text, _read(text))
    return tuple(found.values())


def _sentence(chance: random.Random) -> str:
    parts = {
        "service": _SERVICES, "size": _SIZES, "material": _MATERIALS, "place": _PLACES, "thing": _THINGS, "bar": _BARS,
        "minutes": _MINUTES, "count": _COUNTS,
    }  # fmt: skip
    text = chance.choice(_SAID).format(**{name: chance.choice(ways) for name, ways in parts.items()})
    return " ".join(text.split()) + "."


def _read(text: str, here: str = "In the store. ") -> Line:
    heard = read(Memo("m", AT, "A", here + text, here + text), load(Job("", (Room("Store"),))), Carry())
    facts = (replace(f, start=f.start - len(here), end=f.end - len(here)) for f in heard.facts)
    return Line(text, tuple(facts), heard.after)


def odd_word(chance: random.Random) -> str:
    """A word that is hardly said twice on a small job, more often on a big one."""
    return "".join(chance.choices(_SYLLABLES, k=chance.choice((2, 3, 3, 4))))


@dataclass(frozen=True, slots=True)
class Body:
    """All that a memo says behind its first sentence: its facts start at 0, in no room and no memo."""

    text: str
    facts: tuple[Fact, ...]
    words: tuple[Word, ...]
    known: tuple[str, ...]
    sized: Mapping[str, tuple[str, ...]]


def bodies(count: int, seed: int = 5) -> tuple[Body, ...]:
    """So many different ones, of about ten facts each."""
    chance = random.Random(seed)
    return tuple(_body(chance, lines()) for _ in range(count))


def _body(chance: random.Random, pool: Sequence[Line]) -> Body:
    said, facts, here = list(_said(chance.randint(7, 12), chance, pool)), list[Fact](), 0
    known, sized = dict[str, None](), dict[str, tuple[str, ...]]()
    for line in said:
        for f in line.facts:
            facts.append(replace(f, start=f.start + here, end=f.end + here, n=len(facts)))
        known |= dict.fromkeys(line.after.known.get("Store", ()))
        sized |= line.after.sized
        here += len(line.text) + 1
    text = " ".join(line.text for line in said)
    return Body(text, tuple(facts), tuple(spoken(text, chance)), tuple(known), sized)


def _said(wanted: int, chance: random.Random, pool: Sequence[Line]) -> Iterator[Line]:
    facts = 0
    while facts < wanted:
        line = chance.choice(pool)
        yield line
        facts += len(line.facts) or 1
        if chance.random() < 0.16:
            yield Line(chance.choice(_CHATTER).format(odd=odd_word(chance)), (), Carry())


def spoken(text: str, chance: random.Random) -> Iterator[Word]:
    """Words at the pace of speech, with times to the fiftieth of a second as the model gives them."""
    here, at = 0, chance.randrange(10) / 50
    for word in text.split():
        start = text.index(word, here)
        here, until = start + len(word), round(at + chance.randint(5, 20) / 50, 2)
        yield Word(word, start, here, at, until, round(1 - 0.5 * chance.random() ** 4, 4))
        at = round(until + (chance.randrange(30) / 50 if word[-1] == "." else 0), 2)


def later(words: Iterable[Word], characters: int, seconds: float) -> Iterator[Word]:
    """Words that stand behind so many characters, said so much later."""
    for w in words:
        at, until = round((w.at or 0) + seconds, 2), round((w.until or 0) + seconds, 2)
        yield Word(w.text, w.start + characters, w.end + characters, at, until, w.sure)


def carried(before: Carry, body: Body, room: str | None, speaker: str) -> Carry:
    """What a memo leaves for the next one, as `notes.reading.read` has it."""
    known = dict(before.known)
    if room and body.known:
        known[room] = tuple(dict.fromkeys((*known.pop(room, ()), *body.known)))
    rooms, kept = {**before.rooms, **({speaker: room} if room else {})}, dict(list(known.items())[-ROOMS_KEPT:])
    return Carry(rooms, room or before.last_room, {**before.sized, **body.sized}, kept, before.asked)
