"""An action as it stands in its clause: what the rules about idle words look at."""

from __future__ import annotations

from dataclasses import dataclass

from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.mentions import Node
from notes.reading.said import Said


@dataclass(frozen=True, slots=True)
class Look:
    """An action in its clause: its words, the word before it and the node after it."""

    said: Said
    act: Act
    clause: Clause
    words: str
    before: str
    after: Node | None

    @property
    def sentence(self) -> str:
        return self.said.joined(self.said.start, self.said.end)

    @property
    def rest(self) -> str:
        """The words of the clause after the action."""
        return self.said.joined(self.act.end, self.clause.end)

    @property
    def first(self) -> Node:
        return self.said.row[self.act.start]

    @property
    def last_word(self) -> str:
        return self.said.norm(self.act.end - 1)

    def followed(self) -> bool:
        """Whether a word, not a mark, comes next."""
        return self.after is not None and self.after.kind != "mark"

    def next_is(self, *norms: str) -> bool:
        return self.after is not None and self.after.norm in norms

    def followed_but_by(self, *norms: str) -> bool:
        return self.followed() and not self.next_is(*norms)


def look_at(said: Said, act: Act, clause: Clause) -> Look:
    before = said.norm(act.start - 1) if act.start > said.start else ""
    return Look(said, act, clause, said.joined(act.start, act.end), before, said.after(act))
