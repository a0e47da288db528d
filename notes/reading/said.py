"""One sentence of a memo as the rules see it: its words, clauses, work, cues and pipes, and what came of it so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from notes.model import Room, Status
from notes.reading import scope
from notes.reading.actions import Act, acts
from notes.reading.clauses import Clause, clauses, sentences
from notes.reading.event import Event
from notes.reading.mentions import NAME_KINDS, Node
from notes.reading.scene import Group, Scene


@dataclass(slots=True)
class Said:
    """Nodes `start:end` of a memo's row. What changes while it is read stands last."""

    text: str
    row: list[Node]
    rooms: Sequence[Room]
    scene: Scene
    start: int
    end: int
    clauses: list[Clause]
    acts: list[Act]
    cues: list[scope.Found]
    groups: list[Group] = field(default_factory=list)
    """Pipes named together, in order."""
    taken_back: list[int] = field(default_factory=list)
    """Numbers of the clauses that take back what was just said: 'no, hang on'."""
    corrects: bool = False
    """The sentence puts an earlier memo right: 'I said plastic, it's copper'."""
    headed: str | None = None
    """The thing a heading names: 'Shower, ...'."""
    worked: Event | None = None
    """The last work told."""
    whereabouts: tuple[str | None, ...] | None = None
    """The rooms this sentence tells of, where they are not just the scene's."""
    began: str | None = None
    """The room one was in before this sentence."""
    rooms_told: list[tuple[str | None, ...]] = field(default_factory=list)
    """The rooms of each clause that was read."""

    @property
    def told_last(self) -> Event | None:
        """The work told last, in this sentence or else in the last one that had any."""
        return self.worked or self.scene.told_before

    def norm(self, i: int) -> str:
        return self.row[i].norm if i < len(self.row) else ""

    def norms(self, start: int, end: int) -> list[str]:
        return [n.norm for n in self.row[start:end]]

    def joined(self, start: int, end: int) -> str:
        """The words as they are read."""
        return " ".join(self.norms(start, end))

    def unmarked(self, start: int, end: int) -> str:
        """The same without the marks."""
        return " ".join(n.norm for n in self.row[start:end] if n.kind != "mark")

    def words(self, start: int, end: int) -> str:
        """The words as they stand in the memo."""
        return self.text[self.row[start].start : self.row[end - 1].end]

    def after(self, act: Act) -> Node | None:
        return self.row[act.end] if act.end < self.end else None

    def clause_of(self, i: int) -> int:
        for number, c in enumerate(self.clauses):
            if c.start <= i < c.end:
                return number
        return len(self.clauses) - 1

    def mentioned(self, clause: Clause) -> list[Group]:
        """The pipes that a clause names, also in passing."""
        return [g for g in self.groups if clause.start <= g.start < clause.end]

    def named(self, clause: Clause) -> list[Group]:
        """The pipes that a clause tells of."""
        return [g for g in self.mentioned(clause) if not g.referred]

    def groups_after(self, i: int, clause: Clause) -> list[Group]:
        return [g for g in self.mentioned(clause) if g.start > i]

    def items(self, clause: Clause) -> list[int]:
        return [i for i in range(clause.start, clause.end) if self.row[i].kind == "item"]

    def acts_in(self, clause: Clause) -> list[Act]:
        return [a for a in self.acts if clause.start <= a.start < clause.end]

    def acts_told(self) -> bool:
        """Whether the sentence tells of work, of a pipe or of a thing."""
        return bool(self.acts) or any(n.kind in NAME_KINDS for n in self.row[self.start : self.end])

    def governing(self, act: Act, clause: Clause) -> list[scope.Found]:
        """The cues that reach an action."""
        bounds = (clause.start, clause.end), (self.start, self.end)
        # 'the chairman says no towel rail': words of the work are no cue
        answer = act.action in ("decide", "ask") and act.form == "done"
        others = [c for c in self.cues if not (answer and act.start <= c.start and c.end <= act.end)]
        return [c for c in others if scope.reaches(c, act, self.row, *bounds) and not self._is_of_another(c, act)]

    def _is_of_another(self, cue: scope.Found, act: Act) -> bool:
        """Whether a cue within reach belongs to other words."""
        rules = (
            self._tells_ends,
            self._asks_what_follows,
            self._doubts_what_follows,
            self._tells_size,
            self._guesses_length,
            self._sure_again,
            self._drops_another,
            self._forgets_own,
            self._ticks_off,
        )
        return any(rule(cue, act) for rule in rules)

    def _drops_another(self, cue: scope.Found, act: Act) -> bool:
        """'the bath's not happening, but I've capped the hot': what is called off is named beside the words."""
        if cue.cue.status == "dropped" and act.action == "remove" and _BINNED & set(self.norms(cue.start, cue.end)):
            # 'chopped the old cold out and binned it'
            return act.form == "done" and act.end <= cue.start
        if cue.cue.status != "dropped" or (there := self.clause_of(cue.start)) == self.clause_of(act.start):
            return False
        parts = self.clauses[there], self.clauses[self.clause_of(act.start)]
        its = {"its", "it", "that", "their", "they", "he", "him", "no"} & set(self.norms(parts[1].start, parts[1].end))
        if parts[0].lead == "so" or (parts[1].lead == "so" and cue.start < act.start and its):
            # 'they've gone off the tap, so its cold isn't wanted'
            return False
        off, worked = (self._names(part.start, part.end) for part in parts)
        if not worked and cue.end <= act.start:
            # 'the boiler's binned, so the main comes in under the door and stops there, wide open'
            worked = self._names(self.clauses[there].end, act.start)
        if not off and act.end <= cue.start and there > 0:
            # 'we flushed the heating, the towel rail's dropped, she don't want it no more'
            off = self._names(self.clauses[there - 1].start, cue.start)
            worked = worked or self._names(self.start, parts[1].end)
        if not off and cue.end <= act.start:
            # 'the gas was to move, that's been knocked on the head, and I've capped the oil'
            off = self._names(self.start, cue.start)
        return bool(off and worked) and not off & worked

    def _forgets_own(self, cue: scope.Found, act: Act) -> bool:
        """'the boiler's connected, so you may forget about your shins': what is forgotten is somebody's own."""
        own = self.norm(cue.end) if cue.end < self.end else ""
        return self.norm(cue.start) == "forget" and own in ("your", "my", "his") and act.end <= cue.start

    def _ticks_off(self, cue: scope.Found, act: Act) -> bool:
        """'the hot's capped, so cross that off': work that is done leaves the list, it is not called off."""
        return cue.cue.id == "crossed-off" and act.form == "done" and act.end <= cue.start and act in self.acts

    def _names(self, start: int, end: int) -> set[str]:
        """The pipes that words name, or the things where they name no pipe."""
        named = [n for n in self.row[start:end] if n.kind in NAME_KINDS]
        return {key for n in named if n.kind != "item" for key in n.keys} or {key for n in named for key in n.keys}

    def _asks_what_follows(self, cue: scope.Found, act: Act) -> bool:
        """'..., so would everybody please mind': another clause, that goes on with what is asked."""
        if cue.cue.id != "please":
            return False
        number = self.clause_of(cue.start)
        return number > self.clause_of(act.start) and cue.end < self.clauses[number].end

    def _tells_ends(self, cue: scope.Found, act: Act) -> bool:
        """'brought across to the hatch, where both ends are open': told of the place as well."""
        if self.norm(cue.start) != "where" or act.action not in ("leave", "cap", "join", "tee"):
            return False
        number = self.clause_of(cue.start)
        opens = cue.start == self.clauses[number].start and number > 0
        return opens and bool(self.acts_in(self.clauses[number - 1]))

    def _tells_size(self, cue: scope.Found, act: Act) -> bool:
        """'the hot is twenty-two copper going up to the galley': 'is' belongs to the size."""
        return cue.cue.id == "progressive" and any(n.kind in ("qty", "material") for n in self.row[cue.end : act.start])

    def _guesses_length(self, cue: scope.Found, act: Act) -> bool:
        """'teed off, maybe thirty centimetres before the tap': how far is guessed, not whether."""
        if cue.cue.status != Status.UNSURE or cue.start < act.end:
            return False
        after = self.row[cue.end : min(cue.end + 2, self.end)]
        far = any(n.qty is not None and n.qty.unit in _FAR for n in after) and after[0].kind != "mark"
        return far or (len(after) > 1 and after[0].qty is not None and after[1].norm in _FAR)

    def _doubts_what_follows(self, cue: scope.Found, act: Act) -> bool:
        """'the tank's drained, and I reckon they built the house round it': a clause with a matter of its own."""
        if cue.cue.status != Status.UNSURE or cue.start < act.end:
            return False
        number, away = self.clause_of(cue.start), self.clause_of(cue.start) - self.clause_of(act.start)
        clause = self.clauses[number]
        if away > 1 and clause.lead == "but" and self.acts_in(self.clauses[number - 1]):
            # 'we flushed the heating, the cold's capped but I ain't sure'
            return True
        works = any(a.start >= cue.end for a in self.acts_in(clause))
        return clause.end - cue.end > 2 and (away > 1 or (away == 1 and works))

    def _sure_again(self, cue: scope.Found, act: Act) -> bool:
        """'I think the gas is sleeved, plus I've notched the joist': what I have done is told anew."""
        if cue.cue.status != Status.UNSURE or cue.end > act.start:
            return False
        start = self.clauses[self.clause_of(act.start)].start
        # 'I reckon the cold's capped but I ain't sure, then I drained the heating'
        anew = act.form == "done" and act.start == start + 1 and self.norm(start) in ("i", "we")
        return cue.end <= start and (anew or self.norms(start, start + 2) in _I_HAVE)

    def here(self) -> tuple[str | None, ...]:
        """The rooms of what is told now."""
        return self.whereabouts or (self.scene.room,)

    def there(self, number: int, events: Sequence[Event]) -> tuple[str | None, ...]:
        """The rooms of clause `number`, once all are read: 'cold's in fifteen, then the hall, the rad's up'."""
        told = self.rooms_told[number]
        last = self.clauses[-1]
        moved = any(e.clause > number and e.rooms == self.here() for e in events)
        # '... all lagged bar the overflow, and then airing cupboard'
        moved = moved or (len(self.clauses) - 1 > number and self.norm(last.start - 1) == "then")
        return told if moved and told != (None,) else self.here()

    def off(self) -> list[scope.Found]:
        """The cues that call something off."""
        return [c for c in self.cues if c.cue.status == Status.DROPPED and c.cue.id != "after-all"]


_FAR = frozenset(("m", "foot", "cm", "centimetre", "centimetres", "metre", "metres", "feet"))
_BINNED = frozenset(("binned", "bin", "scrapped", "ditched"))
_I_HAVE = (["i", "have"], ["we", "have"])


def _part_of(act: Act, cue: scope.Found) -> bool:
    """'changed' of 'changed their mind' is no work."""
    return cue.start <= act.start and act.end <= cue.end and act.end - act.start < cue.end - cue.start


def memo_sentences(text: str, row: list[Node], rooms: Sequence[Room], scene: Scene) -> list[Said]:
    """The sentences of a memo. They share its row and scene, as a correction may reach back."""
    cues = scope.found(row)
    work = [a for a in acts(row) if not any(_part_of(a, c) for c in cues)]
    return [
        Said(
            text, row, rooms, scene, start, end, clauses(row, start, end),
            [a for a in work if start <= a.start < end], [c for c in cues if start <= c.start < end],
        )
        for start, end in sentences(row)
    ]  # fmt: skip
