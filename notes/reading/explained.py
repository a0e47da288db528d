"""Why a memo reads as it does: what its words were taken as, which cue decided each status, and the facts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from notes.lexicon import Lexicon
from notes.model import Fact, Memo, Status
from notes.reading.actions import Act
from notes.reading.asides import without_asides
from notes.reading.clauses import Clause
from notes.reading.facts import facts
from notes.reading.goods import with_goods
from notes.reading.mentions import Node, nodes
from notes.reading.nominal import is_size
from notes.reading.repair import repaired
from notes.reading.said import Said, memo_sentences
from notes.reading.scene import Scene
from notes.reading.scope import Found
from notes.reading.sentence import read_sentence
from notes.reading.work import status_of


@dataclass(frozen=True, slots=True)
class Taken:
    """Words at characters `start:end`, and what they were taken as: 'pipe', 'thing', 'size', 'work'... and which."""

    text: str
    start: int
    end: int
    kind: str
    means: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Reaching:
    """A cue that reaches a piece of work: its words, its rule, and how far the rule reaches."""

    text: str
    rule: str
    says: str
    direction: str
    reach: int
    within: str
    stops: tuple[str, ...]
    decided: bool


@dataclass(frozen=True, slots=True)
class Decided:
    """A piece of work: its words, its status, or None where no fact is told, the rule that decided, all its cues."""

    text: str
    action: str
    status: Status | None
    rule: str
    question: bool
    cues: tuple[Reaching, ...]


@dataclass(frozen=True, slots=True)
class Explained:
    """What was read, in the order it was said."""

    taken: tuple[Taken, ...]
    work: tuple[Decided, ...]
    facts: tuple[Fact, ...]
    doubted: tuple[Fact, ...] = ()
    """What the rules found and the reader left out, as words like these are more likely talk."""


def explain(memo: Memo, lexicon: Lexicon, room: str | None = None) -> Explained:
    """Explain `memo` as if it were told in `room`. Raises nothing."""
    row = with_goods(repaired(without_asides(nodes(memo.text, lexicon))))
    taken, work = [_taken(memo.text, row, i) for i, n in enumerate(row) if n.kind not in ("word", "mark")], []
    for said in memo_sentences(memo.text, row, lexicon.rooms, Scene(room=room)):
        read_sentence(said)
        for clause in said.clauses:
            for act in said.acts_in(clause):
                work.append(_decided(said, act, clause))
                taken.append(_work_taken(said, act))
    taken.sort(key=lambda t: (t.start, t.end))
    told = tuple(facts(memo, lexicon, Scene(room=room)))
    found = facts(memo, lexicon, Scene(room=room), believed_only=False)
    numbered = {(f.start, f.end, f.subject, f.action, f.status, f.room) for f in told}
    left = [f for f in found if (f.start, f.end, f.subject, f.action, f.status, f.room) not in numbered]
    return Explained(tuple(taken), tuple(work), told, tuple(left))


_KINDS = {"service": "pipe", "pair": "pipe", "half": "pipe", "item": "thing", "head": "a room's bare name"}
_UNITS = {
    "mm": "length in mm", "inch": "length in inches", "m": "length in metres", "foot": "length in feet",
    "bar": "pressure in bar", "millibar": "pressure in millibar", "min": "minutes", "hour": "hours",
    "other": "another measure", None: "number",
}  # fmt: skip


def _taken(text: str, row: Sequence[Node], i: int) -> Taken:
    node = row[i]
    kind, means = _KINDS.get(node.kind, node.kind), node.keys
    if node.qty is not None:
        kind = "size" if is_size(row, i) else _UNITS[node.qty.unit]
        means = (f"{node.qty.value:g}{' inch' if kind == 'size' and node.qty.unit == 'inch' else ''}",)
    return Taken(text[node.start : node.end], node.start, node.end, kind, means)


def _work_taken(said: Said, act: Act) -> Taken:
    start, end = said.row[act.start].start, said.row[act.end - 1].end
    return Taken(said.text[start:end], start, end, "work", (act.action,))


def _decided(said: Said, act: Act, clause: Clause) -> Decided:
    status, rule = status_of(said, act, clause)
    cues = tuple(_reaching(said, found, rule) for found in said.governing(act, clause))
    return Decided(said.words(act.start, act.end), act.action, status, rule, clause.question, cues)


def _reaching(said: Said, found: Found, rule: str) -> Reaching:
    cue = found.cue
    words, stops = said.words(found.start, found.end), tuple(sorted(cue.stops))
    return Reaching(words, cue.id, cue.status, cue.direction, cue.reach, cue.within, stops, cue.id == rule)
