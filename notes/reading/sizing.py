"""Which size and material an event has, of those that its sentence tells."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from notes.model import Status
from notes.reading.drops import end_size, run_sizes
from notes.reading.event import Event
from notes.reading.nominal import is_size
from notes.reading.pipes import PEOPLE
from notes.reading.said import Said
from notes.reading.sizes_apart import each_before, each_pipe, each_thing, millimetres, supply_and_drain
from notes.reading.whose import Owner, first_told, goes_onward, material_owners, numbers, window

_LASTING = frozenset(("run", "cap", "leave", "tee", "connect", "clip", "join", "cover", "sleeve", "insulate"))
"""Work whose facts keep the size and material that the sentence gives the pipe."""
_LATER = frozenset(("test", "cover", "sleeve", "insulate"))
"""Work done later on a pipe that is there: it takes over what is said of the pipe, never tells it."""
_ALL_ALONG = frozenset(("clip", "insulate", "sleeve", "test", "cover"))
"""Work on a pipe from end to end: 'thirty-five, then twenty-eight, and it's bracketed all the way' has no one size."""
_WALLS = frozenset((9, 13, 19, 30))
"""Usual walls of pipe lagging in millimetres, none of them a pipe's size (common practice, no source)."""
_THICK = frozenset((20, 25, 40, 50))
"""Walls that some pipes have as a size too (no copper one): they count where they are told after the lagging."""
_ON_HIS_WORD = frozenset(("says", "said", "reckons"))
_NO_MATERIAL = frozenset(("order", "decide", "photograph", "ask"))
_OLD_PIPE = frozenset(("off", "into", "onto", "from", "to"))


def size(said: Said, event: Event, events: Sequence[Event], owners: dict[int, Owner], small: Sequence[int]) -> None:
    """Set an event's size; two of a reduction; one for each pipe if said apart; `small`: those of drops."""
    if _of_a_joint(said, event, events) or _somebody_else(said, event):
        return
    if event.action == "tee" and is_size(said.row, event.start - 1) and event.start > said.start:
        # 'there's fifteen tees on them'
        event.slots["size_mm"] = millimetres(said, event.keys[0], event.start - 1)
        return
    if (end := end_size(said, event, small)) is not None:
        event.slots["size_mm"] = end
        return
    pool, here = _pool(said, event, events, owners)
    if small:
        pool = run_sizes(said, event, events, owners, small) or pool
    if not here and _apart(said, event, events):
        return
    if event.action == "insulate":
        pool = [i for i in pool if not _lagging(said, event, i)]
    elif event.keys == ("insulation",):
        # 'the nineteen mil insulation came'
        pool = [i for i in pool if millimetres(said, event.keys[0], i) not in _WALLS]
    last = _last_told(event, events)
    if last is not None and not here and (own := _branch(said, event, last, pool)):
        event.slots["size_mm"] = own
        return
    if not here and (apart := each_before(said, event, pool, owners)):
        event.per_key_size = apart
        return
    if last is not None and not here and _lasts(event) and not _named_for_test(said, event):
        if event.serves is None or last.serves is None or event.serves == last.serves:
            _as_last(event, last)
        return
    if reduced := _reduced_to(said, event, events, pool):
        event.slots["size_mm"], event.slots["to_size_mm"] = reduced
        return
    if not pool or (event.action == "join" and len(pool) == 1 and said.norm(pool[0] - 1) in _ON_TO):
        # 'changed it to twenty-eight': what it was is told elsewhere
        return
    if not event.piped and len(event.keys) > 1:
        event.per_key_size = each_thing(said, event, pool)
        return
    if len(event.keys) > 1 and (per_key := each_pipe(said, event, pool, owners)):
        event.per_key_size = per_key
        return
    if len(event.keys) > 1 and (by_use := supply_and_drain(said, event, pool)):
        event.per_key_size = by_use
        return
    if len(event.keys) > 1 and (q := said.row[pool[-1]].qty) and q.unit == "inch":
        event.per_key_size = tuple(millimetres(said, k, pool[-1]) for k in event.keys)
        return
    values = [millimetres(said, event.keys[0], i) for i in pool]
    alike = len(set(values)) == 1
    if not here and not alike and event.action in ("clip", "insulate", "cap") and event.start > pool[-1]:
        return
    if reduction := _reduction(said, event, pool):
        event.slots["size_mm"], event.slots["to_size_mm"] = (millimetres(said, event.keys[0], i) for i in reduction)
    elif len(values) > 1 and not alike and {"to", "into", "onto"} & set(said.norms(pool[0], pool[-1])):
        return  # of a pipe that is reduced on its way, one size is not its own
    elif len(values) == len(event.keys) > 1 and pool[-1] - pool[0] <= 2 * len(pool):
        event.per_key_size = tuple(values)
    elif event.action != "order" or alike:
        before = [i for i in pool if i < event.start]
        event.slots["size_mm"] = millimetres(said, event.keys[0], before[-1] if before else pool[0])


def _lagging(said: Said, event: Event, i: int) -> bool:
    """'lagged, nine mil', 'insulated, twenty-five millimetre all round': how thick the lagging is."""
    thick = millimetres(said, event.keys[0], i)
    copper = said.row[min(i + 1, said.end - 1)].kind == "material"
    said_after = i >= event.act.end and said.row[i].tag == "Q-mm" and not copper
    return thick in _WALLS or (said_after and thick in _THICK)


def _branch(said: Said, event: Event, last: Event, pool: Sequence[int]) -> float | None:
    """'I ran them along in twenty-two, and there's fifteen dropped to each shower, capped': the size told last, in a
    clause of its own, is what the ends have."""
    if event.action not in _ENDS or not pool or last.per_key_size:
        return None
    if pool[0] > event.start and last.clause < event.clause:
        # 'and I teed down to each, fifteen'
        return millimetres(said, event.keys[0], pool[0])
    number, at = pool[-1], said.clause_of(pool[-1])
    own = last.clause < at < event.clause and not said.mentioned(said.clauses[at]) and number < event.start
    opens = said.norms(said.clauses[at].start, number)
    return millimetres(said, event.keys[0], number) if own and set(opens) & _THERE_IS else None


_ENDS = frozenset(("cap", "leave", "tee", "connect"))
_THERE_IS = frozenset(("there", "then", "with", "done", "teed", "dropped", "tees", "drops"))


def _apart(said: Said, event: Event, events: Sequence[Event]) -> bool:
    """Whether a clause is about another matter than the one that tells the size: what hides the pipe, is yet to be
    done to it, or comes of it ('so they'll get capped tomorrow')."""
    if event.action == "insulate" and event.status is Status.NOT_DONE:
        # 'flow and return is fifteen copper and it's not lagged'
        return True
    again = event.action == "run" and event.status is Status.TO_DO and any(_done_before(e, event) for e in events)
    if first_told(event, events) and not again:
        return False
    lead = said.clauses[event.clause].lead
    return event.action in _NO_SIZE or event.status is Status.TO_DO or lead in ("so", "because", "since")


def _done_before(e: Event, event: Event) -> bool:
    """'discharge run in twenty-two to the wall, it's got to go on to the yard': what is to come is a new piece."""
    return e.start < event.start and e.status is Status.DONE and bool(set(e.keys) & set(event.keys))


_NO_SIZE = frozenset(("cover", "insulate", "test", "join"))
"""Work that keeps no size told in another clause."""


def _lasts(event: Event) -> bool:
    """Whether an event keeps what the sentence says of its pipe: a test only where it was done."""
    return event.action in _LASTING or (event.action == "test" and event.status is Status.DONE)


def _of_a_joint(said: Said, event: Event, events: Sequence[Event]) -> bool:
    """'made a new joint, forty, and had six bar on': the joint's size; and a test that is told on a man's word."""
    if event.action not in _LATER:
        return False
    joined = any(e.action == "join" and e.start < event.start and set(e.keys) & set(event.keys) for e in events)
    return joined or bool(_ON_HIS_WORD & set(said.norms(said.clauses[event.clause].start, event.start)))


def _somebody_else(said: Said, event: Event) -> bool:
    """'fifteen copper under the boards, and the carpenter's put the floor down over them': a matter of his own."""
    clause = said.clauses[event.clause]
    if event.action not in _LATER or any(is_size(said.row, i) for i in range(clause.start, clause.end)):
        return False
    ahead = said.norms(clause.start, event.act.end)
    return clause.start > said.start and bool(PEOPLE & set(ahead) or ahead[:1] in (["he"], ["she"], ["they"]))


def _last_told(event: Event, events: Sequence[Event]) -> Event | None:
    """The last lasting work on the same pipes before this one in the sentence, where its size is known."""
    mine = [
        e for e in events
        if e.start < event.start and set(event.keys) <= set(e.keys) and _lasts(e) and e.status is Status.DONE
    ]  # fmt: skip
    sized = bool(mine) and ("size_mm" in mine[-1].slots or bool(mine[-1].per_key_size))
    if sized and _along_several(event, mine):
        return None
    return mine[-1] if sized and "to_size_mm" not in mine[-1].slots else None


def _along_several(event: Event, told: Sequence[Event]) -> bool:
    return event.action in _ALL_ALONG and len({e.slots.get("size_mm") for e in told if e.keys == event.keys}) > 1


def _as_last(event: Event, last: Event) -> None:
    """Work done next on a pipe is on that pipe as it was last told; what is not there yet has no size of its own."""
    if event.status is Status.NOT_DONE and event.action != "connect":
        return
    if last.per_key_size:
        sizes = tuple(last.per_key_size[last.keys.index(k)] for k in event.keys)
        if len(set(sizes)) == 1:
            event.slots["size_mm"] = sizes[0]
        else:
            event.per_key_size = sizes
    elif "size_mm" in last.slots:
        event.slots["size_mm"] = last.slots["size_mm"]


def _pool(said: Said, event: Event, events: Sequence[Event], owners: dict[int, Owner]) -> tuple[list[int], bool]:
    """The numbers that may be an event's size, and whether its own clause says any."""
    kind = "pipe" if event.piped else "item"
    mine = [i for i, o in owners.items() if o is not None and o[0] == kind and set(o[1]) & set(event.keys)]
    here = [i for i in mine if said.clause_of(i) == event.clause]
    start, end = window(said, event, events)
    near = [i for i in mine if start <= i < end]
    if event.action == "remove" and not event.piped:
        near = [i for i in near if i in here]
    pool = [i for i in here if i in near] or near
    first, lasting = first_told(event, events), _lasts(event)
    if not pool and (first or (lasting and event.status is not Status.NOT_DONE)):
        pool = [i for i in mine if i < event.start and not _of_another(said, event, i)]
    if not here and ((not lasting and not first) or _named_for_test(said, event)):
        pool = []
    if not here and pool and pool[-1] > event.start and (told := _told_of_last(event, events, pool)):
        # 'hot along the wall, twenty-eight, and then I teed down to each head, fifteen': the first is its run's
        pool = [i for i in pool if i not in told]
    return pool, bool(here)


def _told_of_last(event: Event, events: Sequence[Event], pool: Sequence[int]) -> list[int]:
    """The numbers of a pool that stand between the last work on the same pipes and this one, told of that work."""
    before = [e.act.end for e in events if e.start < event.start and set(e.keys) & set(event.keys)]
    return [i for i in pool if before and before[-1] <= i < event.start]


def _named_for_test(said: Said, event: Event) -> bool:
    """'the basin's in fifteen, and I had ten bar on the hot and cold': a test that names its pipes tells no size."""
    return event.action == "test" and bool(said.mentioned(said.clauses[event.clause]))


def _of_another(said: Said, event: Event, i: int) -> bool:
    """'sink hot and cold in sixteen, and the washing machine gets a cold and it's open': two colds, one size told."""
    mine = [g for g in said.groups if g.start < event.start and set(g.keys) & set(event.keys) and not g.referred]
    sized = [g for g in mine if g.start < i]
    return bool(sized) and mine[-1] is not sized[-1] and bool(mine[-1].serves) and mine[-1].serves != sized[-1].serves


def _reduction(said: Said, event: Event, pool: Sequence[int]) -> tuple[int, int] | None:
    """'twenty-two down to fifteen'; 'two couplings, forty to thirty-five'."""
    if event.action not in ("join", "fit", "tee") and not (event.action == "order" and event.keys == ("fitting",)):
        return None
    for a, b in pairwise(pool):
        between = [n.norm for n in said.row[a + 1 : b] if n.kind != "material"]
        near = len(between) <= 6 or event.action == "join"
        if near and between and between[-1] in ("to", "by", "onto", "into"):
            return a, b
    return None


def _reduced_to(said: Said, event: Event, events: Sequence[Event], pool: Sequence[int]) -> tuple[float, float] | None:
    """'run in twenty-two and reduced both to fifteen': from the size last told."""
    if event.action != "join" or len(pool) != 1 or said.norm(pool[0] - 1) not in _ON_TO:
        return None
    told = [
        e.slots["size_mm"]
        for e in events
        if e.start < event.start and set(event.keys) <= set(e.keys) and "size_mm" in e.slots
    ]
    small = millimetres(said, event.keys[0], pool[0])
    large = float(str(told[-1])) if told else _said_before(said, event, pool[0])
    return (large, small) if large and large != small else None


_ON_TO = frozenset(("to", "onto", "into"))


def _said_before(said: Said, event: Event, i: int) -> float | None:
    """'it's twenty-two, coming down to fifteen': a greater size in a clause before, of the only pipes named."""
    sized = [n for n in numbers(said) if n < said.clauses[event.clause].start and is_size(said.row, n)]
    sized = [n for n in sized if n not in said.scene.void]
    if not sized or any(set(g.keys) != set(event.keys) for g in said.groups if g.start < i):
        return None
    before = millimetres(said, event.keys[0], sized[-1])
    return before if before > millimetres(said, event.keys[0], i) else None


# -- materials --------------------------------------------------------------------------------------------------


def material(said: Said, event: Event, events: Sequence[Event], start: int, end: int) -> None:
    """Set an event's material from nodes `start:end`, or from earlier in the sentence for lasting work."""
    if not event.piped or event.action in _NO_MATERIAL or (event.action == "test" and not _lasts(event)):
        return
    pool = _materials(said, event, events, start, end)
    if event.action == "join" and "to_size_mm" in event.slots:
        # the second size's material is what it was joined to
        first = next((i for i in numbers(said) if is_size(said.row, i) and i >= start), None)
        pool = [i for i in pool if first is not None and i <= first + 1]
    if pool:
        after = [i for i in pool if i >= event.start]
        event.slots["material"] = said.row[after[0] if after else pool[-1]].keys[0]


def _materials(said: Said, event: Event, events: Sequence[Event], start: int, end: int) -> list[int]:
    told = [i for i in _told(said, start, end) if not _another_pipe(said, i)]
    own = any(said.clause_of(i) == event.clause for i in told)
    if not own and (_somebody_else(said, event) or _apart(said, event, events)):
        return []
    lasting = _lasts(event)
    if not own and ((not lasting and not first_told(event, events)) or _named_for_test(said, event)):
        return []
    pool = [i for i in told if material_owners(said, i, events) & set(event.keys)]
    last = _last_told(event, events)
    if not pool and lasting and last is not None:
        same = event.slots.get("size_mm") == last.slots.get("size_mm") and event.status is not Status.NOT_DONE
        return (
            [i for i in _told(said, said.start, event.start) if said.row[i].keys[0] == last.slots.get("material")]
            if same
            else []
        )
    if not pool and lasting and not _along_several(event, [e for e in events if e.start < event.start]):
        earlier = _told(said, said.start, event.start)
        pool = [i for i in earlier if material_owners(said, i, events) & set(event.keys)]
    return pool


def _told(said: Said, start: int, end: int) -> list[int]:
    return [i for i in range(start, end) if said.row[i].kind == "material" and i not in said.scene.void]


def _another_pipe(said: Said, i: int) -> bool:
    """A material that names another pipe: 'where the old copper used to stand', 'under the lead'."""
    before = said.norms(max(said.start, i - 5), i)
    if goes_onward(said, i) and not said.acts_in(said.clauses[said.clause_of(i)]):
        return True
    return "where" in before or ("old" in before[-1:] and bool(_OLD_PIPE & set(before[-3:])))
