"""Which room is meant: by name, nickname, bare noun with its flat or floor, and what carries over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from notes.model import Room
from notes.reading.mentions import Node
from notes.reading.room_outside import OUTSIDE
from notes.reading.room_part import ARTICLES, BESIDE, FILL, NOOKS, SURFACES, part_of
from notes.reading.which_room import near_words, resolve, twin_of, wing_of, words_of
from notes.reading.wordlists import words as word_list

_HEADS = word_list("room-heads")


@dataclass(frozen=True, slots=True)
class Spot:
    """A room mention: its node, the rooms it may mean, and its part: set, end (a run goes or comes there), own
    (names whose thing it is: 'lounge rad'), or here."""

    node: int
    rooms: tuple[str, ...]
    part: str


def spots(
    row: Sequence[Node], start: int, end: int, current: str | None, rooms: Sequence[Room], opens: int | None = None
) -> list[Spot]:
    """The room mentions of nodes `start:end`, each with its part; `opens` is where their sentence starts."""
    out: list[Spot] = []
    opens = start if opens is None else opens
    for i in range(start, end):
        node = row[i]
        if node.kind not in ("room", "head"):
            if node.norm == "one" and i > start + 1 and (twin := twin_of(row, i, current, rooms)):
                part = part_of(row, i - 1, start, end, opens, current is not None)
                out.append(Spot(i, (twin,), "end" if part == "end" else "set"))
            elif node.norm[:-1] in _HEADS and node.kind == "word" and i > start and row[i - 1].norm in ("both", "all"):
                # 'in both lofts', but 'along to both lofts'
                part = part_of(row, i, start, end, opens, current is not None)
                out += [Spot(i, (r.name,), part) for r in rooms if node.norm[:-1] in words_of(r.name)]
            continue
        if i and _is_none(row, i, opens):
            continue
        names = node.keys
        if node.kind == "head":
            first = max(opens, i - 6)
            near = near_words(row, first, min(end, i + 4)) | wing_of(row, i, rooms)
            names = resolve(node.keys[0], near, current, rooms)
            if len(names) == 1 and foreign(row, i, names[0], rooms):
                continue
        if names:
            part = part_of(row, i, start, end, opens, current is not None)
            if part == "set" and current and _and_there(row, i, opens):
                part = "end"
            if part == "own" and out and out[-1].part == "set" and side_by_side(row, out[-1].node, i):
                # 'kitchen and hall rads'
                out[-1] = replace(out[-1], part="own")
            out.append(Spot(i, names, part))
    return out


def _is_none(row: Sequence[Node], i: int, opens: int) -> bool:
    """'in a duct and the duct's bare', 'a hole, yard in from the wall', 'on the outside wall': no room of the job."""
    after = row[i + 1] if i + 1 < len(row) else None
    if any(row[j].norm == row[i].norm and row[j - 1].norm in _ANY for j in range(max(1, opens), i + 1)):
        return True
    built = row[i - 1].norm in _BUILT and (i < 2 or row[i - 2].norm != "next")
    if "_" not in row[i].norm and (built or (row[i].norm == "bar" and row[i - 1].kind == "item")):
        # 'at the door arch', 'on to the shower bar', but 'next door kitchen'
        return True
    if after is None:
        return False
    if row[i].norm == "yard" and after.norm in _MEASURED:
        return row[i - 1].kind in ("mark", "qty")
    return row[i].norm in OUTSIDE and (after.kind == "item" or after.norm in SURFACES)


_MEASURED = frozenset("in out off up".split())
_BUILT = frozenset("door doorway window wall floor".split())
_ANY = frozenset("a an another half any its every each".split())


def _and_there(row: Sequence[Node], i: int, opens: int) -> bool:
    """'it's to go on to the hall and the kitchen': the second of two rooms that a pipe goes to."""
    one = next((k for k in range(i - 1, opens, -1) if row[k].kind in ("room", "head")), opens)
    if one == opens or not side_by_side(row, one, i) or (i + 1 < len(row) and row[i + 1].norm in _TELLS):
        return False
    before = one - 1
    while before > opens and row[before].norm in FILL:
        before -= 1
    return row[before].norm in ("to", "into", "for", "from")


_TELLS = frozenset("'s is are has have i we where".split())


def side_by_side(row: Sequence[Node], one: int, other: int) -> bool:
    """Whether two rooms are named together, at nodes `one` and `other`: 'the kitchen and the hall'."""
    return [n.norm for n in row[one + 1 : other] if n.norm != "the"] == ["and"]


def foreign(row: Sequence[Node], i: int, name: str, rooms: Sequence[Room]) -> bool:
    """'the fume cupboard', 'the bar stairs': called by a word that the job's cupboard or stairs are not called by."""
    if row[i].norm not in NOOKS or i < 2 or row[i - 2].norm not in ARTICLES or row[i - 1].norm in FILL | BESIDE:
        return False
    called = {w for r in rooms if r.name == name for n in (r.name, *r.aliases) for w in words_of(n)}
    return not words_of(row[i - 1].norm.replace("_", " ")) & (called | _SIZED)


_SIZED = frozenset("big small little wee tall tiny back front first second top bottom left right".split())
