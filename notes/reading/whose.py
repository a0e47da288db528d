"""Whose a size or a material is: the pipes or the thing that it is said of, and the words that belong to an event."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from notes.reading.clauses import JOINTS, WAITING
from notes.reading.event import Event
from notes.reading.mentions import Node
from notes.reading.nominal import is_size
from notes.reading.said import Said
from notes.reading.things import STRUCTURE

Owner = tuple[str, tuple[str, ...]] | None
"""('pipe' or 'item', its keys)."""

_IS_IN = frozenset(("in", "is", "'s", "are", "being"))
_NOT_BEFORE_THING = frozenset(
    ("for", "with", "to", "and", "on", "in", "at", "from", "off", "through", "is", "'s", "up", "down")
)


def window(said: Said, event: Event, events: Sequence[Event]) -> tuple[int, int]:
    """The nodes whose words may belong to an event: its clause, and clauses without work around it."""
    parts, acting = said.clauses, {e.clause for e in events}
    first = last = event.clause
    while first > 0 and first - 1 not in acting:
        first -= 1
    while last + 1 < len(parts) and last + 1 not in acting and not _starts_new(said, last + 1, event.keys):
        last += 1
    mates = [e for e in events if e is not event and e.clause == event.clause]
    before = [e.act.end for e in mates if e.start < event.start]
    after = [e.start for e in mates if e.start > event.start]
    return max(before, default=parts[first].start), min(after, default=parts[last].end)


def _starts_new(said: Said, number: int, keys: Sequence[str]) -> bool:
    """Whether a clause opens a matter of its own: names pipes other than `keys`, or a condition."""
    clause = said.clauses[number]
    return clause.lead in WAITING or any(set(g.keys) != set(keys) for g in said.named(clause))


def first_told(event: Event, events: Sequence[Event]) -> bool:
    """Whether this is the first work told of its pipes in the sentence."""
    return not any(e.action != event.action and set(e.keys) & set(event.keys) and e.start < event.start for e in events)


def _as_owner(event: Event) -> Owner:
    return ("pipe" if event.piped else "item"), event.keys


def size_owners(said: Said, events: Sequence[Event]) -> dict[int, Owner]:
    """Whose each number of the sentence is, as a size."""
    return {i: _size_owner(said, i, events) for i in numbers(said)}


def numbers(said: Said) -> list[int]:
    return [i for i in range(said.start, said.end) if said.row[i].qty and i not in said.scene.void]


def _size_owner(said: Said, i: int, events: Sequence[Event]) -> Owner:
    """An item's that follows the number, the pipes' of its clause, the last work's before."""
    if not is_size(said.row, i) or _names_another(said.row, i) or _once_meant(said, i):
        return None
    if keys := _thing_after(said.row, i):
        return "item", keys
    if _goes_with(said.row, i):
        return None
    if named := next((g for g in said.groups if 1 < g.start - i <= 4 and _for_it(said.row[i + 1 : g.start])), None):
        return "pipe", named.keys
    number = said.clause_of(i)
    beside = [g for g in said.groups if g.referred and 0 <= i - g.end <= 2 and not _its_start(said, g.start)]
    if beside and all(n in _IS_IN for n in said.norms(beside[-1].end, i)):
        # 'hot and cold, fifteen copper, with waste in forty'
        return "pipe", beside[-1].keys
    mine = said.named(said.clauses[number])
    if before := [g for g in mine if g.start < i]:
        return "pipe", before[-1].keys
    if worked := [e for e in events if e.start <= i and e.clause == number]:
        return _as_owner(worked[-1])
    if mine:
        return "pipe", mine[0].keys
    owner = _owner_before(said, i, events) or _owner_ahead(said, number, events)
    onward = _leads_from(said.row, i) or goes_onward(said, i)
    return None if owner and onward and (owner[0] == "item" or not said.acts_in(said.clauses[number])) else owner


def goes_onward(said: Said, i: int) -> bool:
    """'put a stop tap on it, and from there we're into twenty-eight': what is said at node i is of the next piece."""
    return bool(_ONWARD.search(said.joined(said.clauses[said.clause_of(i)].start, i)))


_ONWARD = re.compile(r"\bfrom (there|that|then)\b")


def _its_start(said: Said, start: int) -> bool:
    """'teed off the main in twenty-two', 'run to the soil in fifty': the pipe at node `start` is where another one
    begins or ends, the size is not its own."""
    ahead = [n for n in said.norms(max(said.start, start - 3), start) if n not in ("the", "that", "his")]
    return ahead[-1:] in (["off"], ["from"], ["to"], ["into"])


def _for_it(between: Sequence[Node]) -> bool:
    """'twenty-two for the hot and cold, fifteen for the return': each size is said of what follows it."""
    told = [n.norm for n in between if n.kind != "material"]
    return told in (["for", "the"], ["for"], ["on", "the"])


def _once_meant(said: Said, i: int) -> bool:
    """'it was going in thirty-two but I've put it in forty': no size that the pipe has."""
    number = said.clause_of(i)
    clause, after = said.clauses[number], said.clauses[number + 1 : number + 2]
    ahead = said.norms(clause.start, i)
    meant = any(a in ("was", "were") and b in _MEANT for a, b in pairwise(ahead))
    return meant and bool(after) and after[0].lead == "but"


_MEANT = frozenset(("going", "meant", "supposed", "to", "down"))


def _leads_from(row: Sequence[Node], i: int) -> bool:
    """'the pump's in, forty out of it': the size of a pipe at the thing."""
    after = [n.norm for n in row[i + 1 : i + 5] if n.kind != "material"]
    return after[:1] != [] and after[0] in ("out", "off", "to", "from", "into") and "it" in after[1:3]


def _goes_with(row: Sequence[Node], i: int) -> bool:
    """'in fifteen with ten mil drops': the size of what comes with the pipe, where no pipe follows."""
    return i > 0 and row[i - 1].norm == "with" and (i + 1 >= len(row) or row[i + 1].kind == "word")


def _names_another(row: Sequence[Node], i: int) -> bool:
    """'welded into the hundred and ten', 'teed out of the old twenty-two': the size names the pipe it joins."""
    j = i - 1 if i and row[i - 1].norm in _THERE_ALREADY else i
    if j < 2 or row[j - 1].norm not in ("the", "that", "his", "their"):
        # 'wastes inch and a quarter into a two inch'
        return j > 1 and row[j - 1].norm in ("a", "an") and row[j - 2].norm in ("into", "off")
    of = j > 2 and [n.norm for n in row[j - 3 : j - 1]] == ["out", "of"]
    if of or row[j - 2].norm in ("into", "onto", "off", "out"):
        return True
    alone = i + 1 >= len(row) or row[i + 1].kind in ("word", "mark")
    joined = row[j - 2].norm in ("to", "on") and any(n.norm in _JOINED for n in row[max(0, j - 6) : j - 2])
    return alone and (joined or row[j - 2].norm in _BESIDE)


_THERE_ALREADY = frozenset(("old", "existing", "main", "incoming", "original"))
_JOINED = frozenset(
    "connected joined tied glued solvented welded soldered coupled fixed linked hooked piped teed".split()
)
"""'glued up to the hundred and ten', 'tied on to the twenty-two'."""
_BESIDE = frozenset("joins join meets beside behind under over above near past with alongside through".split())
"""'15 up to where it joins the 22'."""


def _thing_after(row: Sequence[Node], i: int) -> tuple[str, ...]:
    """'twenty-two lever valve'; but the pipe's own in 'teed off in fifteen, valve on it' where no comma was heard."""
    if i and row[i - 1].norm == "in" and [n.norm for n in row[i + 2 : i + 4]] == ["on", "it"]:
        return ()
    for node in row[i + 1 : i + 4]:
        if node.norm in _ANOTHER_MATTER:
            # 'teed off the cold in fifteen because the shower isn't in'
            break
        if node.kind == "item" and node.keys[0] not in STRUCTURE:
            return node.keys
        between = node.kind == "word" and node.norm not in _NOT_BEFORE_THING
        if not between and node.tag not in ("MAT", "Q-num", "Q-mm"):
            break
    return ()


_ANOTHER_MATTER = (JOINTS - {"and", "plus"}) | {"the", "my", "his", "her"}


def _owner_before(said: Said, i: int, events: Sequence[Event]) -> Owner:
    groups = [g for g in said.groups if g.start < i and not g.referred]
    done = [e for e in events if e.start < i]
    if done and (not groups or done[-1].start > groups[-1].start or _called_it(said, i, done[-1], groups[-1].start)):
        return _as_owner(done[-1])
    return ("pipe", groups[-1].keys) if groups else None


def _called_it(said: Said, i: int, event: Event, named: int) -> bool:
    """'The pump's in, on the return, it's a twenty-two': of the thing, though a pipe was `named` after it."""
    if event.piped or said.clause_of(named) != event.clause:
        return False
    ahead = said.norms(max(said.start, i - 3), i)
    return ahead[:1] == ["it"] and ahead[-1] in ("a", "an", "'s", "is")


def _owner_ahead(said: Said, number: int, events: Sequence[Event]) -> Owner:
    """'fifteen, flow and return, that rad's hung': the pipes that the next clause lists, or what work is told."""
    near = said.clauses[number : number + 2]
    bare = not any(said.acts_in(c) for c in near) and not said.items(near[0])
    if bare and (named := said.named(near[-1])):
        return "pipe", named[0].keys
    ahead = [e for e in events if e.clause >= number]
    return _as_owner(ahead[0]) if ahead else None


def material_owners(said: Said, i: int, events: Sequence[Event]) -> set[str]:
    """The pipes that a material at node i is said of."""
    number = said.clause_of(i)
    everyone = {k for e in events for k in e.keys}
    if i > said.start and said.norm(i - 1) in ("all", "both"):
        return everyone
    mine = [g for g in said.mentioned(said.clauses[number]) if not g.referred or g.start == i + 1]
    if mine:
        before = [g for g in mine if g.start < i]
        return set((before[-1] if before else mine[0]).keys)
    if worked := [e for e in events if e.clause == number]:
        return {k for e in worked for k in e.keys}
    owner = _owner_before(said, i, events)
    return set(owner[1]) if owner else everyone
