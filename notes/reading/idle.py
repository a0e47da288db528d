"""Words that look like work and are none: 'two sat on the hour', 'ran out of clips', 'the tee I put in is sound'.

Each rule is a small predicate in `RULES`, by the action it speaks of; '' stands for any action.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.idle_any import OF_ANY
from notes.reading.idle_gauge import gauge_moves
from notes.reading.idle_people import another_taken, somebody_moves
from notes.reading.idle_things import OF_THINGS, none_open, out_elsewhere
from notes.reading.look import Look, look_at
from notes.reading.mentions import DAYS, NAME_KINDS, PIPE_KINDS
from notes.reading.nominal import is_size
from notes.reading.patterns import macro_words
from notes.reading.said import Said
from notes.reading.things import DETERMINERS, STRUCTURE, in_phrase
from notes.reading.verdict import verdict_on
from notes.reading.which_pipes import has_pipe
from notes.reading.wordlists import words as listed

_THEM = listed("them")
_STOPPED = listed("stops-on-pipes")


def idle(said: Said, act: Act, clause: Clause) -> bool:
    """Whether an action's words tell of no work here."""
    look = look_at(said, act, clause)
    return any(rule(look) for rule in (*RULES[""], *RULES.get(act.action, ())))


def _which_comes(look: Look) -> bool:
    """'the hot that comes down behind the door is capped': which pipe, where more is told of it."""
    said, i = look.said, look.act.start - 1
    if look.before not in ("that", "which", "what") or i - 1 < said.start or said.row[i - 1].kind not in PIPE_KINDS:
        return False
    present = look.first.norm in ("comes", "come", "goes", "go", "runs", "feeds", "drops", "leaves", "rises")
    return present and any(a.start >= look.act.end for a in said.acts)


def _has_it_done(look: Look) -> bool:
    """'the bath has its hot and cold capped', 'the washer has its own cold': work on, or word of, what a thing has."""
    if "own" in look.words.split():
        return True
    owned = bool(_OWNED & set(look.said.norms(look.act.start, look.act.end - 1))) and look.first.norm not in _OWNED
    return owned and any(a.start >= look.act.end and a.on != "item" for a in look.said.acts_in(look.clause))


_OWNED = macro_words("OWNS", "WANTS")


def _no_pipe(look: Look) -> bool:
    """'brought', 'comes up' with no pipe in sight."""
    return not has_pipe(look.said, look.act, look.clause)


def _ran_out(look: Look) -> bool:
    if look.words not in ("ran out", "run out"):
        return False
    return look.after is None or look.after.kind == "mark" or look.next_is("of", "so", "and", "but")


def _comes_in(look: Look) -> bool:
    """'cold in the loft': a pipe that only is somewhere; not 'the cold's in upstairs'."""
    if look.first.tag != "SVC" or look.last_word not in ("in", "on"):
        return False
    if look.followed_but_by(*_GOES_ON):
        return True
    if any(g.serves and len(g.keys) > 1 and g.end == look.act.start + 1 for g in look.said.groups):
        # 'basin hot and cold's on, but on two old flexis'
        return False
    return look.act.action == "connect" and bool(set(look.first.keys) & {"mains", "gas", "oil", "cold", "hot"})


_GOES_ON = """
    and to now but so too as also already then here there yet from through under along over round upstairs
    downstairs everywhere except
    """.split()


def so_as_to(said: Said, clause: Clause, i: int) -> bool:
    """'had to lift the boards to get the heating across': what for, of what was done; node `i` the work."""
    return bool(_SO_AS_TO.match(said.joined(clause.start, i)))


_SO_AS_TO = re.compile(
    r"(i |we |he |they )?(have |had |just )*((had to (?!get|run|bring)\w+)|lifted|moved|cut|drilled|shifted|took up)"
    r"\b.* to( (get|bring|run|take)( (the|my|that|his))?)?$"
)


def _what_for(look: Look) -> bool:
    return look.act.form == "base" and so_as_to(look.said, look.clause, look.act.start)


def _has_it_to_do(look: Look) -> bool:
    """'we've got the flow and return to connect': 'to' opens the work, no end of a run."""
    later = (a for a in look.said.acts if a.start == look.act.end)
    return look.last_word == "to" and any(a.form == "base" for a in later)


def _somebody_goes(look: Look) -> bool:
    """'then I went in the sack store', 'every wall we've gone through'."""
    ahead = look.said.row[max(look.clause.start, look.act.start - 3) : look.act.start]
    if look.words == "gone through" and len(ahead) == 3 and ahead[0].kind == "item" and ahead[1].norm in ("we", "i"):
        return True
    if look.before not in ("i", "we", "he", "she", "you") or look.first.norm not in _GOES:
        return False
    return any(n.kind in ("room", "head") for n in look.said.row[look.act.end : look.act.end + 3])


_GOES = frozenset(("go", "went", "gone", "come", "came", "going"))


def _done_as_a_test(look: Look) -> bool:
    """'I've done the hot and cold, ten bar, an hour'."""
    row = look.said.row[look.act.end : look.said.end]
    return look.first.norm in ("done", "did") and any(n.tag == "Q-bar" for n in row)


def _water_came(look: Look) -> bool:
    """'sent a bucket down the waste and it came out at the gully': the water did."""
    if not re.match(r"(came|come|comes|ran) (out|through)", look.words) or look.before not in ("it", "that", "water"):
        return False
    return any(a.action == "test" and a.end <= look.act.start for a in look.said.acts)


def _had_on_test(look: Look) -> bool:
    """'had the flow and return in here on test' ran nothing."""
    return look.last_word == "in" and look.next_is("here", "there") and "test" in look.sentence


def _off_with_it(look: Look) -> bool:
    """'went off that idea'."""
    return look.last_word == "off" and look.next_is("that", "it", "them", "him", "the_idea")


def _pressure_drops(look: Look) -> bool:
    """'dropped in an hour' of a gauge, 'but the hot's gone down' of a test."""
    if not (look.words.startswith("drop") or look.words in ("gone down", "went down", "going down")):
        return False
    if look.before in ("are", "been", "were", "i", "we"):
        # 'hot and cold are dropped down for the shower'
        return False
    if re.match(r"(in|through|to|from|into|under|behind) (?!an? )", look.rest):
        return False
    tested = any(e.action == "test" for e in look.said.scene.recent)
    return bool(re.search(r"bar\b|test|held|fail|gauge|pressure|\bhour", look.sentence)) or (tested and not look.rest)


def _both_on(look: Look) -> bool:
    """'both on the same wall'."""
    return look.words in ("both on", "all on") and look.followed()


def _stood_at_pressure(look: Look) -> bool:
    """'it sat an hour at ten bar' is a test."""
    stood = re.search(r"\b(sat|stood|sitting|standing)\b", look.words)
    return bool(stood) and bool(re.search(r"bar|hour|minute", look.sentence))


def _open_alone(look: Look) -> bool:
    """'waste, inch and a half, open at the wall' tells of pipes just named; 'the door, open at nine' of none."""
    if look.first.norm != "open" or re.match("open (end|ends|ended) on", look.words):
        return False
    named = any(g.end <= look.act.start and not g.referred for g in look.said.groups)
    # 'flow and return, fifteen, two open tails'
    ahead = look.said.row[look.clause.start : look.act.start]
    return not (named and all(n.kind in ("qty", "mark", "material") for n in ahead))


def _taken_up(look: Look) -> bool:
    """'them two open ends, they're connected now' takes up what was left before."""
    if not re.match(r"open (end|tail|pipe|leg)", look.words):
        return False
    ahead = look.said.norms(max(look.said.start, look.act.start - 2), look.act.start)
    pointed = bool(set(ahead) & {"them", "those", "these", "that", "the", "they"})
    if pointed and any(a.action in ("cap", "connect", "join") and a.end == look.act.start - 1 for a in look.said.acts):
        # 'he's capped them open ends'
        return True
    later = [a for a in look.said.acts if a.start >= look.act.end]
    return pointed and any(a.action in ("connect", "cap", "remove", "run", "join") for a in later)


def _onto_the_ends(look: Look) -> bool:
    """'joined on to the two tails' takes up tails that were left before."""
    if look.before not in ("two", "the", "'s"):
        return False
    ahead = look.said.norms(max(look.clause.start, look.act.start - 4), look.act.start)
    return any(n in ("to", "onto", "on") for n in ahead)


def _open_pipe(look: Look) -> bool:
    """'on to Joss's open hot and return': which pipe, left open before."""
    return look.last_word == "open" and look.after is not None and look.after.kind in PIPE_KINDS


def _out_to(look: Look) -> bool:
    """'from the tundish out to the gully' takes nothing out."""
    away = look.said.row[look.act.end + 1 : look.act.end + 3]
    if look.next_is("of") and any(n.kind == "room" or n.norm in ("there", "here", "it") for n in away):
        # 'the old cylinder's out of the loft'
        return False
    return (
        look.first.kind == "item" and look.last_word in ("out", "away") and look.next_is("to", "through", "of", "into")
    )


def _cap_off_to_join(look: Look) -> bool:
    """'cut the caps off the hot and joined on', 'bung's away and the soil's connected': the joint is what is told."""
    words, said = set(look.words.split()), look.said
    on = ("join", "connect", "tee", "run")
    return (
        bool(words & {"off", "away", "out"})
        and bool(words & _STOPPED)
        and any(a.action in on and a.start > look.act.end for a in said.acts)
    )


def _crossed_off(look: Look) -> bool:
    """'the second rad's been scrapped' calls it off; an old one is taken out."""
    return "scrap" in look.words and "old" not in look.sentence


def _off_the_job(look: Look) -> bool:
    return look.last_word == "off" and bool(re.match(r"(the|our|this) (job|list|drawing|plan|spec|order)", look.rest))


def _man_has_been(look: Look) -> bool:
    """'the joiner has been told' covers nothing."""
    return look.last_word == "been" and look.next_is("told", "asked", "rung", "informed", "warned", "paid", "chased")


def _done_with(look: Look) -> bool:
    """'them open ends is done with'."""
    return bool(re.search(r"^(is|are|'s|was|were) (all )?(done with|used up|sorted|gone|no more)", look.rest))


def _room_open(look: Look) -> bool:
    """'the kitchen's open now': a room or thing, no pipe; 'nothing's sitting open'."""
    if none_open(look):
        return True
    if not look.words.endswith("open"):
        return False
    ahead = look.said.row[look.clause.start : look.act.start]
    lone = any(n.kind in ("room", "item", "head") for n in ahead)
    return lone and not look.said.named(look.clause) and not any(n.norm in _THEM for n in ahead)


def _not_sizes(look: Look) -> bool:
    """'two to fifteen' joins nothing: both ends must be sizes."""
    act, row = look.act, look.said.row
    if act.form != "done" or look.first.qty is None:
        return False
    ends = [i for i in range(act.start, act.end) if row[i].qty is not None]
    return len(ends) < 2 or not all(is_size(row, i) for i in ends)


def _utility(look: Look) -> bool:
    """'the gas board' is no board that covers."""
    return look.words.startswith("board") and look.before in ("gas", "electric", "water", "electricity")


def _gauge_guessed(look: Look) -> bool:
    """'the gauge is in the fifteen', 'I think the gauge...': a gauge, no test."""
    sentence = look.sentence
    if "gauge" not in look.words or "bar" in sentence:
        return False
    sized = any(is_size(look.said.row, i) for i in range(look.act.end, look.said.end))
    return sized or bool(re.search(r"think|might|not sure|maybe", sentence[: sentence.find(look.words)]))


def _held_as_told(look: Look) -> bool:
    """'had eight bar on the lot, the cold held': of the test just told."""
    if look.last_word not in ("held", "holds", "holding"):
        return False
    told = [e for e in (look.said.worked, *look.said.scene.recent) if e is not None and e.action == "test"]
    return any(set(look.first.keys) <= set(e.keys) for e in told)


def _filled_to(look: Look) -> bool:
    """'flow and return's filled and bled, two bar on the gauge': what a full system shows is no test."""
    bars = [n.qty.value for n in look.said.row[look.said.start : look.said.end] if n.tag == "Q-bar" and n.qty]
    filled = any(a.action == "fill" and a.end <= look.act.start for a in look.said.acts)
    return "gauge" in f"{look.words} {look.rest}" and filled and bool(bars) and max(bars) <= _FULL


_FULL = 3.0
"""Bar that a heating system is filled to at most (common practice, no source)."""


def _of_no_pipe(look: Look) -> bool:
    """'the hatch is screwed down', 'half the chase is open': something else is spoken of."""
    i = look.act.start - (look.before in _IS)
    ahead = look.said.row[look.clause.start : i]
    if look.first.norm in _IS or look.said.mentioned(look.clause) or len(ahead) < 2:
        i, ahead = look.act.start, look.said.row[look.clause.start : look.act.start]
    named = len(ahead) > 1 and ahead[-1].kind == "word" and ahead[-1].norm in _NO_PIPES
    return named and ahead[-2].norm in DETERMINERS and not look.said.mentioned(look.clause)


_IS = frozenset(("is", "'s", "are", "was", "were"))
_NO_PIPES = listed("no-pipes")


def _gauge_came_down(look: Look) -> bool:
    """'fifteen bar, it came down to fourteen', 'flushed it, it came out like tea': a gauge, or water."""
    if look.first.norm not in _WATER_DOES or look.before not in _WATER:
        return False
    to_figure = re.match(r"to (about |just )?\S+( bar)?( |$)", look.rest) and look.said.row[look.act.end + 1].qty
    return bool(to_figure) or bool(_MUDDY.match(look.rest))


_WATER = frozenset(("it", "that", "water", "which", ",", "and"))
_WATER_DOES = frozenset("came comes coming went dropped ran run running runs".split())
_MUDDY = re.compile(
    r"((as|a bit|lovely and|fairly|pretty|good and|nice and|properly|out|through|pure|just) )*"
    r"(like|clear|clean|brown|black|dirty|filthy|orange|rusty|red|grey|gray|yellow|green|milky|cloudy|muddy|thick|white)\b"
    r"(?! (copper|plastic|pipe|pex|pvc|mdpe))"
)


def _left_at(look: Look) -> bool:
    """'left it at one bar': what it stands at."""
    return look.after is not None and look.after.tag == "Q-bar" and look.last_word in ("at", "on", "with", "it", "them")


def _not_to_leave(look: Look) -> bool:
    """'don't leave it just hanging' is to be dealt with, as told before."""
    return look.said.norms(max(look.said.start, look.act.start - 2), look.act.start) == ["do", "not"]


def _naming_is_done(look: Look) -> bool:
    """'capping the hot is done', 'lagging it, not started': of the capping and lagging."""
    if look.last_word not in _VERDICTS:
        return False
    named = (a for a in look.said.acts if a.form in ("ing", "noun") and a.end <= look.act.start)
    return any(verdict_on(look.said, a, look.said.clauses[look.said.clause_of(a.start)]) is not None for a in named)


_VERDICTS = frozenset("done finished complete completed over started begun touched happened sorted".split())


def _nothing_on_thing(look: Look) -> bool:
    """'the cylinder's stood there but there ain't nothing on it': a thing that no pipe has come to."""
    if not (look.last_word == "it" and {"nothing", "nowt", "none"} & set(look.words.split())):
        return False
    ahead = range(look.said.start, look.act.start)
    named = [i for i in ahead if look.said.row[i].kind in NAME_KINDS and not in_phrase(look.said, i)]
    last = look.said.row[named[-1]] if named else None
    return last is not None and last.kind == "item" and last.keys[0] not in (*STRUCTURE, "fitting", "valve")


def _why_a_thing_waits(look: Look) -> bool:
    """'couldn't fit the toilet because the floor ain't down': what the thing waits for hides no pipe."""
    told = look.said.worked
    undone = look.act.form == "notdone" or "not" in look.said.norms(look.clause.start, look.act.end)
    thing = told is not None and not told.piped and told.status is Status.NOT_DONE
    return look.clause.lead == "because" and undone and thing and not look.said.mentioned(look.clause)


def _tails_coming(look: Look) -> bool:
    """'just tails sat there open coming through the floor': where the tails are."""
    left = any(a.action in ("leave", "cap") and a.end == look.act.start for a in look.said.acts)
    return look.first.norm == "coming" and left


def _when_done(look: Look) -> bool:
    """'the lads hung the towel rail on the back wall on Tuesday': the day of work told before it."""
    ahead = any(a.end <= look.act.start for a in look.said.acts_in(look.clause))
    day = look.last_word in DAYS or (look.last_word == "on" and look.next_is(*DAYS))
    return ahead and day and (look.act.form == "todo" or look.last_word == "on")


def _stood_empty(look: Look) -> bool:
    """'a nest behind it, empty'."""
    return look.words == "empty" and look.act.start == look.clause.start and not look.rest


def _closed_with_a_cap(look: Look) -> bool:
    """'closed the cold with a cap': its end, no valve."""
    capped = any(a.action == "cap" and a.form == "done" for a in look.said.acts_in(look.clause))
    return capped and look.act.form == "done" and look.first.norm in ("closed", "shut", "stopped")


def _out_at_the_top(look: Look) -> bool:
    """'the hot's on as well, comes out at the top': where it was just connected."""
    told = look.said.worked
    return told is not None and told.action == "connect" and bool(_LEAVES_AT.fullmatch(f"{look.words} {look.rest}"))


_LEAVES_AT = re.compile(
    r"(comes?|goes?|going|coming) (out|in|off|into) ?((at|on|by|of|off|from|to) )?"
    r"(the|its) (top|bottom|side|back|front)"
)


RULES: dict[str, tuple[Callable[[Look], bool], ...]] = {
    "": (*OF_ANY, _water_came, _ran_out, _when_done, _naming_is_done, somebody_moves, gauge_moves),
    "run": (
        _what_for,
        _has_it_to_do, _has_it_done, _which_comes, _somebody_goes, _done_as_a_test, _no_pipe, _comes_in, _had_on_test,
        _off_with_it, _pressure_drops, _tails_coming, _out_at_the_top, _gauge_came_down, another_taken,
    ),
    "connect": (_comes_in, _both_on),
    "leave": (
        _open_alone, _taken_up, _stood_at_pressure, _onto_the_ends, _room_open, _done_with, _open_pipe,
        _of_no_pipe, _left_at, _not_to_leave, _nothing_on_thing,
    ),
    "clip": (_of_no_pipe,),
    "remove": (_out_to, _crossed_off, _cap_off_to_join, _gauge_came_down, out_elsewhere),
    "isolate": (_off_the_job, _closed_with_a_cap),
    "drain": (_stood_empty,),
    "join": (_not_sizes,),
    "cover": (_utility, _man_has_been, _why_a_thing_waits),
    "test": (_gauge_guessed, _held_as_told, _filled_to),
    **OF_THINGS,
}  # fmt: skip
