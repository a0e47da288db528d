"""A good that heads its sentence, and who is said to have it: 'Lagging, none of them has it', 'caps, hot has one'."""

from __future__ import annotations

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.patterns import macro_words
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_GOODS = {
    norm: action
    for action, name in (
        ("cap", "CAPS"), ("clip", "CLIPS"), ("insulate", "LAGGING"), ("seal", "COLLARS"), ("sleeve", "SLEEVES"),
        ("tee", "TEES"),
    )
    for norm in macro_words(name)
} | dict.fromkeys(("test", "tests", "pressure_test"), "test")  # fmt: skip
_OPENS = frozenset(("the", "their", "its", "any", "as", "for", "and", "then", "now", "fire"))
_TOLD = tuple(
    (status, pattern(f"headed-{name}", "^(?:and |but |though )*", "$"))
    for status, name in ((Status.NOT_DONE, "not"), (Status.TO_DO, "to-do"), (Status.DONE, "done"))
)


def owned(said: Said, number: int) -> list[Event]:
    """What clause `number` says of the good that the first clause of its sentence names, and nothing else."""
    head, clause = said.clauses[0], said.clauses[number]
    action = _GOODS.get(said.norm(head.end - 1)) if number else None
    if action is None or clause.question or not set(said.norms(head.start, head.end - 1)) <= _OPENS:
        return []
    mine = said.named(clause)
    start, end = (mine[0].start, mine[0].end) if mine else (clause.start, clause.start)
    text = " ".join([*said.norms(clause.start, start), *["X"] * len(mine[:1]), *said.norms(end, clause.end)])
    status = next((s for s, way in _TOLD if way.match(text.replace("the X", "X"))), None)
    near = mine or said.groups
    keys = near[0].keys if near else said.scene.group
    if status is None or not keys:
        return []
    act = Act(action, "done", "pipe", clause.start, clause.end)
    return [Event(act, number, status, "headed", keys, None, said.here(), span=(head.start, clause.end))]
