"""Which pipes an action is done to, where none stands beside it: the lot, both, the last spoken of, known by size."""

from __future__ import annotations

from collections.abc import Callable

from notes.reading.actions import Act
from notes.reading.clauses import WAITING, Clause
from notes.reading.nominal import is_size
from notes.reading.patterns import macro_words
from notes.reading.pipes import PEOPLE, SMALL
from notes.reading.said import Said
from notes.reading.scene import Group
from notes.reading.stretches import headed_pipes
from notes.reading.things import DETERMINERS
from notes.reading.wordlists import pattern, words

Subject = tuple[tuple[str, ...], str | None]
"""Services or an item, and the thing that pipes serve."""
NOBODY: Subject = ((), None)

_AGENTS = words("agents")
_THEM = words("them")
_PRONOUNS = words("pronouns")
_SPARE = words("spare")
_KNOWN_OLD = frozenset(("old", "that", "the"))
_EVERYTHING = pattern("everything-said")
_NAMED_BY_NUMBER = frozenset(("loop", "loops", "circuit", "zone", "number", "flat", "unit", "plot", "room", "floor"))
"""'loop three's been cut out' speaks of one."""
_ENDED = frozenset(("cap", "leave", "test"))
_BY_PEOPLE = frozenset(("run", "connect", "test", "cap", "fill", "remove"))
_ON = frozenset(("cap", "test", "seal", "insulate", "photograph", "fill", "flush", "cover", "drain"))
_ONTO = frozenset(("of", "in", "into", "round", "on", "through", "down", "to"))


def pipes_for(said: Said, act: Act, clause: Clause) -> Subject:
    """The pipes an action is done to, and what they serve: the first way of `_WAYS` that tells."""
    for way in _WAYS:
        if (found := way(said, act, clause)) is not None:
            return found
    return NOBODY


def has_pipe(said: Said, act: Act, clause: Clause) -> bool:
    """Whether any pipe is at hand for 'brought', 'comes up': named in the sentence, or meant by a pronoun."""
    if any(not g.referred or is_object(said, g, act) for g in said.groups) or headed_pipes(said):
        return True
    near = set(said.norms(clause.start, min(act.end + 3, clause.end)))
    if (said.scene.group or said.groups) and (_PIPES & near or _goes_on(said, act, clause)):
        return True
    if _TAILS & near:
        return True
    sized = any(is_size(said.row, i) for i in range(clause.start, max(clause.end, act.end)))
    # 'pulled the multilayer through for hot and cold'
    sized = sized or any(n.kind == "material" for n in said.row[act.start : min(act.end + 2, clause.end)])
    if act.end - act.start == clause.end - clause.start and said.scene.group and not said.scene.recent_done(act.action):
        # 'Bathroom, waste. Run, not connected.'
        return True
    return the_other(said, clause) > 0 or bool(near & _THEM) or bool(known_by_size(said, clause)) or sized


def _goes_on(said: Said, act: Act, clause: Clause) -> bool:
    """'It comes in at the back. Turns up inside the unit', 'needs to go through the wall': who is left unsaid."""
    told = said.told_last
    if said.scene.last != ("pipe", "") and (told is None or not told.piped):
        return False
    ahead = [n.norm for n in said.row[clause.start : act.start] if n.kind != "mark"]
    present = said.norm(act.start) in _GOES
    return (present or bool(_MUST & set(ahead))) and all(n in _AHEAD for n in ahead)


_GOES = frozenset(
    "goes comes runs drops stops rises turns carries heads crosses follows leaves climbs passes ends".split()
)
_MUST = frozenset(("needs", "wants", "has", "got"))
_AHEAD = _MUST | frozenset("to still just only also then and yet ought be being now it".split())


def is_object(said: Said, group: Group, act: Act) -> bool:
    """'put a bung in the soil', 'mastic round the main': the pipe after the work's own preposition."""
    if act.action in _ON and 0 <= group.start - act.end <= 2 and said.norm(act.end - 1) in _ONTO:
        return True
    near = act.end <= group.start <= act.end + 2
    if act.action == "photograph" and near and "of" in said.norms(act.end, group.start):
        # 'took photos of the hot, but not the cold'
        return True
    if act.action == "tee" and group.start == act.end and said.norm(act.end - 1) == "off":
        # 'teed off hot and cold at the landing'
        return True
    if act.action == "tee" and near and _INTO & set(said.norms(act.end - 1, group.start)):
        # 'I put a tee in the cold'
        return bool(_TEE & set(said.norms(act.start, act.end)))
    if (
        act.action == "leave"
        and near
        and said.norm(group.start - 1) in ("for", "the")
        and "for" in said.norms(act.end - 1, group.start)
    ):
        # 'the manifold's in, left tails for the hot'
        return True
    if act.action in ("tee", "cap", "run") and act.start <= group.start < act.end:
        # 'that tee for the hot return's in'
        return True
    return act.action == "cap" and near and said.norm(act.end) in ("in", "on")


_INTO, _TEE = frozenset(("in", "into")), frozenset(("tee", "tees", "branch"))


def known_by_size(said: Said, clause: Clause) -> tuple[str, ...]:
    """'the spare twenty-five', 'the old lead': the pipe last said in that size or material."""
    for i in range(max(clause.start, 1), clause.end):
        node, before = said.row[i], said.norm(i - 1)
        if node.kind == "material" and before in _KNOWN_OLD and (keys := said.scene.sized.get(node.keys[0])):
            return keys
        named = node.qty and node.qty.unit != "inch" and before in _SPARE and is_size(said.row, i)
        if node.qty and named and (keys := said.scene.sized.get(f"{node.qty.value:g}")):
            return keys
    return ()


def _of_which(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'insulation of the hot is completed'."""
    if act.form not in ("ing", "noun") or said.norm(act.end) != "of":
        return None
    named = [g for g in said.groups if act.end < g.start <= act.end + 2]
    return _told(said, named[0]) if named else None


def _beside(said: Said, act: Act, clause: Clause) -> Subject | None:
    """Pipes named in the clause: after the work where somebody does it, else before it."""
    mine = [g for g in said.mentioned(clause) if not g.referred or is_object(said, g, act)]
    before = [g for g in mine if g.start < act.start]
    after = [g for g in mine if g.start >= act.start]
    agent = any(n in _AGENTS for n in said.norms(clause.start, act.start))
    if after and (agent or not before):
        return _told(said, after[0])
    return _told(said, before[-1]) if before else None


def _shared(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'I've run, clipped and tested the gas': each is done to what follows the last."""
    number = said.clause_of(act.start)
    if act.end != clause.end or any(g.start < act.start for g in said.groups):
        return None
    for later in said.clauses[number + 1 :]:
        acts = said.acts_in(later)
        if later.lead not in ("", "and") or not acts or acts[0].start != later.start:
            return None
        if named := [g for g in said.named(later) if acts[0].end <= g.start <= acts[0].end + 2]:
            return _told(said, named[0])
        if acts[0].end != later.end:
            return None
    return None


def _closed_in(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'closed the wall, with the hot and cold inside it': what is behind is what was covered."""
    if act.action != "cover":
        return None
    inside = [
        g
        for g in said.groups
        if g.start >= act.end and said.norm(said.clauses[said.clause_of(g.start)].start) == "with"
    ]
    return (inside[0].keys, None) if inside else None


def _told(said: Said, group: Group) -> Subject:
    return group.keys, group.serves or said.headed


def _the_lot(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'everything': the pipes spoken of in this room, but for 'hot and cold drops, I've left all of them'."""
    norms = said.norms(clause.start, clause.end)
    if not _EVERYTHING.search(" ".join(norms)):
        return None
    known = said.scene.known.get(said.scene.room or "", ())
    if not said.scene.here and len(known) > 1 and not said.groups:
        # 'Everything in the laundry's lagged now', first of all in a later memo
        return known, None
    if len(said.scene.here) <= len(said.scene.group):
        # all that is known here was just spoken of
        return (said.scene.group, None) if len(said.scene.group) > 2 and not said.mentioned(clause) else None
    listed_here = any(len(g.keys) > 1 and g.start < act.start and not g.referred for g in said.groups)
    if listed_here and "lot" not in norms and "everything" not in norms:
        return None
    return tuple(said.scene.here), None


def _so_many(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'both', 'all three pipes', where the last list named is shorter: the last so many in this room."""
    # 'they just stop, the three of them, open'
    stop = max(act.end, min(act.end + 3, clause.end))
    things = [i for i in range(clause.start, stop - 1) if said.norm(i) == "both" and said.row[i + 1].kind == "item"]
    # 'connected to both boilers' counts no pipes
    wanted = _how_many(said.norms(clause.start, things[0] if things else stop))
    if not wanted or _many_of_one(said, act):
        return None
    scene = said.scene
    if len(scene.group) >= wanted:
        return scene.group, None
    if len(scene.here) >= wanted:
        return tuple(scene.here[-wanted:]), None
    known = scene.known.get(scene.room or "", ())
    if len(known) >= wanted and not scene.here:
        return tuple(known[-wanted:]), None
    # 'both run above the desk': those that came through from the last room
    return (scene.past, None) if len(scene.past) >= wanted and not scene.here else None


def _many_of_one(said: Said, act: Act) -> bool:
    """'wastes, inch and a half, all three teed into one': three of a kind, named just now."""
    named = [g for g in said.groups if g.end <= act.start and not g.referred]
    return bool(named) and len(named[-1].keys) == 1 and said.norm(named[-1].end - 1).endswith("s")


def _they_all(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'hot's up in twenty-eight, the cold in thirty-five, and they're all clipped': all that the sentence named."""
    near = said.norms(clause.start, min(act.end + 2, clause.end))
    if not {"they", "them"} & set(near) or not {"all", "both"} & set(near):
        return None
    keys = tuple(dict.fromkeys(k for g in said.groups if g.end <= act.start and not g.referred for k in g.keys))
    return (keys, None) if len(keys) > 1 else None


def _how_many(norms: list[str]) -> int:
    wanted = 2 if {"both", "pair", "neither"} & set(norms) else 0
    for before, many, of in zip(["", *norms], norms, norms[1:], strict=False):
        if before in _NAMED_BY_NUMBER:
            continue
        if many in SMALL and (of in ("pipes", "of", "are", "is") or many == "three"):
            wanted = SMALL[many]
    return wanted


def _earlier(said: Said, act: Act, clause: Clause) -> Subject | None:
    """Pipes named earlier in the sentence, or worked on since."""
    earlier = [g for g in said.groups if g.end <= act.start and not g.referred]
    if not earlier:
        return None
    worked = said.worked
    if worked is not None and worked.piped and worked.start > earlier[-1].start:
        return worked.keys, worked.serves
    return _told(said, earlier[-1])


def the_other(said: Said, clause: Clause) -> int:
    """The node after 'the other', 'the others', 'the other two', where pipes or things are meant; else 0."""
    for i in range(clause.start, min(clause.start + 4, clause.end)):
        if said.norm(i) in ("other", "others"):
            after = i + 1 + (said.norm(i + 1) in _COUNTED if i + 1 < clause.end else 0)
            return after if after >= clause.end or said.norm(after) in _AUX else 0
    return 0


_COUNTED = frozenset(("one", "ones", "two", "three", "pair", "pipe", "pipes"))
_AUX = frozenset("'s is are was were has have wants want needs need not still i to open yet though too as".split())


def other_pipes(said: Said) -> tuple[str, ...]:
    """What is left of the pipes last listed, but for those just worked on."""
    events = [said.worked] if said.worked is not None else said.scene.recent[-1:]
    done = {k for e in events for k in e.keys}
    return tuple(k for k in said.scene.many if k not in done) if done < set(said.scene.many) else ()


def one_of_several(said: Said, start: int, end: int) -> tuple[tuple[str, ...], int, int] | None:
    """What 'the other', 'the rest', 'the first one', 'the latter' is of the pipes last listed, and its nodes."""
    many = said.scene.many
    for i in range(start, end):
        word, after = said.norm(i), i + 1
        if word not in _OTHERS and word not in _PLACES:
            continue
        while after < said.end and said.norm(after) in _COUNTED:
            after += 1
        if after < said.end and said.row[after].kind != "mark" and said.norm(after) not in _AUX:
            continue
        if word in _OTHERS and (left := other_pipes(said)):
            return left, i, after
        number = SMALL.get(said.norm(i + 1), 0) if i + 1 < said.end else 0
        if word in ("first", "last") and len(many) > number > 1:
            # 'the first two are clipped'
            return (many[:number] if word == "first" else many[-number:]), i, after
        pointed = said.norm(i - 1) == "the" or said.norms(i + 1, i + 2) in (["one"], ["'s"], ["is"], ["has"])
        alone = after == i + 1 or said.norms(i + 1, after) == ["one"]
        if word in _PLACES and len(many) > 1 and pointed and alone and many[_PLACES[word]]:
            return many[_PLACES[word]], i, after
    return None


_OTHERS = frozenset(("other", "others", "rest"))
_PLACES = {
    "first": slice(0, 1), "former": slice(0, 1), "second": slice(1, 2), "third": slice(2, 3),
    "latter": slice(-1, None), "last": slice(-1, None),
}  # fmt: skip


def _one_of_many(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'hot and cold: first one's capped, the other's open', 'tested the first'."""
    found = one_of_several(said, clause.start, min(act.end + 4, clause.end))
    return (found[0], None) if found else None


def _covered_so(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'the screed's down, so that underfloor's buried', 'ceiling's up, and I never lagged the cold': told next."""
    if act.action != "cover" or "not" in said.norms(clause.start, act.start):
        return None
    after = [a for a in said.acts if a.start >= act.end]
    known = said.scene.group or any(g.start < act.end for g in said.groups) or said.norm(act.start) in _COVERERS
    if not after or (after[0].action != "cover" and known):
        return None
    named = said.named(said.clauses[said.clause_of(after[0].start)])
    return _told(said, named[0]) if named else None


_COVERERS = macro_words("COVERERS")
"""'The plasterer's coming Friday, and the hot isn't tested': who says what he will cover?"""


def _all_behind(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'hot and cold, I've lagged the hot, and he's boarding it up Monday': all that was listed goes behind it."""
    many, last = said.scene.many, said.worked.keys if said.worked is not None else said.scene.group
    if act.action != "cover" or said.mentioned(clause) or _IT_ALONE & set(said.norms(act.start, act.end + 1)):
        return None
    return (many, None) if set(last) < set(many) <= set(said.scene.here) else None


_IT_ALONE = frozenset(("it", "that"))


def _named_beside(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'drained both, hot and cold': how many is said, and which right after it."""
    number = said.clause_of(act.start) + 1
    if number == len(said.clauses) or said.mentioned(clause) or said.clauses[number].lead:
        return None
    if not _how_many([*said.norms(clause.start, clause.end), "pipes"]) and not _ALL & set(
        said.norms(clause.start, clause.end)
    ):
        return None
    named = said.named(said.clauses[number])
    beside = said.clauses[number]
    alone = len(named) == 1 and len(named[0].keys) > 1 and (named[0].start, named[0].end) == (beside.start, beside.end)
    return _told(said, named[0]) if alone else None


_ALL = frozenset(("all", "lot", "everything"))


def _sized(said: Said, act: Act, clause: Clause) -> Subject | None:
    keys = known_by_size(said, clause) or known_by_size(said, said.clauses[0])
    return (keys, None) if keys else None


def named_later(said: Said, act: Act, clause: Clause) -> Subject | None:
    """A clause that only names pipes, after the work is told: 'connected it all, flow and return'."""
    later = [g for g in said.groups if g.start >= act.end and not g.referred and _stands_alone(said, g)]
    return _told(said, later[0]) if later else None


def _stands_alone(said: Said, group: Group) -> bool:
    clause = said.clauses[said.clause_of(group.start)]
    return clause.lead not in WAITING and not said.acts_in(clause)


def _headed_by(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'Gas now. The twenty-two for Flat 1 comes off at ground floor': of the heading, whatever the room knows."""
    keys = () if said.groups else headed_pipes(said)
    return (keys, said.headed) if keys else None


def _by_whom(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'gas lad says he tested his twenty-two': what such people work on."""
    if act.action not in _BY_PEOPLE or said.named(clause):
        return None
    people = [g for g in said.mentioned(clause) if g.end < act.start and said.norm(g.end) in PEOPLE]
    return (people[-1].keys, None) if people else None


def _of_people(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'the gas man has been, it is connected'."""
    if act.action not in _BY_PEOPLE:
        return None
    people = [g for g in said.groups if g.end < said.end and said.norm(g.end) in PEOPLE and g.start < act.start]
    return (people[-1].keys, None) if people else None


def _before_closed(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'I took a picture and then he boxed in the hot and cold': of what was closed in."""
    if act.action != "photograph":
        return None
    closed = [a for a in said.acts if a.action == "cover" and a.start >= act.end]
    behind = [g for g in said.groups if closed and g.start >= closed[0].start]
    return (behind[0].keys, None) if behind else None


def _it_in_passing(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'had the board off for the cistern cold, it was capped right enough': the only pipe that this sentence names."""
    it = said.norms(max(clause.start, act.start - 3), act.end + 1)
    named = [g for g in said.groups if g.end <= clause.start]
    if not {"it", "pipe", "pipes"} & set(it) or len(named) != 1 or said.norm(named[0].start - 1) not in _LED_BY:
        return None
    return (named[0].keys, None) if said.worked is None or not said.worked.piped else None


_LED_BY = DETERMINERS | {"for"}


def _in_mind(said: Said, act: Act, clause: Clause) -> Subject | None:
    group = said.scene.group
    return (group, said.headed or said.scene.serves) if group else None


def _glanced_at(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'You asked about the bar waste. It's in and glued': a pipe only named in passing, where none else is known."""
    it = {"it", "they", "them"} & set(said.norms(clause.start, act.end + 1))
    return (said.scene.glanced, None) if it and said.scene.glanced and not said.scene.group else None


def _ended_near(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'off the cold, I've capped it': even a pipe named in passing, for work at an end."""
    near = [g for g in said.groups if g.start < act.start] if act.action in _ENDED else []
    return (near[-1].keys, None) if near else None


def _below_tundish(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'below the tundish I've gone twenty-eight': what runs on from one is the discharge."""
    near = said.norms(max(clause.start, act.start - 5), min(act.end + 5, clause.end))
    return (("discharge",), None) if act.action == "run" and "tundish" in near else None


def _of_the_room(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'he's lagged them pipes on the back stairs': those known there, where none was spoken of yet."""
    known = said.scene.known.get(said.scene.room or "", ())
    return (known, None) if known and _PIPES & set(said.norms(clause.start, clause.end)) else None


_PIPES = frozenset(("pipe", "pipes", "pipework", "line", "lines"))
_TAILS = words("ends-of-pipes") - _PIPES


def _left_behind(said: Said, act: Act, clause: Clause) -> Subject | None:
    """'in the scullery I've reduced it': the pipes of the room one came from."""
    past = said.scene.past
    return (past, None) if past and set(said.norms(said.start, said.end)) & _PRONOUNS else None


def _in_passing(said: Said, act: Act, clause: Clause) -> Subject | None:
    referred = said.mentioned(clause)
    if not referred and act.action in _ENDED:
        referred = [g for g in said.groups if g.start < act.start] or said.groups
    return (referred[0].keys, None) if referred else None


_WAYS: tuple[Callable[[Said, Act, Clause], Subject | None], ...] = (
    _of_which,
    _beside, _shared, _closed_in, _named_beside, _one_of_many, _covered_so, _headed_by, _by_whom, _the_lot, _they_all,
    _so_many, _all_behind, _earlier,
    _of_people, _sized, named_later, _before_closed, _below_tundish, _it_in_passing, _in_mind, _ended_near, _glanced_at,
    _of_the_room, _left_behind, _in_passing,
)  # fmt: skip
