"""One fact for one thing said: what a sentence tells twice is put together."""

from __future__ import annotations

from collections.abc import Sequence

from notes.model import Status
from notes.reading.event import Event
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_ENDS = ("size_mm", "to", "place", "from_")
_APART = {
    "run": ("size_mm", "to"),
    "order": ("size_mm", "count"),
    **dict.fromkeys(("cap", "leave", "tee", "connect"), _ENDS),
}
"""Work that may be done twice to one pipe or thing, and what tells the two apart."""


def merged(said: Said, events: Sequence[Event]) -> list[Event]:
    """The events without those that another says already."""
    for less in (_without_ways_to_come, _still_to_come, _undecided, _one_question, _once, _both_told):
        events = less(said, events)
    return _quoted(said, _reduced(events))


def _still_to_come(said: Said, events: Sequence[Event]) -> list[Event]:
    """'the rad came with a dent in it, so we need another': it is not got, where one is asked for again.

    'nobody's ordered one, so get one in' asks for it once.
    """
    wanted = {e.keys for e in events if e.action == "order" and e.status is Status.TO_DO}
    events = [e for e in events if e.action != "order" or e.status is not Status.NOT_DONE or e.keys not in wanted]
    again = {e.keys for e in events if e.action == "order" and e.status in (Status.TO_DO, Status.NOT_DONE)}
    if not again or not _CAME_WRONG.search(said.joined(said.start, said.end)):
        return events
    return [e for e in events if e.action != "order" or e.status is not Status.DONE or e.keys not in again]


_CAME_WRONG = pattern("came-wrong")


def _undecided(said: Said, events: Sequence[Event]) -> list[Event]:
    """'there's to be a thermostat, or there isn't, he can't make up his mind': what waits for a word is no plan yet."""
    open_yet = {e.keys for e in events if e.action == "decide" and e.status is Status.TO_DO}
    return [e for e in events if e.action != "fit" or e.status is not Status.TO_DO or e.keys not in open_yet]


def _one_question(said: Said, events: Sequence[Event]) -> list[Event]:
    """'a towel rail, don't know if they want one, ask the owner': what nobody knows is asked, no more."""
    asked = {k for e in events if e.action == "ask" and e.status is Status.TO_DO for k in e.keys}
    return [e for e in events if e.action != "decide" or e.status is not Status.TO_DO or not asked & set(e.keys)]


def _quoted(said: Said, events: list[Event]) -> list[Event]:
    """The words of an event run from where its pipes are named, if nothing else is told of them between."""
    for event in events:
        named = [g for g in said.groups if g.start < event.span[0] and set(event.keys) <= set(g.keys)]
        if not event.piped or not named:
            continue
        start = named[-1].start
        if start > said.start and said.row[start - 1].kind == "item":
            start -= 1
        if not any(start <= o.span[0] < event.span[0] for o in events if o is not event):
            event.span = (start, event.span[1])
    return events


def without_capped_tails(said: Said, events: Sequence[Event]) -> list[Event]:
    """'sticking out the wall with a cap on' is capped, not left open."""
    ends = [e for e in events if e.action == "leave" or (e.action == "run" and said.norm(e.act.start) in _FINISHES)]
    kept = [e for e in events if e not in ends or not any(_caps(said, o, e) for o in events)]
    return [e for e in kept if not (e.action == "cap" and any(_left_open(said, o, e) for o in kept))]


_FINISHES = frozenset(("finish", "finishes", "end", "ends"))
"""'the hot and cold finish below the window with a cap apiece': where they are capped, no run told."""


def _left_open(said: Said, one: Event, cap: Event) -> bool:
    """'no cap on it, it's wide open' is left open."""
    no_cap = cap.status is Status.NOT_DONE and cap.act.form in ("noun", "notdone")
    opened = one.action == "leave" and one.status is Status.DONE and "open" in said.norms(one.act.start, one.act.end)
    return no_cap and opened and set(one.keys) == set(cap.keys)


def without_standing(said: Said, events: Sequence[Event]) -> list[Event]:
    """'the rad's stood in there but it's not hung' is not hung."""
    undone = [e for e in events if e.action == "fit" and e.status is Status.NOT_DONE]
    return [
        e for e in events
        if e.action != "fit" or e.status is not Status.DONE or not _STANDS & set(said.norms(e.act.start, e.act.end))
        or not any(o.keys == e.keys for o in undone)
    ]  # fmt: skip


def _without_ways_to_come(said: Said, events: Sequence[Event]) -> list[Event]:
    """'the discharge goes out to the yard, that's not run': where it goes, and that it does not yet."""
    kept = list(events)
    for way in events:
        later = [e for e in events if e.action == "run" and e.start > way.start and e.keys == way.keys]
        leads = way.action == "run" and way.status is Status.DONE and said.norm(way.act.start) in _LEADS_TO
        if not leads or not later:
            continue
        pointed = said.norm(said.clauses[later[0].clause].start) in ("that", "it", "they", "which")
        further = {"go", "gone", "further"} & set(said.norms(later[0].act.start, later[0].act.end + 2))
        if pointed and not further and later[0].status is Status.NOT_DONE and later[0].clause == way.clause + 1:
            kept.remove(way)
            for slot, value in way.slots.items():
                later[0].slots.setdefault(slot, value)
    return kept


_LEADS_TO = frozenset(("goes", "go", "comes", "come", "runs"))
_STANDS = frozenset(("stood", "sat", "standing", "sitting", "leaning", "lying"))


def _caps(said: Said, one: Event, left: Event) -> bool:
    # '..., with caps on' goes on with the clause before
    on = one.clause > left.clause and said.norm(said.clauses[one.clause].start) == "with"
    near = on or one.clause == left.clause
    # 'pokes out beside the cooker, through the wall, capped'
    ends = said.clauses[one.clause]
    near = near or (
        one.clause > left.clause and not ends.lead and (one.act.start, one.act.end) == (ends.start, ends.end)
    )
    same = near and bool(set(one.keys) & set(left.keys))
    return one.action == "cap" and one.status is Status.DONE and same


def _once(said: Said, events: Sequence[Event]) -> list[Event]:
    """The same thing said twice in a sentence, once: 'ring him and ask'; the first keeps what the second adds."""
    out: list[Event] = []
    for event in events:
        twin = next((o for o in out if _same(o, event) and not _two_things(said, o, event)), None)
        if twin is None:
            out.append(event)
            continue
        for slot, value in event.slots.items():
            twin.slots.setdefault(slot, value)
        twin.span = (min(twin.span[0], event.span[0]), max(twin.span[1], event.span[1]))
    return out


def _same(one: Event, other: Event) -> bool:
    alike = (one.action, one.status, one.keys) == (other.action, other.status, other.keys)
    if not alike or set(one.rooms) != set(other.rooms):
        return False
    return not any(
        one.slots.get(s) and other.slots.get(s) and one.slots[s] != other.slots[s] for s in _APART.get(one.action, ())
    )


def _two_things(said: Said, one: Event, other: Event) -> bool:
    """'the rad's on, and the landing rad's on', 'a trap, and six elbows': two of a kind, each named for itself."""
    if other.action not in ("fit", "remove", "order"):
        return False
    if one.clause == other.clause and other.act.end - other.act.start > 1:
        return False
    a, b = _thing_named(said, one), _thing_named(said, other)
    if a is None or b is None or a == b:
        return False
    # 'order a valve, a lever valve'
    short, long = sorted((said.norm(a).rstrip("s"), said.norm(b).rstrip("s")), key=len)
    return other.action != "order" or not long.endswith(short)


def _thing_named(said: Said, event: Event) -> int | None:
    """The node that names the first thing of an event: in its words, else in its clause."""
    clause = said.clauses[event.clause]
    for span in (range(event.act.start, event.act.end), range(clause.start, clause.end)):
        for i in span:
            if said.row[i].kind == "item" and said.row[i].keys[0] in event.keys:
                return i
    return None


def _both_told(said: Said, events: Sequence[Event]) -> list[Event]:
    """'hot leaves in 28, the return comes back in 22, both run to the ceiling': the last adds no runs, only an end."""
    out: list[Event] = []
    for event in events:
        runs = [o for o in out if o.action == "run" and o.status is event.status]
        both = len(event.keys) > 1 and len(runs) > 1 and set(event.keys) == {k for o in runs for k in o.keys}
        if event.action != "run" or not both:
            out.append(_less_what_is_told(said, event, runs))
            continue
        for slot in ("to", "place", "length_m"):
            if slot in event.slots:
                for run in runs:
                    run.slots.setdefault(slot, event.slots[slot])
    return out


def _less_what_is_told(said: Said, event: Event, runs: Sequence[Event]) -> Event:
    """'hot comes off the top, the return's in twenty-two, the pair run to the shaft': only the return is news."""
    clause = said.clauses[event.clause]
    told = [r for r in runs if set(r.keys) < set(event.keys)]
    pronoun = {"pair", "both", "they", "them"} & set(said.norms(clause.start, event.act.end))
    if event.action != "run" or not told or not pronoun or event.per_key_size:
        return event
    for run in told:
        for slot in ("to", "place", "length_m"):
            if slot in event.slots:
                run.slots.setdefault(slot, event.slots[slot])
    event.keys = tuple(k for k in event.keys if not any(k in r.keys for r in told))
    return event


def _reduced(events: Sequence[Event]) -> list[Event]:
    """'drops down to fifteen' beside a reduction of the same pipe is that reduction."""
    joins = [e for e in events if e.action == "join" and "to_size_mm" in e.slots]
    return [e for e in events if e.action != "run" or e.slots.get("place") or not any(_is_it(e, j) for j in joins)]


def _is_it(run: Event, join: Event) -> bool:
    """Not so where the run was told before, in a clause of its own: 'brought it along in 22 and reduced it to 15'."""
    before = run.clause < join.clause and run.slots.get("size_mm") not in (None, join.slots["to_size_mm"])
    return bool(set(run.keys) & set(join.keys)) and not before
