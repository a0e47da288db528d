"""What a room's name is said for: one is there, a run ends there, or a thing is called by it. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence

from notes.reading.mentions import NAME_KINDS, PIPE_KINDS, Node
from notes.reading.numbers import NUMERALS
from notes.reading.room_outside import DRAINS, OUTSIDE, PIECES, lies_outside, of_drain
from notes.reading.wordlists import pattern
from notes.reading.wordlists import words as word_list

FILL, END = word_list("room-fill"), word_list("room-ends")
_IN, _EDGES, _PLAIN = word_list("room-in"), word_list("room-edges"), word_list("room-plain")
_MOVING = word_list("room-moving")
_WALKING, _POINTED_OUT = word_list("room-walking"), word_list("room-pointed-out")
_WAITS = pattern("room-waits", "^(and |but |though |so |, )*", "$")
_ABOUT = pattern("room-about", "^(and |so |then |right , )?", "$")


def _heads_off(row: Sequence[Node], i: int, start: int, end: int, opens: int) -> bool:
    """'Back to the riser, ...' moves there: only such words stand before it, and a mark or nothing after it."""
    ahead = [n.norm for n in row[start:i]]
    if start == opens and _ABOUT.match(" ".join(ahead)):
        return i + 1 >= end or row[i + 1].kind == "mark"
    if not all(n in _MOVING for n in ahead):
        return False
    return i + 1 >= end or row[i + 1].kind == "mark" or row[i + 1].norm in ("now", "then", "and")


def _runs_there(row: Sequence[Node], i: int, start: int, opens: int) -> bool:
    """'run below the tundish, twenty-two, out to the yard': the pipe goes there, nobody moves."""
    onward = any(n.norm in _THITHER for n in row[start:i]) and row[start].norm not in _BY_FOOT
    told = row[max(opens, start - 8) : start]
    going = "to go" in " ".join(n.norm for n in told)
    piped = told and told[-1].norm == "," and row[start].norm == "into" and any(n.kind in PIPE_KINDS for n in told)
    return onward and (going or piped or any(n.qty or n.kind == "material" or n.norm in _RUN for n in told))


_THITHER = frozenset("to into through".split())
_BY_FOOT = frozenset("then now next right back".split())
_RUN = frozenset("run runs ran goes drops dropped brought taken carried".split())


def part_of(row: Sequence[Node], i: int, start: int, end: int, opens: int, settled: bool = False) -> str:
    """What a room mention is for: set, end or own (see Spot); `settled` where one is in a room already."""
    if settled and row[i].norm in OUTSIDE and lies_outside(row, i, start, end):
        return "end"
    if _heads_off(row, i, start, end, opens) and not _runs_there(row, i, start, opens):
        return "set"
    if settled and i + 1 < end and _beside_it(row, i, start, opens):
        return "end"
    if i + 1 < end and row[i + 1].norm == "end" and "at" in [n.norm for n in row[max(start, i - 2) : i]]:
        # 'connected at the cellar end': which end of the pipe, not where one is
        return "end"
    j = i - 1
    while j >= start and row[j].norm in FILL:
        j -= 1
    before = row[j].norm if j >= start else ""
    if settled and _WAITS.match(" ".join("ITEM" if n.kind == "item" else n.norm for n in row[start : j + 1])):
        # 'it is standing in the passage' till it is fitted
        return "end"
    if settled and {"bar", "except", "barring"} & {n.norm for n in row[start : j + 1]}:
        # 'lagged bar the bit in the hall'
        return "end"
    if settled and before == "inside" and "to" in [n.norm for n in row[max(start, j - 2) : j]]:
        return "end"
    if settled and j > start and _met_there(row, j, start):
        return "end"
    if of_drain(row, i, j, start) or (settled and (_of_thing(row, j, start) or _goes_along(row, i, j, start))):
        return "end"
    if row[i].norm in OUTSIDE and i > opens and i + 1 < end and row[i + 1].norm in ARTICLES:
        # 'the valve's on it outside the wall'
        return "end"
    if settled and row[i].norm in NOOKS and before == "in" and any(n.kind in NAME_KINDS for n in row[start:j]):
        # 'the manifold's up in the cupboard': one of this room
        return "end"
    if before in ("at", "by", "near", "against") and i + 1 < end and row[i + 1].norm in _BOUNDS:
        # 'joined on at the plant wall': the far side of it
        return "end"
    if before == "of" and start == opens and _nook_of(row, i, j, start):
        return "set"
    if before == "of" and (_part_of_room(row, j, start) or _taken_out(row, j, start)):
        return "set"
    if before not in _NOT_YET and _I_AM.search(" ".join(n.norm for n in row[start : j + 1])):
        # 'I'm behind the bar'
        return "set"
    if (
        before in BESIDE
        and row[j - 1].norm in ("one", "ones")
        and j - 2 >= start
        and row[j - 2].norm in ("the", "that")
    ):
        # 'the one behind the front desk isn't'
        return "set"
    if before in BESIDE and i + 1 < end and (row[i + 1].kind == "item" or row[i + 1].norm in SURFACES):
        # 'under the hall floor', 'behind the kitchen units'
        return "set" if j == opens else "end" if settled else "own"
    if (
        before in END
        and not (before == "out" and j == opens)
        and not (before in ("out", "over", "of") and row[j - 1].norm in ("here", "in"))
    ):
        return "set" if _walked(row, start, j, opens) else "end"
    if i + 2 < end and row[i + 1].norm == "to" and before not in _IN and _way_to(row, i + 2, end):
        # 'the trench is dug boiler house to the house'
        return "end"
    if settled and (_alike(row, j, start) or _other_end(row, j, start)):
        return "end"
    if settled and before in ("at", "in", "on") and (_goes_on(row[start:j]) or _starts_at(row[start:j])):
        # 'it starts at the gate and comes up at the porch'
        return "end"
    if before in ("'s", "is", "are") and j - 1 >= opens and _one_of_many(row, j - 1):
        return "end"
    return "own" if i + 1 < end and _owns(row, i, before, end) else "set"


def _way_to(row: Sequence[Node], i: int, end: int) -> bool:
    """Whether a room or the house comes next: '... to the kitchen'."""
    while i < end and (row[i].norm in FILL or row[i].norm in _WHICH):
        i += 1
    return i < end and (row[i].kind in ("room", "head") or row[i].norm in _FAR_ENDS)


_WHICH = frozenset("first second third ground top next".split())
_FAR_ENDS = frozenset("house barn gate road street floor roof eaves".split())


def _goes_on(opened: Sequence[Node]) -> bool:
    """'comes up', 'it goes along and drops', but not 'the hot comes up': a pipe told before goes on."""
    said = [n.norm for n in opened if n.norm not in ("will", "should", "to", "wants", "has")]
    return bool(opened) and opened[0].kind == "word" and bool(_ONWARD & set(said[:2]))


def _alike(row: Sequence[Node], j: int, start: int) -> bool:
    """'same as in the hall', 'like the one I did in the hall', 'it's over the hall': no more than told of."""
    k = j
    while k > start and row[k].norm in _SO_DONE:
        k -= 1
    ahead = {n.norm for n in row[start : start + 2]}
    alike = row[k].norm in _LIKE and row[k - 1].norm not in ("would", "'d", "i")
    return alike or (row[j].norm == "over" and bool(_PRONOUNS & ahead) and not {"i", "we"} & ahead)


_SO_DONE = frozenset("in at on the one ones i we did do had for over".split())
_LIKE = frozenset("like unlike than as".split())
_PRONOUNS = frozenset("it that they which this".split())


def _other_end(row: Sequence[Node], j: int, start: int) -> bool:
    """'the other end is up in the hall'."""
    ahead = " ".join(n.norm for n in row[start : j + 1])
    return _FAR_END.search(ahead) is not None


_FAR_END = re.compile(r"\b(other|far) end( of it| of them)?( is| 's| being| are)( up| down| out| over)? (in|at)$")


def _starts_at(opened: Sequence[Node]) -> bool:
    """'cold for the bath starts', '... starts on the main': but for what it starts on, the room comes next."""
    said = [n.norm for n in opened if n.kind not in NAME_KINDS and n.norm not in _AT_END and n.qty is None]
    return bool(_STARTS & set(said[-2:])) and not {"i", "we", "work"} & set(said)


_AT_END = FILL | frozenset("at far near end".split())
_STARTS = frozenset("starts begins start begin started ends end finishes finish terminates discharges".split())
_ONWARD = frozenset("comes come coming goes drops pops finishes ends end stops surfaces emerges".split())


BESIDE = frozenset("under underneath beneath behind above below beside along across".split())
SURFACES = frozenset(
    "floor floors floorboards boards ceiling units unit wall panel panelling skirting worktop flags face corner "
    "light tap".split()
)
_BOUNDS = frozenset(("wall", "door", "doorway", "end", "side", "ceiling"))
_PARTS = frozenset("length width middle centre rest corner".split())


def _part_of_room(row: Sequence[Node], i: int, start: int) -> bool:
    """'the length of the passage', but not 'to the middle of the kitchen'."""
    j = i - 1
    if j < start or row[j].norm not in _PARTS:
        return False
    while j >= start and (row[j].norm in _PARTS or row[j].norm in ("the", "whole", "other", "near", "full")):
        j -= 1
    return j < start or row[j].norm not in END


def _nook_of(row: Sequence[Node], i: int, j: int, start: int) -> bool:
    """'On the back wall of the hall the cold's capped': a sentence opens with where in the room."""
    plain = all(n.kind == "word" or n.norm in ("wall", "floor") for n in row[start:j])
    after = row[i + 1] if i + 1 < len(row) else None
    goes_on = after is not None and (after.kind in ("mark", *PIPE_KINDS) or after.norm in ARTICLES | {"i", "we"})
    return plain and goes_on and row[start].norm in _WHERE_IN and j - start < _SHORT


_WHERE_IN = frozenset("at on in under behind round along up down over inside".split())
_SHORT = 6


def _taken_out(row: Sequence[Node], j: int, start: int) -> bool:
    """'the old boiler is out of the cellar', 'I've had the pipes out of the hall', but 'flow comes out of the hall'."""
    if j - 2 < start or row[j - 1].norm != "out":
        return False
    had = bool(_HAD_OUT & {n.norm for n in row[start : j - 1]})
    return had or (row[j - 2].norm in _IS and any(n.kind == "item" for n in row[start : j - 1]))


_HAD_OUT = frozenset("had took taken take got pulled ripped stripped cut".split())
_IS = frozenset("is 's are all now".split())
_I_AM = re.compile(r"\b(i am|we are) (\w+|(\w+ )?(in|at|on) the (bottom|top|back|foot|far end|end) of)$")
_NOT_YET = frozenset("to from for off about till past out".split())


def _beside_it(row: Sequence[Node], i: int, start: int, opens: int) -> bool:
    """'plant room end's capped', 'in the yard gully', 'two holes on the yard side', 'so the babies don't scald'."""
    after = row[i + 1].norm
    aside = after == "side" and i - 2 >= start and i - 2 > opens
    return after == "end" or after in DRAINS or aside or after in ("do", "does")


def _met_there(row: Sequence[Node], j: int, start: int) -> bool:
    """'joined on at the stairs', 'a fitting over the showers', 'out or in the yard', 'comes out in the yard'."""
    word, ahead = row[j].norm, [n.norm for n in row[start:j]]
    if word == "at":
        return bool(_MET & set(ahead))
    if word == "over":
        return (
            row[j - 1].kind in ("item", "material", "qty")
            or row[j - 1].norm in PIECES
            or (row[j - 1].norm in _HANGS and not {"i", "we"} & set(ahead))
        )
    if word == "in" and ahead[-1:] == ["out"]:
        return ahead[-2:-1] in (["come"], ["comes"], ["coming"])
    return word == "in" and ahead[-1:] == ["or"]


_HANGS = frozenset("open out hanging left".split())
_MET = frozenset("connected joined teed tied connect join tee".split())


def _of_thing(row: Sequence[Node], j: int, start: int) -> bool:
    """'connected to the manifold in the corridor', 'teed off the main in the yard': what the pipe ends at."""
    if j - 2 < start or row[j].norm not in ("in", "at"):
        return False
    thing = row[j - 1]
    if _LEFT_THERE.search(" ".join(n.norm for n in row[start:j])):
        return True
    if thing.kind not in ("item", "service", "qty") and thing.norm not in DRAINS and thing.norm not in _FIXED:
        return False
    return bool(_ENDS_AT & {n.norm for n in row[max(start, j - 3) : j - 1]})


_FIXED = frozenset("stack manifold header tails one ones pipe tee branch line feed supply leg boss elbow".split())
_LEFT_THERE = re.compile(
    r"\b(to|onto|off|from) (what( 's| is)?|the [a-z_-]+)( i| we)?( have| had)?( left| ran| did| put)?$"
)
_ENDS_AT = frozenset(("to", "into", "onto", "off", "from"))


def _goes_along(row: Sequence[Node], i: int, j: int, start: int) -> bool:
    """'flow and return going down the pit', 'the discharge wants taking outside': a pipe goes, nobody does."""
    if row[i].norm in OUTSIDE:
        return i > start and row[i - 1].norm in _TAKEN and not _on_legs(row, start, i - 1)
    return j > start and row[j].norm in _UP and row[j - 1].norm in _TAKEN and not _on_legs(row, start, j - 1)


def _on_legs(row: Sequence[Node], start: int, verb: int) -> bool:
    """'I went down the pit', 'going up the loft': no pipe is said to."""
    if row[verb].norm not in _LEGS or {"to", "it", "that", "does"} & {n.norm for n in row[max(start, verb - 2) : verb]}:
        # 'that'll have to go outside'
        return False
    return not any(n.kind in PIPE_KINDS for n in row[start:verb])


_UP = frozenset(("up", "down"))
_LEGS = frozenset("go going went".split())


_TAKEN = _RUN | frozenset("going go taking running bringing carrying dropping piped piping led went".split())
ARTICLES = frozenset(("the", "a", "that", "this"))
NOOKS = frozenset(("cupboard", "stairs"))
"""Bare nouns that every room may have one of."""


def _walked(row: Sequence[Node], start: int, at: int, opens: int) -> bool:
    """'Walked back through the hall and ...': a person goes there, no pipe does."""
    if row[at].norm not in ("through", "past", "into", "to"):
        return False
    ahead = [n.norm for n in row[start:at]]
    if any(n.kind not in _ON_THE_WAY for n in row[start:at]) or not set(ahead) & _WALKING:
        return False
    return bool({"i", "we"} & set(ahead)) or (ahead[0] in _WALKING and start <= opens + 1)


_ON_THE_WAY = frozenset(("word", "room", "head"))


def _one_of_many(row: Sequence[Node], i: int) -> bool:
    """'left one's the cafe, right one's the flats': what it serves."""
    return (
        (row[i].norm in _POINTED_OUT or row[i].norm in NUMERALS)
        and i > 0
        and row[i - 1].norm not in ("this", "next", "last")
    )


def _owns(row: Sequence[Node], i: int, before: str, end: int) -> bool:
    """'lounge rad', 'the kitchen wall', 'the bathroom's basin': the room tells whose thing it is."""
    after = row[i + 1]
    if after.norm in _EDGES or (after.kind in NAME_KINDS and before not in _IN):
        return True
    if after.kind == "word" and after.norm not in _PLAIN and before not in _IN and before:
        return True
    # 'the bathroom's basin', 'the hall's isn't'
    named = i + 2 < end and (row[i + 2].kind in ("item", "service", "pair") or row[i + 2].norm in ("is", "are", "has"))
    return after.norm == "'s" and named
