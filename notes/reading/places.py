"""Where in the room, from where and to where: the phrases that say a place, a start, an end or what is served."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from notes.reading.mentions import PIPE_KINDS, Node
from notes.reading.nominal import PIPE_SIZES
from notes.reading.patterns import macro_words
from notes.reading.wordlists import words

_PLACES = words("places")
OPENERS = _PLACES
"""Words that open a place."""
_TO, _FROM, _WAYS = words("place-to"), words("place-from"), words("ways")
_HEIGHTS, _MIDDLES = words("heights"), words("middles")
_BODY = frozenset("ankle knee hip waist chest shoulder head eye worktop skirting sill".split())
_NO_PLACE, _ENDS = words("no-place"), words("place-ends")
_POSSESSORS = words("possessors")
_DEEDS = words("deeds")
_PEOPLE = words("people") | macro_words("PEOPLE", "COVERERS")
_TO_NO_END = frozenset(("thanks", "due", "owing", "according"))
"""'thanks to the tiler' tells no end."""
_STANDS = frozenset(("in", "behind", "under", "at", "by", "on", "over", "above", "below"))
"""'dropped down in the stud': the place starts at such a word, not at the way before it."""
_NEXT_NAME = words("possessors") | words("articles") - {"a", "an", "one"}
_SPOTS = frozenset(("middle", "back", "front", "top", "bottom", "foot", "side", "end"))
_NO_TIMES = frozenset(
    ("week", "month", "handover", "thing", "completion", "monday", "tuesday", "wednesday", "thursday", "friday")
)
"""'out next week', 'up before handover': a time, no place."""
_SAID_LAST = frozenset("here there now altogether again too already anyway like mind see any more".split())
"""Said after a place, no part of it: 'up through the floor here'."""
_LOOSE_ENDS = (_PLACES | _TO | _FROM | frozenset(("the", "a", "an", "and", "full", "of", "with"))) - frozenset(
    ("outside", "below")
)
"""Words that never close a phrase: 'across the ceiling [in] twenty-five copper'."""
_CLOSE_NOTHING = _LOOSE_ENDS | _SAID_LAST
_TIMES = frozenset(("time", "morning", "afternoon", "evening", "week", "minute"))
_NUMBERED = frozenset(("flat", "unit", "plot", "room", "block"))
_THE_PIPES = frozenset(("those", "these", "both", "pair", "two", "three", "all", "of", "them", "lot"))
"""'over the pair' is what was covered, not where."""
_OF_IT = frozenset(("behind", "under", "above", "below", "beside", "underneath"))


@dataclass(frozen=True, slots=True)
class Bit:
    """Words at nodes `start:end` that say a place, a start, an end or what is served: place, from, to or for."""

    kind: str
    start: int
    end: int


def bits(row: Sequence[Node], start: int, stop: int, busy: frozenset[int] = frozenset()) -> list[Bit]:
    """Places, starts and ends in nodes `start:stop`; `busy` nodes belong to actions and open nothing."""
    out: list[Bit] = []
    i = start
    while i < stop:
        kind = _kind(row, i, stop) if i not in busy else ""
        end = _bit_end(row, i, stop, busy) if kind else i
        if kind and _tells(row, i, end):
            _add(out, Bit(kind, i, end))
            i = end
        else:
            i += 1
    return out


def names_something(row: Sequence[Node]) -> bool:
    """Whether words say more than 'in the'."""
    return any(n.norm not in _CLOSE_NOTHING and n.kind != "mark" and n.norm not in _POSSESSORS for n in row)


def _add(out: list[Bit], bit: Bit) -> None:
    if out and out[-1].end == bit.start and out[-1].kind == bit.kind == "place":
        out[-1] = Bit("place", out[-1].start, bit.end)
    else:
        out.append(bit)


# -- what opens a phrase ----------------------------------------------------------------------------------------


def _kind(row: Sequence[Node], i: int, stop: int) -> str:
    """What a word opens, '' for nothing: 'down to' opens an end, 'capped off behind' a place at 'behind'."""
    word, after = row[i].norm, row[i + 1].norm if i + 1 < stop else ""
    if row[i].kind not in ("word", "qty"):
        return ""
    if word == "for":
        if i and row[i - 1].norm in ("heading", "headed", "bound"):
            return "to"
        # 'for the inspector' is no end of a pipe
        return "" if _somebody(row, i + 1, stop) else "for"
    if word == "to" and (after in _DEEDS or (i and row[i - 1].norm in _TO_NO_END)):
        return ""
    if word == "to" and after == "the" and i + 2 < stop and row[i + 2].norm in ("left", "right"):
        return "place"
    if word == "as" and i > 1 and [row[i - 2].norm, row[i - 1].norm] == ["as", "far"]:
        return "to"
    if word in _TO:
        return "" if after in _PLACES and after not in _ENDS_THERE else "to"
    if word in _FROM:
        return "" if (after in _PLACES and after != "where") or after in ("and", "so") else "from"
    if _in_drain(row, i):
        return "to"
    return "place" if _opens_place(row, i, after) else ""


_ENDS_THERE = frozenset("in where out outside under over behind above beside inside below beneath".split())
"""After 'to': 'from the landing to under the window'."""


def _in_drain(row: Sequence[Node], i: int) -> bool:
    """'goes in the soil', 'solvented in the old stack', 'through the wall in the gully': where a waste ends."""
    named = [n for n in row[i + 1 : i + 4] if n.norm not in _POSSESSORS and n.norm not in ("same", "old", "new")][:1]
    return row[i].norm == "in" and any(n.keys == ("soil",) or n.norm in ("stack", "gully", "drain") for n in named)


def _somebody(row: Sequence[Node], i: int, stop: int) -> bool:
    while i < stop and row[i].norm in _POSSESSORS:
        i += 1
    return i < stop and row[i].norm in _PEOPLE and (i + 1 == len(row) or row[i + 1].norm != "'s")


def _opens_place(row: Sequence[Node], i: int, after: str) -> bool:
    word = row[i].norm
    if word in _WAYS and (after in _TO or after in _FROM or after in _STANDS or after in ("open", "where")):
        return False
    if word == "in" and (after in _TO or after in _FROM or (after in _PLACES and after != "through")):
        # 'hot's in to the sink', 'in under the window', 'in from the landing'
        return False
    if word in _BODY:
        # 'ankle height', after a comma
        return after in _HEIGHTS and i > 0 and row[i - 1].kind == "mark"
    if word in ("left", "right"):
        if after == "side" and i > 0 and row[i - 1].kind == "mark":
            # 'capped, left side of the chimney breast'
            return True
        return after in ("of", "by", "at", "in") or (after == "hand" and i > 0 and row[i - 1].kind == "mark")
    if word in ("dead", "mid"):
        return after in _MIDDLES
    if _part_of_way(row, i) or _every(row, i):
        return True
    if [word, after] in (["either", "side"], ["both", "ends"]):
        return True
    if word in _SPOTS and after == "of" and i > 0 and row[i - 1].kind == "mark":
        # 'capped, back of the pedestal'
        return True
    if word == "about":
        return any(n.norm in _HEIGHTS for n in row[i + 1 : i + 4])
    return _is_distance(row, i) if row[i].qty is not None else word in _PLACES


def _every(row: Sequence[Node], i: int) -> bool:
    """'every half metre', 'every 2 metres'."""
    return row[i].norm == "every" and any(
        n.qty is not None and n.qty.unit in ("m", "mm", "foot") for n in row[i + 1 : i + 3]
    )


def _part_of_way(row: Sequence[Node], i: int) -> bool:
    """'a third of the way along', 'a quarter of the span from the wall'."""
    at = i + 1 if row[i].norm == "a" else i
    three = [n.norm for n in row[at : at + 4]]
    return len(three) == 4 and three[0] in _PARTS and three[1:3] == ["of", "the"] and three[3] in ("way", "span")


_PARTS = frozenset(("third", "quarter", "fifth", "half"))


def _is_distance(row: Sequence[Node], i: int) -> bool:
    """'three hundred off the window'."""
    q, after = row[i].qty, row[i + 1].norm if i + 1 < len(row) else ""
    if q is None or after not in ("from", "off", "above", "below", "up"):
        return False
    if after in _FROM and q.unit == "inch" and any(n.keys == ("waste",) for n in row[max(0, i - 5) : i]):
        # 'the waste's inch and a half off both bowls'
        return False
    named = [n for n in row[i + 2 : i + 4] if n.norm not in _POSSESSORS][:1]
    if after in _FROM and named and named[0].qty is not None:
        # '10 mil off the 15'
        return False
    if after in _FROM and q.value in PIPE_SIZES and any(n.norm in _TO for n in row[i + 2 : i + 8]):
        # 'in 110 from the pan to the stack'
        return False
    return q.unit in ("mm", "m", "foot", "inch") or (q.unit is None and q.value >= 100)


# -- whether it tells anything ----------------------------------------------------------------------------------


def _tells(row: Sequence[Node], i: int, end: int) -> bool:
    """Whether words after the preposition name something: not 'in here', 'on the way', 'in fifteen copper'."""
    word = row[i].norm
    if word in ("dead", "mid") or row[i].qty is not None:
        return end > i + 1
    if word in ("left", "right") and row[i + 1].norm == "hand":
        return end > i + 2
    if word in ("every", "either", "both"):
        return end > i + 1
    if word in _TO and i + 1 < len(row) and row[i + 1].norm == "outside":
        return True
    if word == "where":
        # 'where it comes through'
        return end > i + 2
    rest = [n for n in row[i + 1 : end] if n.norm not in _POSSESSORS]
    if not rest or rest[0].norm in ("week", "handover"):
        return False
    if rest[0].norm in _NO_PLACE and not (rest[0].norm in ("first", "last") and rest[1:]):
        return False
    if rest[0].norm in ("next", "before", "after", "first") and rest[1:2] and rest[1].norm in _NO_TIMES:
        return False
    if all(n.norm in _LOOSE_ENDS for n in rest):
        return False
    if rest[0].norm in ("it", "them"):
        return word in _OF_IT
    if all(n.norm in _THE_PIPES for n in rest):
        # 'condensate off the pair of them'
        return word in _FROM and rest[0].norm in ("pair", "both")
    if word in ("in", "at", "inside", "on") and all(n.kind in ("room", "head") or n.norm in _NUMBERED for n in rest):
        return False
    if word == "in" and any(n.norm in _NUMBERED and n.kind == "word" for n in rest[:-1]) and rest[-1].kind == "qty":
        # 'in the bathroom in flat one'
        return False
    if word in ("over", "on", "round") and row[end - 1].kind in PIPE_KINDS:
        # 'over the sink hot and cold' is what was covered
        return False
    if row[i].kind == "word" and all(n.kind in PIPE_KINDS or n.norm == "and" for n in rest):
        # 'glued into the soil', but 'down to the hot'; 'teed off the main'
        if word in _FROM and i and (row[i - 1].norm in _TEED or row[i].norm in _TEED):
            return True
        return word in (*_TO, "in") and (rest[0].keys in (("soil",), ("rainwater",)) or rest[-1].norm == "drain")
    return not (word in ("in", "on", "at") and rest[0].kind in ("qty", "material")) or _height(row, i)


_TEED = frozenset("teed tee tees tee'd".split())


# -- where it ends ----------------------------------------------------------------------------------------------


def _bit_end(row: Sequence[Node], i: int, stop: int, busy: frozenset[int]) -> int:
    """Where the phrase that opens at i ends; after 'where' it runs to the next mark."""
    if row[i].norm in ("dead", "mid", "both"):
        return min(i + 2, stop)
    where, opened = row[i].norm == "where", row[i].norm in _TO or row[i].norm in _FROM
    j = i + 1
    while j < stop and row[j].kind != "mark":
        where = where or (row[j].norm == "where" and (j == i + 1 or not opened))
        if not where and (j in busy or _ends_at(row, i, j)):
            break
        j += 1
    whole = where or _part_of_way(row, i)
    while j > i + 2 and row[j - 1].norm in (_SAID_LAST if whole else _CLOSE_NOTHING):
        j -= 1
    return j


def _ends_at(row: Sequence[Node], i: int, j: int) -> bool:
    """Whether the phrase from i ends before node j."""
    node = row[j]
    opened = row[i].norm in _TO or row[i].norm in _FROM
    if opened and j > i + 1 and _goes_on(row, j):
        # 'from the boiler along the wall'
        return True
    if j > i + 1 and (node.norm in _TO or node.norm == "for" or _in_drain(row, j)):
        return True
    if j > i + 1 and node.norm in _FROM and row[i].qty is None and not _part_of_way(row, i):
        return True
    if j > i + 1 and (node.norm == "every" or (opened and node.norm == "where")):
        # 'to the third floor where it joins'
        return True
    if row[i].norm in _FROM and node.norm in _STANDS and row[j - 1].kind in PIPE_KINDS:
        # 'off the sink cold under the worktop'
        return True
    if node.norm == "this" and j + 1 < len(row) and row[j + 1].norm in _TIMES:
        return True
    if node.norm == "with" and j > i + 1 and row[j - 1].norm not in ("in", "level", "flush"):
        # 'coiled up at the wall with a bag over it'
        return True
    if node.kind == "qty" and row[j - 1].norm in _NUMBERED:
        # 'flat one' is a name
        return False
    if node.norm in _OBJECT and ((row[j - 1].norm == "of" and j > i + 2) or (j == i + 1 and row[i].norm in _OF_IT)):
        # 'off the top of it', 'behind it'
        return False
    if node.norm in _ENDS or (node.norm == "'s" and not _possessive(row, j)):
        return True
    if j > i + 1 and node.norm in _NEXT_NAME and row[j - 1].kind in ("item", "room", "head"):
        # 'in the airing cupboard the coil is connected'
        return True
    if node.norm in _PLACES and row[i].norm in ("over", "on", "round") and row[j - 1].kind in PIPE_KINDS:
        return True
    if node.kind == "qty" and (row[i].norm in ("within", "every") or _many(row, i, j) or _height(row, i)):
        return False
    if node.kind in ("qty", "material"):
        return not _named_pipe(row, i, j)
    return node.kind in PIPE_KINDS and j > i + 3


def _height(row: Sequence[Node], i: int) -> bool:
    """'at about 1100', 'at a metre', 'at 300 off the floor'; but not 'at 150 centres'."""
    j = next(
        (j for j in range(i + 1, min(i + 4, len(row))) if row[j].norm not in ("about", "around", "roughly", "a")), i
    )
    q = row[j].qty
    if row[i].norm != "at" or q is None or (j + 1 < len(row) and row[j + 1].norm == "centres"):
        return False
    return q.unit in ("m", "foot") or (q.unit in (None, "mm") and q.value >= _LEAST_HEIGHT)


_LEAST_HEIGHT = 200
"""mm: a greater number after 'at' is no pipe's size."""


def _many(row: Sequence[Node], i: int, j: int) -> bool:
    """'to six radiators', 'for the two fan coils': how many things are at the end."""
    q, after = row[j].qty, row[j + 1 : j + 2]
    few = q is not None and q.unit is None and q.value <= _FEW
    return few and row[i].norm in _TO | {"for"} and bool(after) and after[0].kind in ("item", "head")


_FEW = 12
"""More than so many is a pipe's size."""


def _goes_on(row: Sequence[Node], j: int) -> bool:
    """Whether a way opens at j: 'along the wall', 'out through', 'under the boards'."""
    after = row[j + 1].norm if j + 1 < len(row) else ""
    if row[j].norm in ("under", "underneath", "beneath"):
        return bool({n.norm for n in row[j + 1 : j + 4]} & _FLOORS)
    return row[j].norm in _LONG_WAYS and after not in _TO and after not in _FROM and after != ""


_LONG_WAYS = frozenset("along across through up down round around out".split())
_FLOORS = frozenset("floor floorboards boards slab screed".split())
_OBJECT = frozenset("it him them un 'un 'en".split())


def _possessive(row: Sequence[Node], j: int) -> bool:
    """'the builder's sink', not 'the sink's in'."""
    after = row[j + 1] if j + 1 < len(row) else None
    if after is None:
        return False
    if after.kind == "qty":
        # 'Tommo's forty' is his, 'the top's twenty-two' says a size
        return j > 1 and row[j - 2].norm not in ("the", "a", "that", "this", "my")
    return after.kind in ("item", "service") or after.norm in ("end", "ends", "own", "side", "place")


def _named_pipe(row: Sequence[Node], i: int, j: int) -> bool:
    """'into the hundred and ten', 'on to the old copper': a size or material as the name of a pipe."""
    opened = row[i].norm in _TO or row[i].norm in _FROM or row[i].norm == "out"
    return opened and row[j - 1].norm in ("the", "that", "old", "'s", "his", "their")
