"""What somebody is asked or told of, or has to decide: named after it, told next, or before it."""

from __future__ import annotations

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.clauses import WAITING, Clause
from notes.reading.pipes import PEOPLE
from notes.reading.said import Said
from notes.reading.things import POINTED, STRUCTURE, in_phrase, key_of, mere_place, thing_in_mind, things_with
from notes.reading.which_pipes import NOBODY, Subject, pipes_for
from notes.reading.wordlists import words

_TOLD_LEADS = words("told-leads")
TIMBER = frozenset(("notch", "notches", "hole", "holes"))
"""What is in a joist, and stands for it."""


def matter_of(said: Said, act: Act, number: int, item: int | None) -> Subject:
    """What somebody is asked, or has to decide: named after it, told next, or before it."""
    clause = said.clauses[number]
    in_clause = [g for g in said.mentioned(clause) if not _somebody(said, g.end)]
    about = _about(said, act, clause)
    if (whether := _whether(said, act)) is not None:
        return key_of(said, whether)
    if _unknown_matter(said, act):
        return NOBODY
    if after := [g for g in in_clause if g.start >= about]:
        return after[0].keys, None
    waits = next((i for i in range(act.end, clause.end) if said.norm(i) in WAITING), clause.end)
    if later := [i for i in said.items(clause) if about <= i < waits and not _no_matter(said, i)]:
        later = [i for i in later if said.row[i].keys[0] not in STRUCTURE] or later
        if act.action == "decide":
            # 'can't settle on a tap for the sink': the tap
            later = [i for i in later if not in_phrase(said, i)] or later
        return _matter(
            said, later[0] if {"or", "between"} & set(said.norms(clause.start, later[-1])) else later[-1], clause
        )
    if TIMBER & set(said.norms(about, clause.end)):
        built = [k for i in range(about, clause.end) for k in said.row[i].keys[:1] if k in ("wall", "floor")]
        return (built[-1] if built else "joist",), None
    if said.worked is not None and said.joined(about, clause.end) in _ABOUT_IT:
        # 'I've drilled two of them, and the engineer wants ringing about those'
        return said.worked.keys, None
    if said.joined(about, clause.end) in _ABOUT_IT and (last := said.told_last) and last.keys == ("joist",):
        # 'notched a joist for his waste. Far too deep. The engineer'll need to hear about it'
        return last.keys, None
    item = item if item is not None and item < waits and not _somebody(said, item + 1) else None
    if act.action == "ask" and (told := told_next(said, number)):
        return told, None
    theirs = [i for i in said.items(clause) if _somebody(said, i + 1)]
    if act.action == "ask" and theirs and not _ABOUT & set(said.norms(act.end, clause.end)):
        # 'ask the tank supplier for his certificate'
        return _matter(said, theirs[0])
    if act.action == "decide" and item is None and (told := told_next(said, number, chosen=True)):
        return told, None
    thing = None if item is not None and _where_only(said, item) else item
    if thing is not None and act.action == "decide":
        return key_of(said, thing)
    if in_clause:
        return in_clause[-1].keys, None
    if thing is not None:
        return _matter(said, thing)
    earlier = [
        i for i in range(said.start, act.start)
        if said.row[i].kind == "item" and not in_phrase(said, i) and not _where_only(said, i)
        # 'does it go in the floor or up the wall, someone ask the spark'
        and not (said.row[i].keys[0] in STRUCTURE and said.clauses[said.clause_of(i)].question)
    ]  # fmt: skip
    if said.worked is not None and earlier and said.worked.keys == ("joist",) and said.worked.start > earlier[-1]:
        # 'Now the floor, ... she's cut a notch forty deep, so the inspector wants asking'
        return said.worked.keys, None
    if earlier:
        return key_of(said, _first_choice(said, earlier[-1]))
    if act.action == "decide" and (undecided := _still_open(said, act)):
        return undecided, None
    trade = [i for i in range(clause.start, clause.end - 1) if said.row[i].kind == "service" and _somebody(said, i + 1)]
    if act.action == "ask" and trade:
        # 'ring the gas chap, find out when he's coming'
        return said.row[trade[0]].keys, None
    if _mere_talk(said, act):
        return NOBODY
    if key := thing_in_mind(said):
        return (key,), None
    named = [i for i in range(said.start, act.start) if said.row[i].kind == "item" and not mere_place(said, i)]
    if named and act.action == "decide":
        # 'she's on about a stove instead of the radiator, and she's to make her mind up'
        return key_of(said, named[-1])
    return pipes_for(said, act, clause)


def _mere_talk(said: Said, act: Act) -> bool:
    """'if I've forgot summat, ask the pony', 'I told him, a text with a bike': nothing named, meant or in question."""
    if act.action != "ask" or said.scene.questioned or said.norm(said.start - 1) == "?" or said.worked is not None:
        return False
    if _MEANT & set(said.norms(act.end, said.end)) or _IN_QUESTION & set(said.norms(said.start, act.start)):
        return False
    recent = said.scene.recent
    return not any(e.action in ("ask", "decide") or e.status in _OPEN or e.keys == ("joist",) for e in recent)


_MEANT = frozenset(
    "it them that those this these one ones which what where whether how why when who about first to".split()
)
_IN_QUESTION = frozenset("what where which whether how is does do are can nobody either or after there".split())
_OPEN = (Status.UNSURE, Status.TO_DO, Status.NOT_DONE)


def _first_choice(said: Said, i: int) -> int:
    """'bath or shower, undecided': one question, named by its first thing."""
    before = range(max(said.start, i - 4), i - 1)
    first = next((j for j in before if said.row[j].kind == "item" and "or" in said.norms(j + 1, i)), i)
    return first if first == i else _first_choice(said, first)


def _unknown_matter(said: Said, act: Act) -> bool:
    """'he can't settle where the hose point goes': of nothing that is known here."""
    for i in range(max(said.start, act.end - 1), said.end - 2):
        if said.norm(i) in _WHERE and said.norm(i + 1) in POINTED:
            verb = next((j for j in range(i + 2, min(i + 6, said.end)) if said.norm(j) in _STANDS), i + 2)
            return verb > i + 2 and all(n.kind == "word" for n in said.row[i + 2 : verb])
    return False


_WHERE = frozenset(("where", "which", "whether", "if", "how"))
_STANDS = frozenset(("goes", "go", "is", "'s", "are", "will", "wants", "sits", "should", "stands", "can", "comes"))


def _still_open(said: Said, act: Act) -> tuple[str, ...]:
    """'so that's decided': what a decision was last awaited on, in this room."""
    if act.form not in ("done", "state"):
        return ()
    waits = [q for q in said.scene.asked if q[0] == UNDECIDED and q[1] in (said.scene.room, None)]
    return waits[-1][2] if waits else ()


UNDECIDED = "?"
"""Kept for who was asked, where a decision is awaited."""


def _whether(said: Said, act: Act) -> int | None:
    """'can't decide if she wants one rad or two', 'whether the basin's on a stand or the wall, she can't say'."""
    asked = [i for i in range(said.start, said.end) if said.norm(i) in ("if", "whether")]
    if act.action != "decide" or not asked:
        return None
    start, end = (asked[-1], said.end) if asked[-1] >= act.start else (asked[-1], act.start)
    things = [i for i in range(start, end) if said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE]
    return things[0] if things and not any(start <= g.start < end for g in said.groups) else None


def _where_only(said: Said, i: int) -> bool:
    """'she doesn't know which wall' asks where."""
    return mere_place(said, i) or (said.row[i].keys[0] in STRUCTURE and said.norm(i - 1) in ("which", "what", "whose"))


def _no_matter(said: Said, i: int) -> bool:
    """Where it is asked of, or who: 'ring the tank people'."""
    return _where_only(said, i) or _somebody(said, i + 1)


def _somebody(said: Said, after: int) -> bool:
    """'ring the gas board': who is asked, not of what."""
    return after < said.end and said.norm(after) in PEOPLE


_ABOUT_IT = frozenset(f"about {it}" for it in ("it", "that", "those", "them", "this", "these"))
_ABOUT = frozenset(("about", "of", "if", "whether", "regarding", "concerning"))


def _about(said: Said, act: Act, clause: Clause) -> int:
    """Where what somebody is asked of begins: after 'about', else right after the asking."""
    told = [i for i in range(act.end, clause.end) if said.norm(i) in _ABOUT]
    return told[0] if told else act.end


def _matter(said: Said, i: int, clause: Clause | None = None) -> Subject:
    """The thing that is asked about, with those listed beside it in `clause`: a flue is the boiler's."""
    if said.norm(i) in _OF_BOILER:
        return ("boiler",), None
    # 'torn between a bath and a shower' is one question
    apart = clause is not None and not {"or", "between"} & set(said.norms(clause.start, clause.end))
    return things_with(said, clause, i) if clause and apart else key_of(said, i)


_FINDS = frozenset(("see", "find", "check", "say", "get"))
_OF_BOILER = words("of-boiler")


def told_next(said: Said, number: int, chosen: bool = False) -> tuple[str, ...]:
    """What somebody is told or asked, or has chosen, where it follows in clauses of its own."""
    for clause in said.clauses[number + 1 :]:
        asks = clause.lead == "and" and (
            said.norm(clause.start) in _FINDS or any(a.action == "ask" for a in said.acts_in(clause))
        )
        if clause.lead and clause.lead not in _TOLD_LEADS and not asks:
            break
        if named := said.mentioned(clause):
            return named[0].keys
        if TIMBER & set(said.norms(clause.start, clause.end)):
            return ("joist",)
        # 'ask the client, lever taps or push taps'
        choice = chosen or "or" in said.norms(clause.start, clause.end)
        things = [i for i in said.items(clause) if (said.norm(i - 1) in POINTED or choice) and not _where_only(said, i)]
        if clause.lead in ("before", "till", "until", "once", "after"):
            # 'he ought to be told before the floor goes down'
            things = [i for i in things if said.row[i].keys[0] not in STRUCTURE]
        if things:
            return _matter(said, things[0])[0]
    return ()
