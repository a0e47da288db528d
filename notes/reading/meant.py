"""The same words, other work: 'took the cold off the riser' runs it, 'that comes out tomorrow' removes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.nominal import DRAINS, is_size
from notes.reading.places import bits
from notes.reading.putright import FAILED
from notes.reading.said import Said
from notes.reading.things import DETERMINERS, STRUCTURE, free_items, in_phrase, pipe_in_mind, serving, thing_in_mind
from notes.reading.wordlists import pattern

_PASSED, _DRY = pattern("passed"), pattern("dry")
Words = list[str]
Rule = Callable[[Said, Act, Clause, Words, Status], bool]


def as_meant(said: Said, act: Act, clause: Clause, status: Status) -> Act:
    """The action with the work that is meant, by the first rule of `RULES` that fits."""
    words = said.norms(act.start, act.end)
    if same := _untouched(said, act) or _done_too(said, act, clause):
        return replace(act, action=same)
    for action, rule, meant, on in RULES:
        if act.action == action and rule(said, act, clause, words, status):
            return replace(act, action=meant, on=on)
    return act


def _next_is(said: Said, act: Act, *norms: str) -> bool:
    after = said.after(act)
    return after is not None and after.norm in norms


def _takes_down_to(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'took the cold down to the cellar'."""
    onward = _next_is(said, act, "to", "through", "in", "into", "from", "inside", "beside")
    onward = onward or said.norm(min(act.end + 1, said.end - 1)) in _SHAFTS
    return words[-1] == "down" and onward and any(not g.referred for g in said.groups)


def _takes_out_to(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'taken the waste out through the wall'."""
    taken = bool({"taking", "taken", "take", "took"} & set(words)) and words[-1] in ("out", "off")
    # but 'took the bath out through the window', 'took the basin off to get at the waste'
    taken = taken and not (_named(said, act) and not any(act.start <= g.start < act.end for g in said.groups))
    goes = bool({"go", "goes", "come", "comes"} & set(words)) and words[-1] == "out" and bool(said.groups)
    return (taken or goes) and _next_is(said, act, "to", "through", "into")


def _named(said: Said, act: Act) -> bool:
    return any(said.row[i].kind == "item" for i in range(act.start, act.end))


def _comes_out_at(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'it's to come out above the gutter', 'it's to come off the run in the corridor': where a pipe goes."""
    comes = "come" in words and words[-1] in ("out", "off") and (bool(said.groups) or pipe_in_mind(said))
    onward = _next_is(said, act, "above", "below", "under", "beside", "near", "behind", "over")
    of_run = words[-1] == "off" and said.norm(min(act.end + 1, said.end - 1)) in _RUNS
    return comes and (onward or of_run)


_RUNS = frozenset(("run", "riser", "line", "main", "header", "manifold", "pipe"))


def _takes_off(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'took the cold off the riser'."""
    if words[-1] != "off" or not _next_is(said, act, "the", "a", "that", "his", "her", "it", "them"):
        return False
    if any(act.start <= g.start < act.end for g in said.groups):
        return True
    # 'flow and return, I took them off the top of the boiler in forty-two copper'
    sized = any(is_size(said.row, i) for i in range(act.end, clause.end))
    return sized and bool(said.groups) and bool(set(words) & _THEM)


_SHAFTS = frozenset("chase wall duct riser shaft corner side back boxing stud casing chimney".split())
_THEM = frozenset(("it", "them", "they", "him", "her", "both"))


def _thing_not_started(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'I haven't touched the boiler'."""
    things = [i for i in free_items(said, clause) if not in_phrase(said, i)]
    return act.form == "notdone" and not said.mentioned(clause) and bool(things)


def _taking_out(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'we were taking out the old overflow'."""
    return words == ["taking", "out"] and _next_is(said, act, "the", "that", "those", "this", "his", "old")


def _old_left_in(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'the old toilet's still in, haven't touched it': what is old is there to be taken out."""
    told = said.norms(said.start, act.end)
    return act.form == "notdone" and "old" in told and "still" in told and bool({"touched", "started"} & set(words))


def _comes_out(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'that comes out tomorrow'; 'the old boiler came down' where no pipe is named."""
    if words[0] not in ("come", "comes", "coming", "came") or words[-1] not in ("out", "off", "down"):
        return False
    if status is Status.TO_DO:
        # 'the soil will come down the corner'
        return words[-1] != "down" or not said.named(clause)
    return not said.groups and any(i < act.start and not in_phrase(said, i) for i in said.items(clause))


def _joins_a_pipe(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'joined on to the thirty-two pex' makes a joint; on to a thing or its ends it connects."""
    onto = [i for i in range(act.end, min(act.end + 5, clause.end)) if said.norm(i) in ("onto", "on_to")]
    at = onto[0] if onto else act.end
    onward = said.row[at : min(at + 4, clause.end)]
    if words[:2] == ["joined", "on"] and _next_is(said, act, "there", "in", "at"):
        return True
    if not words[0].startswith("join") or not any(
        n.norm in ("to", "onto", "on_to") for n in (*said.row[act.start : act.end], *onward[:1])
    ):
        return False
    if said.norm(at - 1) in ("to", "onto", "on_to") and _ANYTHING & {n.norm for n in onward[:1]}:
        # 'neither end's joined up to nothing'
        return True
    return any(n.qty is not None or n.kind == "material" or n.tag == "SVC" or n.norm in _PIPES for n in onward)


_PIPES = frozenset(("pipe", "pipes", "pipework"))


def _joins_ends(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'joined the hot to the two ends', 'to the old tails I join the cold': on to what was left it connects."""
    if not words[0].startswith("join"):
        return False
    onto = [i for i in range(clause.start, clause.end - 1) if said.norm(i) in ("to", "onto", "on_to")]
    return any(_ENDS & set(said.norms(i + 1, min(i + 4, clause.end))) for i in onto)


_ENDS = frozenset(("ends", "end", "tails", "tail", "stubs", "stub"))


def _falls_on_test(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'I pump all three to nine bar. Hot and return go down': the pressure fell, nothing runs."""
    told = said.told_last
    tested = told is not None and told.action == "test" and told.status is Status.DONE
    falls = words[0] in ("go", "goes", "went") and words[-1] == "down"
    after = said.after(act)
    return tested and falls and (after is None or after.kind == "mark") and bool(said.named(clause))


_ANYTHING = frozenset(("nothing", "nowt", "anything", "owt"))


def _glues(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'glued the basin waste' makes its joints; 'glued into the boss' connects it."""
    if not words[0].startswith(("glu", "solvent")):
        return False
    into = {"in", "into"} & {words[-1], *said.norms(act.end, min(act.end + 2, clause.end))}
    return not into and not any(b.kind == "to" for b in bits(said.row, said.start, said.end))


def _runs_water(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'ran the shower waste and it wept at the trap': water was run, and what it did is told."""
    if status is not Status.DONE or words[0] not in ("ran", "run") or len(words) > 1:
        return False
    mine = [g for g in said.named(clause) if 0 <= g.start - act.end <= 3]
    if not mine or not set(mine[0].keys) <= DRAINS or bits(said.row, act.end, clause.end):
        return False
    told = said.joined(mine[0].end, said.end)
    sized = any(n.kind in ("qty", "material") for n in said.row[act.end : clause.end])
    return not sized and bool(FAILED.search(told) or _PASSED.search(told) or _DRY.search(told))


def _runs_a_bath(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'run the bath twice, dry as you like': its waste was tested."""
    after = said.row[act.end : act.end + 2]
    bath = any(n.kind == "item" and n.keys[0] in ("bath", "basin", "sink", "shower") for n in after)
    drains = set(said.scene.group) <= DRAINS and bool(said.scene.group)
    told = said.joined(act.end, said.end)
    came_of_it = any(p.search(told) for p in (_DRY, _PASSED, FAILED))
    return bath and drains and status is Status.DONE and came_of_it


def _fills_a_drain(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'filled the soil to two metres of water': nobody fills a waste but to test it."""
    mine = said.named(clause)
    keys = mine[0].keys if mine else said.scene.group
    things = [i for i in said.items(clause) if not serving(said, i) and not in_phrase(said, i)]
    return status in (Status.DONE, Status.NOT_DONE) and bool(keys) and set(keys) <= DRAINS and not things


_CHANGED = frozenset(("changed", "replaced", "swapped"))
_CHANGES = ("change", "changed", "changing", "replace", "replaced", "replacing", "swap", "swapping")


def _changes_pipe(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'the gas wants changing', 'swapped the lead for copper' runs it anew."""
    if words[0] in _CHANGED and any(n.kind == "material" for n in said.row[act.end : act.end + 2]):
        return True
    pipes = said.groups or said.scene.group
    return words[0] in _CHANGES and bool(pipes) and not free_items(said, clause)


def _picks_up(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'the cold is picked up off the main' tees it."""
    return words[0] in ("picked", "pick", "picking") and any(g.start < act.start for g in said.named(clause))


def _plugs_a_thing(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'there's a plug in the cylinder': a fitting in a thing, not the end of a pipe."""
    if not set(words) & _PLUGS or said.mentioned(clause):
        return False
    after = [n for n in said.row[max(act.start, act.end - 1) : clause.end] if n.norm not in DETERMINERS]
    return len(after) > 1 and after[0].norm == "in" and after[1].kind == "item" and after[1].keys[0] not in STRUCTURE


def _hangs_a_thing(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'the old boiler's out, and the new one's hung on the wall': a thing, where no pipe is named."""
    one = {"one", "ones", "it", "they"} & set(said.norms(clause.start, min(act.end + 1, clause.end)))
    return "hung" in words and bool(thing_in_mind(said) and one) and not said.mentioned(clause)


def _collects(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'could somebody pick up some twenty-twos'."""
    sized = any(n.qty and n.qty.plural for n in said.row[act.end : clause.end])
    return words[0].startswith("pick") and sized and not said.mentioned(clause)


def _unwanted(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'they don't want the little sink any more': it is not to be there."""
    return status is Status.DROPPED and words[0] in ("want", "wants")


def _stops_a_pipe(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'with a push-fit stop end on it', 'there's a soldered stop end in its place': the end of the pipe last told."""
    if not set(words) & _STOPS or not (said.groups or said.scene.group):
        return False
    if any(said.row[i].keys[0] not in ("fitting", *STRUCTURE) for i in free_items(said, clause)):
        return False
    in_its_place = said.joined(act.end - 1, clause.end).startswith("in its place")
    return words[0] == "with" or words[-1] in _ONTO_IT or in_its_place


def _pipes_to(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'piped the cold to the pump in twenty-two' runs it; 'the pump's piped up' connects."""
    inside = any(act.start <= g.start <= act.end for g in said.mentioned(clause))
    # 'piped the cold to it, connected' of a thing just told connects
    to_it = said.norms(act.end - 1, min(act.end + 1, clause.end)) in (["to", "it"], ["to", "them"])
    return words[0] in ("pipe", "piped", "piping") and "up" not in words and not to_it and (inside or "that" in words)


def _tapes(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'bunged a bit of tape over the ends': a rag or a bag closes nothing."""
    said_of = set(said.norms(act.start, min(act.end + 5, clause.end)))
    return bool(said_of & _NO_CAP) and not said_of & _STOPS


def _screws_to(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'the manifold, which is screwed to the rear wall': a thing, held by the building."""
    after = said.norms(act.end, min(act.end + 4, clause.end))
    return words[0] in ("screwed", "bolted", "fixed", "nailed") and bool(_HOLDS & set(after))


def _pipe_is_in(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'so it's in now, inch and a half', 'waste is inch and a half and that ain't in': a pipe was last spoken of."""
    sized = any(is_size(said.row, i) for i in range(act.end, min(act.end + 4, said.end)))
    it = words[0] in ("it", "they", "that") and words[-1] == "in"
    if it and status is Status.NOT_DONE:
        mine = max((g.start for g in said.groups if g.end <= act.start), default=None)
        told = any(a.action == "run" and mine is not None and mine <= a.start < act.start for a in said.acts)
        return mine is not None and not told and not _thing_since(said, act)
    return it and status is Status.DONE and sized and pipe_in_mind(said)


def _thing_since(said: Said, act: Act) -> bool:
    """Whether a thing was named for itself after the last pipe before the work."""
    last = max((g.end for g in said.groups if g.end <= act.start), default=said.start)
    return any(said.row[i].kind == "item" and not in_phrase(said, i) for i in range(last, act.start))


def _of_a_thing(said: Said, clause: Clause) -> bool:
    """Whether a clause with no pipe in it goes on about a thing: 'it', 'a proper one'."""
    stands = {"it", "one", "ones", "they", "them", "that"} & set(said.norms(clause.start, clause.end))
    sized = any(is_size(said.row, i) for i in range(clause.start, clause.end))
    return bool(thing_in_mind(said) and stands) and not said.mentioned(clause) and not sized


def _takes_it_down(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'put the manifold up, then took it down again'."""
    onward = said.norms(act.start, min(act.end + 3, clause.end))
    taken = words[0] in ("took", "taken", "take", "taking") and bool({"down", "out", "off", "away"} & set(onward))
    return taken and _of_a_thing(said, clause)


def _goes_in(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'and a proper one's going in tomorrow'."""
    going = words[0] in ("going", "go", "goes") and words[-1] in ("in", "on", "up", "back")
    return going and status is Status.TO_DO and _of_a_thing(said, clause)


def _are_on(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'hot and cold come up behind the basin, and they're on': pipes are on when they are connected."""
    on = words[0] in ("they", "both") and words[-1] == "on" and act.end == clause.end
    return on and pipe_in_mind(said) and not said.items(clause)


def _untouched(said: Said, act: Act) -> str:
    """'he's clipped the hot, but he hasn't touched the cold': the work that was just told."""
    told = said.worked
    if act.form != "notdone" or "touched" not in said.norms(act.start, act.end) or told is None or not told.piped:
        return ""
    return told.action if told.action in ("clip", "insulate", "test", "sleeve", "flush") else ""


def _done_too(said: Said, act: Act, clause: Clause) -> str:
    """'clipped the hot, done the cold', 'he hasn't done the return': the work that was just told."""
    told = said.told_last
    if act.action != "run" or said.norm(act.start) not in ("done", "did") or told is None or not told.piped:
        return ""
    sized = any(n.kind in ("qty", "material") for n in said.row[act.end : clause.end])
    anew = sized or bool(bits(said.row, act.end, clause.end))
    # 'I done the soil, that's in and tested'
    anew = anew or said.joined(clause.end, clause.end + 4).lstrip(", ").startswith(("that 's in", "it 's in"))
    return told.action if told.action in _DONE_TO_MANY and not anew else ""


_DONE_TO_MANY = frozenset("clip insulate test sleeve seal flush fill drain cover photograph".split())
_HOLDS = frozenset(
    "wall walls stud studs noggin noggins joist joists batten post floor board boards panel ceiling slab brick "
    "brickwork block blockwork frame rafter beam cupboard owt anything timber ply".split()
)
_NO_CAP = frozenset(("tape", "rag", "rags", "bag", "bags", "sock", "glove", "newspaper", "cloth", "polythene"))
_STOPS = frozenset(("stop_end", "stop_ends", "end_cap", "end_caps", "cap", "caps", "bung", "bungs", "blank", "blanks"))
_ONTO_IT = frozenset(("it", "them", "both", "each"))
_PLUGS = frozenset(("plug", "bung", "blank", "cap"))


def _charges(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'the vessel's charged to one bar' fills it."""
    things = [said.row[i].keys[0] for i in said.items(clause)]
    return bool({"charged", "charging", "pumped"} & set(words)) and things[:1] == ["vessel"] and not said.named(clause)


def _pipework_untouched(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'I haven't touched the pipework to it'."""
    told = set(said.norms(act.end, min(act.end + 3, clause.end)))
    return act.form == "notdone" and bool(_PIPES & told) and not said.mentioned(clause)


def _pipe_is_off(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    """'pulled the plug on the gas': a pipe that is not to be."""
    inside = said.row[act.start : act.end]
    return act.form == "dropped" and not any(n.kind == "item" for n in inside)


def _more_of(said: Said, act: Act, thing: str) -> bool:
    """'two clips, get more on': more of what was last named, to be put on the pipe, not bought."""
    words = said.norms(act.start, min(act.end + 2, said.end))
    return "on" in words and bool({"more", "some", "another"} & set(words)) and thing_in_mind(said) == thing


def _clips_more(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    return _more_of(said, act, "clips")


def _lags_more(said: Said, act: Act, clause: Clause, words: Words, status: Status) -> bool:
    return _more_of(said, act, "insulation")


RULES: tuple[tuple[str, Rule, str, str], ...] = (
    ("remove", _takes_down_to, "run", "pipe"),
    ("remove", _takes_out_to, "run", "pipe"),
    ("run", _old_left_in, "remove", "item"),
    ("run", _taking_out, "remove", "item"),
    ("run", _pipework_untouched, "connect", "pipe"),
    ("run", _thing_not_started, "fit", "item"),
    ("fit", _old_left_in, "remove", "item"),
    ("remove", _takes_off, "run", "pipe"),
    ("remove", _comes_out_at, "run", "pipe"),
    ("run", _comes_out, "remove", "item"),
    ("run", _takes_it_down, "remove", "item"),
    ("run", _goes_in, "fit", "item"),
    ("fit", _pipe_is_off, "run", "pipe"),
    ("fit", _changes_pipe, "run", "pipe"),
    ("order", _picks_up, "tee", "pipe"),
    ("run", _falls_on_test, "test", "pipe"),
    ("order", _clips_more, "clip", "pipe"),
    ("order", _lags_more, "insulate", "pipe"),
    ("connect", _joins_a_pipe, "join", "pipe"),
    ("join", _joins_ends, "connect", "pipe"),
    ("connect", _glues, "join", "pipe"),
    ("connect", _pipes_to, "run", "pipe"),
    ("connect", _screws_to, "fit", "item"),
    ("cap", _tapes, "leave", "pipe"),
    ("run", _runs_water, "test", "pipe"),
    ("run", _runs_a_bath, "test", "pipe"),
    ("fill", _runs_a_bath, "test", "pipe"),
    ("test", _charges, "fill", "pipe"),
    ("fill", _fills_a_drain, "test", "pipe"),
    ("cap", _plugs_a_thing, "fit", "item"),
    ("fit", _stops_a_pipe, "cap", "pipe"),
    ("fit", _pipe_is_in, "run", "pipe"),
    ("fit", _are_on, "connect", "pipe"),
    ("clip", _hangs_a_thing, "fit", "item"),
    ("tee", _collects, "order", "item"),
    ("order", _unwanted, "fit", "item"),
)
"""(work as found, rule, work as meant, what it is done to)"""
