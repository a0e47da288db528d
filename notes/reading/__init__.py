"""From a memo's words to facts: pure functions on frozen values."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime

from notes.lexicon import Lexicon
from notes.model import Fact, Job, Memo
from notes.reading.passing import in_passing
from notes.reading.scene import ROOMS_KEPT, Carry, Scene
from notes.reading.voice import voice

__all__ = ["Carry", "Reading", "hotwords", "make_ready", "read"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What was understood of a memo: the memo with misheard words put right, its facts, and what carries on."""

    memo: Memo
    facts: tuple[Fact, ...]
    after: Carry


_BACK = re.compile(
    r"\b(still (in|at|on|up|down|here)|same (room|place|spot)|back in '?h?ere|in '?h?ere again|here again|"
    r"where (i|you) (left|was))\b",
    re.I,
)


_TRADE = (
    "I've run the flow and return in sixteen multilayer, capped it at the joists and lagged it, "
    "and the MDPE and UPVC want ordering."
)


def read(memo: Memo, lexicon: Lexicon, before: Carry, *, believed_only: bool = True) -> Reading:
    """Read `memo` in the light of what came before. Raises nothing: words that say nothing give no facts.

    Not `believed_only`: with the facts that rules found but that are more likely talk.
    """
    from notes.heard import put_right
    from notes.reading.facts import facts

    memo = put_right(memo, lexicon)

    speaker = memo.speaker or voice(memo.text) or ""
    scene = Scene(sized=dict(before.sized), known=dict(before.known), asked=list(before.asked))
    if _BACK.search(memo.text[:110]):
        scene.room = before.rooms.get(speaker, before.last_room)
    found = in_passing(facts(memo, lexicon, scene, believed_only=believed_only))
    rooms = {**before.rooms, **({speaker: scene.room} if scene.room else {})}
    known = dict(list(scene.known.items())[-ROOMS_KEPT:])
    after = Carry(rooms, scene.room or before.last_room, scene.sized, known, tuple(scene.asked[-40:]))
    return Reading(memo, found, after)


def make_ready(lexicon: Lexicon) -> None:
    """Load what the first reading would: a second or two of work, for while something else is waited for."""
    read(Memo("", datetime.min.replace(tzinfo=UTC), "", "In here.", "In here."), lexicon, Carry())


def hotwords(lexicon: Lexicon, job: Job | None) -> list[str]:
    """What to listen for, most important first: a sentence of the trade's, the job's rooms and own words."""
    rooms = [r.name.lower() for r in lexicon.rooms]
    own = list(job.words.values()) if job else []
    return list(dict.fromkeys([_TRADE, *rooms, *own]))
