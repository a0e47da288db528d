"""Pipes named together in a sentence, what they serve, and whether they are named only in passing."""

from __future__ import annotations

from itertools import pairwise

from notes.reading.actions import Act
from notes.reading.clauses import Clause, listed
from notes.reading.mentions import PIPE_KINDS, Node
from notes.reading.nominal import is_size
from notes.reading.rooms import spots
from notes.reading.said import Said
from notes.reading.scene import Group, group_keys
from notes.reading.things import DETERMINERS, PASSING, STRUCTURE
from notes.reading.wordlists import words

PEOPLE = words("people")
EVERYTHING = words("everything")
SMALL = {"two": 2, "three": 3, "four": 4}
_GETS = frozenset(("gets", "takes", "has", "wants", "needs", "get", "take"))
_SERVES_END = frozenset(("'s", ",", "is", "and", "are"))


def find_pipes(said: Said) -> None:
    """Group the services of a sentence as they are listed."""
    sentence = said.row[said.start : said.end]
    ahead = [
        s for s in spots(said.row, said.start, said.end, said.scene.room, said.rooms)
        if s.part == "set" and len(s.rooms) == 1
    ]  # fmt: skip
    said.scene.ahead = ahead[0].rooms[0] if ahead else said.scene.room
    for numbers in listed(said.row, said.start, said.end, _is_pipe):
        first, last = numbers[0], numbers[-1] + 1
        if _amount(said, first, last):
            continue
        keys = group_keys(said.row, numbers, said.scene, sentence)
        person = last < said.end and said.norm(last) in PEOPLE
        passing = _in_passing(said, first) and not _worked_on(said, first, last)
        passing = passing or _shared_out(said, first, keys)
        said.groups.append(Group(keys, first, last, _serves(said, first, last), person or passing))


def _shared_out(said: Said, first: int, keys: tuple[str, ...]) -> bool:
    """'hot, cold and return, fifteen for the return, and I've clipped all three': its size, and no new matter."""
    listed_before = any(len(g.keys) > 1 and set(keys) <= set(g.keys) for g in said.groups)
    i = first - 1 if said.norm(first - 1) == "for" else first - 2
    if not listed_before or i <= said.start + 1 or said.norm(i) != "for":
        return False
    i -= 2 if said.row[i - 1].kind == "material" else 1
    return is_size(said.row, i) and said.norm(i - 1) in (",", "and")


def _worked_on(said: Said, first: int, last: int) -> bool:
    """'the radiator's fixed, with the flow and return coupled to it'."""
    with_it = "with" in said.norms(max(said.start, first - 2), first)
    return with_it and any(a.form == "done" and a.on == "pipe" and 0 <= a.start - last <= 1 for a in said.acts)


def _is_pipe(node: Node) -> bool:
    return node.kind in PIPE_KINDS


def _serves(said: Said, first: int, last: int) -> str | None:
    """'basin hot and cold', 'the basin's cold', 'hot and cold for the bath'."""
    before = said.row[first - 1] if first > said.start else None
    if before is not None and before.norm == "'s" and first - 2 >= said.start:
        before = said.row[first - 2]
    named, valve, _ = said.words(first, first + 1).rpartition(" valve")
    if valve:
        # 'safety valve discharge' is one name
        return named + valve
    if before is not None and before.kind == "item" and before.keys[0] not in STRUCTURE:
        return said.text[before.start : before.end]
    if last < said.end and said.norm(last) in ("for", "to") and not _to_do_it(said, last):
        return _served_after(said, last)
    for i in range(first - 1, max(said.start, first - 5), -1):
        # 'the washing machine only gets a cold'
        if said.norm(i) in _GETS and said.row[i - 1].kind in ("item", "word"):
            things = [j for j in (i - 1, i - 2) if j >= said.start and said.row[j].kind == "item"]
            return said.text[said.row[things[0]].start : said.row[things[0]].end] if things else None
    return None


def _to_do_it(said: Said, i: int) -> bool:
    """'drained the heating to move the rad'."""
    return said.norm(i) == "to" and any(a.start == i + 1 and a.form == "base" for a in said.acts)


def _served_after(said: Said, last: int) -> str | None:
    stop = last + 1
    while stop < said.end and stop < last + 6 and said.norm(stop) not in _SERVES_END:
        stop += 1
        of_room = said.row[stop - 1].kind == "room" and stop < said.end and said.row[stop].kind == "item"
        if said.row[stop - 1].kind in ("item", "room") and not of_room:
            break
    tells = any(n.kind in ("item", "room", "head") for n in said.row[last + 1 : stop])
    return said.words(last + 1, stop) if tells else None


def _in_passing(said: Said, first: int) -> bool:
    """'off the cold', 'behind the basin waste': not 'all of the cold'."""
    i = first - 1
    if i >= said.start and said.row[i].kind == "item":
        i -= 1
    while i >= said.start and _skipped(said, i):
        i -= 1
    if i < said.start or said.norm(i) not in PASSING:
        return False
    if said.norm(i) == "for" and i == said.start and "there" in said.norms(first + 1, first + 3):
        # 'For the condensate there's a run out to the gully'
        return False
    if said.norm(i) == "for" and (_sized_before(said, i) or (i > said.start and said.norm(i - 1) == "as")):
        # 'as for the gas'
        return False
    if said.norm(i) == "for" and any(a.action == "run" and _sized_run(said, a, i) for a in said.acts):
        # 'there's a twenty-two come off the riser for the cold'
        return False
    if said.norm(i) == "off" and any(a.end == i + 1 and a.action in ("cap", "isolate", "drain") for a in said.acts):
        # 'blanked off the oil, then the condensate'
        return False
    if said.norm(i) == "off" and _STOPPED & set(said.norms(max(said.start, i - 2), i)):
        # 'cut the caps off the hot and cold'
        return False
    if said.norm(i) == "in" and said.norm(i - 1) in _PUTS:
        # 'put in flow and return'
        return False
    return not (said.norm(i) == "of" and (said.norm(i - 1) in EVERYTHING or said.norm(i - 1) in _PART))


def _sized_run(said: Said, act: Act, i: int) -> bool:
    """Whether the words of a run before node i tell its size, with no mark between."""
    if act.end > i or not any(is_size(said.row, j) for j in range(act.start, act.end)):
        return False
    return all(n.kind != "mark" for n in said.row[act.end : i])


def _sized_before(said: Said, i: int) -> bool:
    """'and a twenty-two alongside for the hot return', 'four metres of fifteen copper for the cold'."""
    sized = [j for j in range(max(said.start, i - 3), i) if is_size(said.row, j)]
    if not sized or any(n.kind not in ("word", "material") for n in said.row[sized[-1] + 1 : i]):
        return False
    opens = sized[-1] == said.start or said.row[sized[-1] - 1].kind == "mark"
    bored = any(a.action in ("drill", "notch") for a in said.acts)
    return not bored and (opens or said.norm(sized[-1] - 1) in ("a", "an", "the", "of", "some"))


_PART = frozenset("bit bits length lengths piece stretch leg lump half rest section".split())
"""'that bit of cold by the hatch' is told of."""
_PUTS = frozenset(("put", "puts", "putting"))
_STOPPED = words("stops-on-pipes")


def _skipped(said: Said, i: int) -> bool:
    if said.norm(i) == "that" and said.norm(i + 1) in DETERMINERS:
        # 'from that the cold goes up': the pipe is what is spoken of
        return False
    return said.norm(i) in DETERMINERS or said.row[i].kind in ("material", "qty") or said.norm(i) == "'s"


def _amount(said: Said, first: int, last: int) -> bool:
    """'chef wanted the flow': how much comes out, no pipe."""
    if said.row[first].kind != "half" or said.norm(first) != "flow":
        return False
    before = said.norms(max(said.start, first - 2), first)
    wanted = last == said.end or said.row[last].kind == "mark"
    return bool(before) and (before[-1] in _ENOUGH or (wanted and before[0] in ("wanted", "needed", "wants", "likes")))


_ENOUGH = frozenset(("more", "better", "enough", "good", "poor", "decent", "extra"))


def note_pipes(said: Said, clause: Clause) -> None:
    """Keep in mind what a clause named: 'they' and 'both' mean it from now on."""
    for group in said.mentioned(clause) if clause.question else said.named(clause):
        said.scene.group, said.scene.serves = group.keys, group.serves or said.headed
        said.scene.many = group.keys if len(group.keys) > 1 else said.scene.many
        said.scene.name(group.keys)
        said.scene.last = ("pipe", "")
    if passing := said.mentioned(clause):
        said.scene.glanced = passing[-1].keys
        return
    here = said.scene.here
    for many, of in pairwise(said.norms(clause.start, clause.end)):
        if many in SMALL and of == "pipes" and len(here) >= SMALL[many]:
            said.scene.group = tuple(here[-SMALL[many] :])
