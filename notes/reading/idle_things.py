"""Words that look like work on things or timber, or like a word to somebody, and are none."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise

from notes.reading.look import Look
from notes.reading.mentions import PIPE_KINDS
from notes.reading.patterns import macro_words
from notes.reading.things import POINTED, STRUCTURE, in_phrase, serving
from notes.reading.wordlists import pattern, words

# -- things and timber ------------------------------------------------------------------------------------------


def _fit_for(look: Look) -> bool:
    """'ready for it in there', 'the supply for the toilet cistern's up the wall'."""
    if look.first.kind == "item" and look.before != "and":
        i = look.act.start - 1
        while i > look.clause.start and (look.said.row[i].kind == "item" or look.said.norm(i - 1) in _DET):
            i -= 1
        return look.said.norm(i) in _DET and look.said.norm(i - 1) == "for" and i - 2 >= look.clause.start
    return look.first.norm == "it" and look.before in ("to", "for", "off", "from", "on")


_DET = frozenset(("the", "a", "an", "that", "my", "his", "her"))


def _thing_in_place(look: Look) -> bool:
    """'the basin in the corner' only says which basin."""
    short = look.act.end - look.act.start == 2 and look.first.kind == "item" and look.last_word in ("in", "on", "up")
    alone = look.said.acts_in(look.clause) == [look.act] and look.act.start - look.clause.start < 2
    if alone and look.before not in POINTED and look.last_word == "up":
        # 'two radiators up in the lounge'
        return False
    if look.act.end - look.act.start == 3 and look.said.norm(look.act.start + 1) == ",":
        # 'pump, in and wired', but 'weeping at the header, in a bad way'
        short = look.first.kind == "item"
        if short and in_phrase(look.said, look.act.start):
            return True
    return short and look.followed_but_by("it", "them", "that", "and", "now", "both", "each", "all")


def _where_it_waits(look: Look) -> bool:
    """'the dishwasher's out and it's in the hall': where a thing was put that came or was taken out."""
    if look.act.form != "notdone" or look.first.norm not in ("it", "they", "that") or "not" in look.words:
        return False
    told = look.said.told_last
    if told is None or look.last_word in ("box", "boxes", "bag", "packaging", "wrapper", "wrapping"):
        return False
    return told.action == "remove" or (told.action == "order" and "still" not in look.words)


def _only_when(look: Look) -> bool:
    """'the pump wants commissioning, that's Monday': when, of work just told."""
    if look.first.norm not in ("that", "it", "they", "those") or look.act.form != "todo":
        return False
    return _DAY.search(look.words) is not None and any(a.end <= look.act.start for a in look.said.acts)


_DAY = re.compile(r"(day|tomorrow|next week)( 's)?( job)?$")


def _old_still_in(look: Look) -> bool:
    """'the old toilet's still in': nobody fitted it."""
    told = look.said.norms(max(look.clause.start, look.act.start - 2), look.act.end)
    return look.act.form == "done" and "old" in told and "still" in told


def _in_what(look: Look) -> bool:
    """'the shower's in fifteen', 'sink on the way', 'the basin hot in'."""
    if look.act.form != "done":
        return False
    if look.last_word in _RESTS and _AT_ELSEWHERE.match(look.rest):
        return True
    if look.last_word == "down" and look.next_is("in", "at", "by", "to"):
        # 'the toilet's down in the skip'
        return True
    if look.last_word not in ("in", "on", "up"):
        return False
    after = look.after
    if look.first.norm in _PUT:
        # 'put the isolators on for the basin'
        return False
    if re.match(r"for (now|the (moment|minute|time|weekend|night|present))", look.rest):
        return False
    if _IN_AT_LAST.match(look.rest) or (_IN_THERE.match(look.rest) and _FIXED & set(look.words.split())):
        # 'the rad's hung in there', 'the basin's in there now'
        return False
    if after is not None and after.norm == "one" and _in_one_row(look):
        return False
    if after is not None and (after.kind in ("qty", "material") or look.next_is(*_NOT_HOME)):
        return True
    if _WAITS_ELSEWHERE.match(look.rest):
        return True
    span = range(look.act.start, look.act.end)
    return any(look.said.row[i].kind == "item" and serving(look.said, i) for i in span)


def _and_all(look: Look) -> bool:
    """'I've done the valve and all': as well; but 'the cold's connected, lever valve and all'."""
    if not look.words.endswith(" and all"):
        return False
    said = look.said
    alone = look.clause.start in (look.act.start, look.act.start - 1) and look.act.end == look.clause.end
    before = [a for a in said.acts if a.end <= look.act.start]
    return not (alone and before and before[-1].form == "done" and before[-1].action in _WITH_PARTS)


_WITH_PARTS = frozenset(("run", "connect", "fit", "tee"))


def _in_one_row(look: Look) -> bool:
    """'fixed in one line', 'hung on one wall': no size."""
    return look.said.norm(look.act.end + 1) in _ROWS


_ROWS = frozenset("line row rank corner wall place position level height side go piece".split())


def _on_it(look: Look) -> bool:
    """'the last loop, it isn't on it yet': of a pipe."""
    return look.first.norm in ("it", "they") and look.last_word in ("on", "in") and look.next_is("it", "them")


_PUT = frozenset(("put", "stuck", "got", "hung", "screwed", "fitted", "popped", "slung"))
_WAITS_ELSEWHERE = pattern("not-home")
_AT_ELSEWHERE = pattern("not-home", before="(at|in|on|by|with|down|up|over) ")
_RESTS = frozenset("sat stood sitting standing lying waiting stuck at".split())
_IN_THERE = re.compile(r"there( (at last|[a-z]+ly|too|as well|already|again|good|all right|(this )?\w+day))?$")
_IN_AT_LAST = re.compile(r"there (now|at last|finally)$")
_FIXED = frozenset(("hung", "fitted", "fixed", "mounted", "bolted", "bedded", "plumbed"))
_NOT_HOME = ("way", "to", "about", "test", "for", "there")


def _that_hole(look: Look) -> bool:
    """'through that hole', 'told him about the notch': one made before."""
    if look.words not in ("hole", "holes", "notch", "notches"):
        return False
    spoken_of = any(
        a.action in ("ask", "photograph") and look.clause.start <= a.start < look.act.start for a in look.said.acts
    )
    near = look.before in ("my", "his", "their", "your", "our", "the") and look.said.norm(look.act.start - 2) in _BESIDE
    return (
        near or look.before in ("that", "this", "them", "those") or (spoken_of and look.before in ("the", "my", "his"))
    )


_BESIDE = frozenset(("to", "by", "near", "beside", "from", "past", "above", "below", "under", "over"))
"""'right next to my notch'."""


def _hole_elsewhere(look: Look) -> bool:
    """A hole that is in no joist."""
    if look.act.form != "done" or look.words not in ("hole", "holes"):
        return False
    sentence = look.sentence
    no_joist = "joist" not in sentence and look.said.scene.depth is None
    made = re.search(r"\b(made|cut|knocked|put|done|drilled|cored|broken|smashed)\b[^.]{0,20}\bholes?\b", sentence)
    return (no_joist and not made) or bool(
        not made and re.search(r"hole in the (?!joist|timber)|in the floor", sentence)
    )


def _pipe_hit(look: Look) -> bool:
    """'the sparky's drilled through my flow': a pipe was hit, no joist drilled."""
    after = look.said.row[look.act.end : look.clause.end]
    while after and after[0].norm in _INTO:
        after = after[1:]
    return bool(after) and after[0].kind in PIPE_KINDS


_INTO = frozenset("through into in the a my our that right straight clean".split())


def _thing_here(look: Look) -> bool:
    """'the boiler here is old' is no delivery."""
    return look.words.endswith(" here") and look.act.end - look.act.start == 2 and look.followed()


def _got_it_done(look: Look) -> bool:
    """'got the cylinder drained', 'had the shower hot tiled in' collects none."""
    verb = look.words.split()[0]
    had = verb in ("got", "had", "have", "get")
    span = range(look.act.start, look.act.end)
    if had and any(look.said.row[i].kind == "item" and serving(look.said, i) for i in span):
        return True
    if "get" in look.words.split() and look.next_is(*_STANDS):
        # 'couldn't get the manifold level'
        return True
    return had and any(a.start == look.act.end and a.form == "done" for a in look.said.acts)


_STANDS = frozenset(("level", "straight", "plumb", "square", "right", "true", "tight", "past", "through", "round"))


def _went_to_fetch(look: Look) -> bool:
    """'I went for the gauge' chose none."""
    return look.words.startswith(("went for", "gone for")) and look.said.norm(look.clause.start) in ("i", "we")


def _wants_it_in(look: Look) -> bool:
    """'the joiner wants the bath in by Friday' orders none."""
    wanted = look.first.norm in ("wants", "want", "needs", "need", "wanted")
    return wanted and look.next_is("in", "out", "up", "on", "done", "finished", "moved", "moving", "shifted")


def _pipe_to_thing(look: Look) -> bool:
    """'two metres short of the boiler with the gas', 'getting the waste out behind the basin' order nothing."""
    if "short of the" in look.words:
        return True
    i = look.act.end
    named = i < look.clause.end and look.said.row[i].kind in PIPE_KINDS
    return look.words in ("getting the", "get the") and named


def _might_want(look: Look) -> bool:
    """'we might want another' orders nothing."""
    ahead = look.said.joined(look.clause.start, look.act.start)
    return look.act.form == "todo" and bool(re.search(r"\bmight\b|\bmay\b", ahead))


def _something_of_it(look: Look) -> bool:
    """'had my pump pliers', 'the boiler man's here': a tool or a man."""
    return (
        look.first.norm in _HAD
        and look.said.row[look.act.end - 1].kind == "item"
        and look.after is not None
        and look.after.norm in _TOOLS_AND_MEN
    )


_HAD = frozenset(("had", "have", "has", "got", "borrowed", "fetched"))
_TOOLS_AND_MEN = words("tools-and-men")


def _why(look: Look) -> bool:
    """'he can't see why he needs a stop tap'."""
    return look.act.form == "todo" and "why" in look.said.norms(look.clause.start, look.act.start)


def _somebodys_wish(look: Look) -> bool:
    """'she wants a bath in there': what a client would like, nothing to order yet."""
    wish = look.first.norm in ("want", "wants") and look.before in _CLIENTS
    things = [n.keys[0] for n in look.said.row[look.act.start : look.act.end] if n.kind == "item"]
    return wish and bool(things) and not set(things) & _BOUGHT


_CLIENTS = frozenset(("she", "he", "they", "client", "owner", "her", "landlord"))
_BOUGHT = frozenset(("fitting", "clips", "insulation", "valve"))


def _reason_only(look: Look) -> bool:
    """'left them open, because I've run out of caps' says why; what is to be got is told elsewhere."""
    return look.clause.lead == "because" and "out of" in look.words


def _waits_for_building(look: Look) -> bool:
    """'waiting on the floor' waits for other trades' work, no delivery."""
    if look.first.norm not in ("waiting", "awaiting"):
        return False
    things = [n for n in look.said.row[look.act.start : look.act.end] if n.kind == "item"]
    person = look.after is not None and look.next_is("man", "lad", "lads", "men", "fitter", "engineer")
    return person or any(n.keys[0] in STRUCTURE for n in things)


# -- people -----------------------------------------------------------------------------------------------------


def _alone(look: Look) -> bool:
    """'whoever parked there, move': an order to people, with nothing named."""
    said = look.said
    if look.act.form != "base" or look.act.end - look.act.start > 1 or look.act.end < look.clause.end:
        return False
    return not said.groups and not any(said.row[i].kind == "item" for i in range(said.start, said.end))


def _nobody_said(look: Look) -> bool:
    """'nobody's said' is no asking."""
    if look.words not in ("says", "said"):
        return False
    if look.before in ("i", "we"):
        # 'I said sixteen'
        return True
    return bool({"nobody", "no", "not", "never"} & set(look.said.norms(look.clause.start, look.act.start)))


def _whoever(look: Look) -> bool:
    """'whoever ordered this basin wants their eyes testing'."""
    return look.clause.lead in ("who", "whoever") and look.act.form == "done" and look.act.start == look.clause.start


def _a_phone(look: Look) -> bool:
    """'phone's in the van'."""
    return look.words == "phone" and look.next_is("'s", "is")


def _never_asked(look: Look) -> bool:
    """'he's boxed it in and never asked': a complaint."""
    if look.before == "without" and look.act.form == "ing":
        return True
    return look.before in ("never", "not") and look.act.form == "done" and look.after is None


def _theirs_to_do(look: Look) -> bool:
    """'the tiler's got the shower to do': another trade's work."""
    ahead = look.said.norms(look.clause.start, look.act.end)
    others = bool(_OTHERS & set(ahead)) and bool({"got", "has", "have"} & set(ahead))
    return others and bool(_TO_DO.search(look.said.joined(look.act.start, look.clause.end)))


_TO_DO = re.compile(r"\bto (do|finish|tile|skim|plaster|board)\b")


_OTHERS = macro_words("COVERERS")


def _asked_in_general(look: Look) -> bool:
    """'she asked what a manifold was', 'told a funny story about a bath': talk."""
    return bool(_GENERAL.match(look.rest))


_GENERAL = re.compile(r"(me |us |him |her )?(((what|how|why) (an?|any) )|(an? (\w+ )?(story|joke|tale|lie|yarn)\b))")


def _you_get(look: Look) -> bool:
    """'you get a better bend with the big bender': anybody does; but 'can you get a valve'."""
    i = look.act.start - 2
    asked = i >= look.said.start and look.said.norm(i) in ("can", "could", "will", "would", "of", "if", "when", "while")
    return look.before == "you" and look.act.form in ("base", "todo") and not asked


def _drawn(look: Look) -> bool:
    """'the drawing's got the sink upside down'."""
    return bool({"drawing", "drawings", "plan", "plans"} & set(look.said.norms(look.clause.start, look.act.start)))


def _packed_up(look: Look) -> bool:
    """'my boiler at home's packed up': it is broken."""
    return look.words == "packed up" and (look.after is None or look.after.kind == "mark")


def _asked_me(look: Look) -> bool:
    """'they've asked me to cap the gas' is work; 'any questions, ring me' and 'you asked about the hot' ask nobody."""
    if look.act.form == "done":
        work = look.next_is("me", "us", "to") and any(
            a.form == "base" and a.start > look.act.end for a in look.said.acts_in(look.clause)
        )
        return work or look.before == "you"
    return look.next_is("me", "us") and look.act.end + 1 == look.clause.end


def none_open(look: Look) -> bool:
    """'all capped, so nothing's sitting open'."""
    if look.act.form == "state":
        # 'nothing on the end of the waste'
        return False
    return bool({"nothing", "none", "nowt"} & set(look.said.norms(look.clause.start, look.act.end)))


def _goes_where(look: Look) -> bool:
    """'the urn's going by the hatch' starts nothing up."""
    return look.last_word in ("going", "go", "goes") and look.next_is(*_WHERE)


_WHERE = frozenset(
    """
    out outside up down round to into through left right by in on at over under behind next against above below
    """.split()
)


def _no_timber(look: Look) -> bool:
    """'nicked the last one off his van' took it."""
    return look.words.startswith("nick") and "joist" not in look.sentence and look.said.scene.depth is None


def _at_home(look: Look) -> bool:
    """'tell my mum I'll be late'."""
    told = look.said.norms(look.act.start, min(look.act.end + 3, look.clause.end))
    return any(a == "my" and b in _FAMILY for a, b in pairwise(told))


_FAMILY = frozenset("mum mam mother dad da father nan nana gran wife husband missus girlfriend boyfriend kids".split())


def _wont_ask(look: Look) -> bool:
    """'I shan't ask'; 'I come back and ...': nobody was asked or answered."""
    if look.words == "ask":
        return look.before == "not" and not look.rest
    return look.words in ("come back", "came back") and look.before in ("i", "we")


def _i_cannot_say(look: Look) -> bool:
    """'I can't say whether the cold was tested' doubts; 'she can't say which wall' is to be decided."""
    later = any(a.start >= look.act.end for a in look.said.acts_in(look.clause))
    return look.before in ("i", "we") and later and "whether" in look.said.norms(look.act.start, look.clause.end)


def out_elsewhere(look: Look) -> bool:
    """'Out tomorrow.' is of the thing spoken of; 'the screeders are out Monday', 'I'm away Friday' of people."""
    bare = look.first.norm in ("out", "away") and look.act.form == "todo"
    return bare and look.act.start != look.clause.start


OF_THINGS: dict[str, tuple[Callable[[Look], bool], ...]] = {
    "commission": (_goes_where,),
    "fit": (
        _and_all,
        _theirs_to_do,
        _where_it_waits,
        _only_when,
        _fit_for,
        _thing_in_place,
        _old_still_in,
        _in_what,
        _on_it,
    ),
    "drill": (_that_hole, _hole_elsewhere, _pipe_hit),
    "notch": (_that_hole, _no_timber),
    "order": (
        _theirs_to_do,
        _you_get,
        _drawn,
        _got_it_done,
        _thing_here,
        _might_want,
        _whoever,
        _why,
        _something_of_it,
        _somebodys_wish,
        _wants_it_in,
        _waits_for_building,
        _reason_only,
        _pipe_to_thing,
    ),
    "move": (_alone,),
    "seal": (_packed_up,),
    "ask": (_nobody_said, _a_phone, _never_asked, _whoever, _asked_me, _asked_in_general, _at_home, _wont_ask),
    "decide": (_went_to_fetch, _whoever, _i_cannot_say),
}
