"""A memo's facts: every sentence read in turn, every event written down with the words that say it."""

from __future__ import annotations

from bisect import bisect_right
from typing import Any

from notes.lexicon import Lexicon
from notes.model import Fact, Memo
from notes.reading.asides import without_asides
from notes.reading.belief import believed
from notes.reading.carried import uncarried
from notes.reading.event import Event
from notes.reading.goods import with_goods
from notes.reading.later import added
from notes.reading.mentions import Node, nodes
from notes.reading.other_room import other_room, said_last
from notes.reading.overheard import overheard
from notes.reading.pauses import paused
from notes.reading.proposed import proposed
from notes.reading.repair import repaired
from notes.reading.said import memo_sentences
from notes.reading.scene import Scene
from notes.reading.second import opinion
from notes.reading.sentence import read_sentence
from notes.reading.turning import turned


def facts(memo: Memo, lexicon: Lexicon, scene: Scene, *, believed_only: bool = True) -> list[Fact]:
    """The facts of a memo, in the order they were said; `scene` ends as the memo leaves it.

    Not `believed_only`: also those that are more likely talk.
    """
    row = row_of(memo, lexicon)
    second = opinion(memo.text, row) if believed_only else None
    events: list[Event] = []
    for said in memo_sentences(memo.text, row, lexicon.rooms, scene):
        if other_room(said) or said_last(said, events):
            continue
        before = scene.recent
        found = added(said, read_sentence(said), before)
        if second is not None:
            found = [e for e in found if believed(said, e, second)]
            more = [e for e in proposed(said, found, second) if believed(said, e, second)]
            found = sorted((*found, *more), key=lambda e: e.start)
            overheard(said, found, second)
            uncarried(said, found, second)
        events += found
    out: list[Fact] = []
    for event in events:
        out += _written(memo, row, event, len(out))
    return out


def row_of(memo: Memo, lexicon: Lexicon) -> list[Node]:
    """The nodes of a memo as the rules read them: marks put in, asides and what was put right taken out."""
    heard = any(w.at is not None for w in memo.words)
    return with_goods(repaired(turned(without_asides(paused(nodes(memo.text, lexicon), heard)))))


def _written(memo: Memo, row: list[Node], event: Event, first: int) -> list[Fact]:
    """A fact for each room and each pipe of an event."""
    start, end = row[event.span[0]].start, row[event.span[1] - 1].end
    second = _second(memo, start)
    pairs = [(room, n, key) for room in event.rooms or (None,) for n, key in enumerate(event.keys)]
    return [
        Fact(
            memo.id, first + count, room, key, event.action, event.status, memo.text[start:end], start, end,
            cue=event.cue, second=second, **_slots(event, n),
        )
        for count, (room, n, key) in enumerate(pairs)
    ]  # fmt: skip


def _second(memo: Memo, start: int) -> float | None:
    """Where in the recording the words from character `start` are said, to a tenth; None where it is not known."""
    spot = bisect_right(memo.words, start, key=lambda word: word.start)
    at = memo.words[spot - 1].at if spot else None
    return None if at is None else round(at, 1)


def _slots(event: Event, n: int) -> dict[str, Any]:
    each = (("size_mm", event.per_key_size), ("count", event.per_key_count))
    return event.slots | {name: values[n] for name, values in each if values}
