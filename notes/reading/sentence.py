"""Reads one sentence, clause by clause, into events."""

from __future__ import annotations

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.answers import answer_follows, keep_in_mind
from notes.reading.disowned import disown
from notes.reading.ellipsis import doing_it, forgot, order_too, short_for
from notes.reading.elsewhere import elsewhere
from notes.reading.event import Event
from notes.reading.excepted import excepted, note_excepted
from notes.reading.fill import fill
from notes.reading.hanging import hung_on
from notes.reading.headed import under_heading
from notes.reading.implied import bare_test, implied
from notes.reading.lists import listed_to_order
from notes.reading.merge import merged, without_capped_tails, without_standing
from notes.reading.nominal import joist_depth
from notes.reading.owned import owned
from notes.reading.particles import on_heading
from notes.reading.pipes import find_pipes, note_pipes
from notes.reading.putright import corrected, take_back, verdicts
from notes.reading.replies import asked_of, replied
from notes.reading.said import Said
from notes.reading.short import in_short
from notes.reading.things import note_things, take_heading
from notes.reading.whereabouts import (
    for_room,
    joined_rooms,
    left_there,
    move_on,
    note_way,
    spread,
    take_rooms,
    told_after,
    where_it_starts,
)
from notes.reading.wordlists import words
from notes.reading.work import work_told

_TOLD_LEADS = words("told-leads")


def read_sentence(said: Said) -> list[Event]:
    """The events of a sentence, in the order they were said; the scene moves on."""
    spoke, said.scene.spoke = said.scene.spoke, None
    asked, said.scene.questioned = said.scene.questioned, []
    take_back(said)
    _note_depth(said)
    find_pipes(said)
    disown(said)
    note_excepted(said)
    replies, no_more = replied(said, asked)
    events = [] if no_more else excepted(said, corrected(said, _clause_by_clause(said)))
    events += [r for r in replies if not any(e.action == r.action and set(e.keys) & set(r.keys) for e in events)]
    spread(said, events)
    told_after(said, events)
    note_way(said, events)
    if not events:
        move_on(said)
    events = under_heading(said) or events
    events += implied(said, events)
    events = [e for e in events if not _told_again(said, e) and not _filled_to(said, e, events)]
    events = verdicts(said, without_standing(said, without_capped_tails(said, events)))
    events += bare_test(said, events)
    where_it_starts(said, events)
    events += hung_on(said, events)
    events += listed_to_order(said, events) + answer_follows(said, spoke, events)
    events.sort(key=lambda e: e.start)
    fill(said, events)
    keep_in_mind(said, events)
    said.scene.questioned = asked_of(said, events, said.scene.recent)
    said.scene.recent = events or said.scene.recent
    return merged(said, events)


def _told_again(said: Said, event: Event) -> bool:
    """'I pulled the hot and cold through. They go to the bathroom': the way of what was just run, no second run."""
    if event.action == "test" and said.norm(event.act.end - 1) == "down":
        # 'I pump hot and cold to nine bar. Hot goes down'
        return any(e.action == "test" and set(event.keys) <= set(e.keys) for e in said.scene.recent)
    if event.action != "run" or event.status is not Status.DONE or said.norm(event.start) not in _GO:
        return False
    if said.groups or said.joined(said.clauses[event.clause].start, event.start) not in ("they", "it", "that", "both"):
        return False
    return any(e.action == "run" and e.status is Status.DONE and e.keys == event.keys for e in said.scene.recent)


def _filled_to(said: Said, event: Event, events: list[Event]) -> bool:
    """'The heating's filled and it's sat at one and a half bar': the pressure it was filled to, no test."""
    if event.action != "test" or event.status is not Status.DONE:
        return False
    units = [q for n in said.row[said.clauses[event.clause].start : said.clauses[event.clause].end] if (q := n.qty)]
    low = any(q.unit == "bar" and q.value < _COLD_FILL for q in units) and all(q.unit == "bar" for q in units)
    sat = _SAT & set(said.norms(event.act.start, event.act.end))
    filled = any(e.action == "fill" and e.status is Status.DONE and set(e.keys) & set(event.keys) for e in events)
    return bool(low and sat and filled)


_COLD_FILL = 2.5
"""Bar: more than a sealed heating system is filled to when cold (common practice, no source)."""
_SAT = frozenset("sat sitting sits at to showing reading shows reads".split())
_GO = frozenset("go goes come comes run runs".split())


def _note_depth(said: Said) -> None:
    """'Joists are seven by two, so one seventy-five': kept for the holes told of later."""
    span = range(said.start, said.end)
    if any(said.row[i].kind == "item" and said.row[i].keys == ("joist",) for i in span):
        for i in span:
            said.scene.depth = joist_depth(said.row, i) or said.scene.depth


_ALLOWED = frozenset(("can", "may", "cannot"))
_PLACE_LEADS = frozenset(("from", "to", "where", "behind", "by", "under", "over", "at", "next", "up", "down", "in"))


def _clause_by_clause(said: Said) -> list[Event]:
    events: list[Event] = []
    asked: Event | None = None
    for number, clause in enumerate(said.clauses):
        take_rooms(said, number, clause)
        said.rooms_told.append(said.here())
        take_heading(said, clause)
        if clause.lead not in _TOLD_LEADS:
            asked = None
        told = len(events)
        if short := owned(said, number) or elsewhere(said, number, events) or in_short(said, number, events):
            events += short
        elif acts := said.acts_in(clause):
            asked = _take_work(said, number, acts, asked, events)
            if len(events) == told and asked is None:
                # 'a tundish, some clips': no clipping
                last = events[-1] if events else None
                events += order_too(said, number, last)
                # 'The hot's not lagged. That's Monday.'
                before = last or said.scene.told_before
                short = doing_it(said, number, before) or forgot(said, number, before)
                events += short if len(events) == told else []
        else:
            events += on_heading(said, number) or short_for(said, number, events)
        # 'from where the boiler's going' says a place, not what is spoken of next
        if not said.acts_in(clause) or (len(events) == told and said.norm(clause.start) not in _PLACE_LEADS):
            note_things(said, clause)
        note_pipes(said, clause)
    return events


def _take_work(said: Said, number: int, acts: list[Act], asked: Event | None, events: list[Event]) -> Event | None:
    """Add the events of a clause. What somebody is to be asked or told is no fact of its own: returns who was."""
    for act in acts:
        if asked is not None and act.start > asked.act.end - 1:
            continue
        if events and events[-1].action == "ask" and said.joined(max(0, act.start - 2), act.start) == "not to":
            # 'I've told him not to cover the gas'
            continue
        if events and events[-1].action == "ask" and _ALLOWED & set(said.norms(said.clauses[number].start, act.start)):
            # 'cleared it with the council, the soil can go up the outside': their answer
            continue
        event = work_told(said, act, number)
        if event is None:
            continue
        event.rooms = joined_rooms(said, event, number)
        event.rooms = left_there(said, event, number) if event.piped else for_room(said, event, number)
        events.append(event)
        if event.action == "ask" and event.status is not Status.DONE:
            asked = event
    return asked
