"""Words that look like work of any kind and are none: a noun, a question, 'I'm not hanging them twice'."""

from __future__ import annotations

import re
from collections.abc import Callable

from notes.reading.clauses import Clause
from notes.reading.look import Look
from notes.reading.said import Said
from notes.reading.wordlists import words as listed

_ARTICLES, _PLACES = listed("articles"), listed("places") | {"from", "to", "off", "of"}
_ASKS, _ASKED_OF = listed("asks"), listed("asked-of")


def near_doubt(said: Said, clause: Clause) -> bool:
    """Whether a doubt stands right before a clause of 'if' or 'whether': 'can't remember if it's capped'."""
    doubts = [c for c in said.cues if c.cue.status == "unsure"]
    if not doubts:
        return False
    start = clause.start
    while start < clause.end and said.norm(start) not in ("if", "whether"):
        start += 1
    # 'whether he lagged it I couldn't tell you'
    return any(
        0 <= start - c.end <= 2
        or c.start <= start < c.end
        or (start < c.end and said.joined(c.end, clause.end) in ("", "to", "to it", "to that"))
        for c in doubts
    )


def _verb_as_subject(look: Look) -> bool:
    """'the run is sound', 'cap has come off'; but 'ask are we allowed one'."""
    be = look.next_is("'s", "is", "are", "was", "were", "has", "have")
    return be and look.act.form == "base" and look.act.action != "ask"


def _noun(look: Look) -> bool:
    """'a cap', 'test, ...'."""
    alone = look.before == "" and look.after is not None and look.after.kind == "mark"
    alone = alone or (look.words in _SHAPES and not look.rest and look.before == ",")
    return look.act.form == "base" and (look.before in _ARTICLES or alone)


_SHAPES = frozenset(("loop", "drop", "tee", "offset", "run", "pipe"))
"""Between commas a shape or a part: 'all round the six heads, loop, back to the start'."""


def _amount(look: Look) -> bool:
    """'a set of rubber feet', 'box of couplings'."""
    return look.words in ("set", "box", "sheet", "board") and look.next_is("of")


def _long_since(look: Look) -> bool:
    """'the hot, which I capped on Monday, is now connected': which, told by its past, where the news comes after."""
    said, clause = look.said, look.clause
    number = said.clause_of(clause.start) + 1
    if clause.lead != "which" or look.act.form != "done" or number >= len(said.clauses):
        return False
    after = said.clauses[number]
    news = said.norms(after.start, min(after.start + 3, after.end))
    dated = bool(_PAST_DAYS & set(said.norms(look.act.end, clause.end)))
    goes_on = bool(news) and news[0] in _SAYS_OF and after.lead == "" and bool(said.acts_in(after))
    return goes_on and (dated or bool({"now", "since"} & set(news)))


_SAYS_OF = frozenset("is are 's has have was were wants needs must".split())
_PAST_DAYS = frozenset("yesterday earlier last before monday tuesday wednesday thursday friday saturday sunday".split())


def _told_by_its_past(look: Look) -> bool:
    """'that old lead I stopped off is still there': a pipe told by its past, no news."""
    said, i = look.said, look.act.start - 1
    i -= said.norm(i) in _HAVE
    if look.act.form != "done" or i - 1 < said.start or said.norm(i) not in ("i", "we", "he", "you", "they"):
        return False
    i -= said.norm(i - 1) in ("that", "which")
    named = said.row[i - 1].kind in ("material", "service", "item", "pair") or said.norm(i - 1) in _ONES
    if _PLACES & set(said.norms(max(look.clause.start, i - 4), i - 1)):
        # 'through the wall I have joined them'
        return False
    told = [n for n in look.said.norms(look.act.end, look.clause.end) if n not in _WHEN]
    return named and (look.next_is("is", "'s", "are", "was", "wants", "needs") or (bool(told) and _pointed(look, i)))


_HAVE = frozenset(("have", "had", "has", "'d"))
_ONES = frozenset(("pipes", "tails", "pipe", "ones", "one", "lot", "ends"))
_WHEN = frozenset(
    "yesterday earlier today before in on up last week this morning afternoon "
    "monday tuesday wednesday thursday friday".split()
)


def _pointed(look: Look, i: int) -> bool:
    """'that valve I fitted yesterday weeps', 'the pipes I put in for it want ...': which, where more is told of it."""
    first = next((g.start for g in look.said.groups if g.start < i <= g.end), i - 1)
    opens = look.said.norm(first - 1) in ("that", "the", "them", "those") and first - 1 >= look.clause.start
    after = [n for n in look.said.norms(look.act.end, look.clause.end) if n not in _WHEN]
    return opens and any(n.endswith("s") or n in ("want", "need", "have", "can", "could", "will") for n in after)


def _whether(look: Look) -> bool:
    """'whether the basin's on a stand or the wall, she can't say'."""
    if near_doubt(look.said, look.clause) or _not_known(look.said, look.clause):
        # 'not sure whether the gas is capped'
        return False
    return look.clause.start < look.said.end and "whether" in look.said.norms(look.clause.start, look.act.start)


def _not_known(said: Said, clause: Clause) -> bool:
    """'whether the cold ever got capped, I couldn't tell you'."""
    after = [c.start for c in said.cues if c.cue.status == "unsure" and clause.end <= c.start <= clause.end + 3]
    return any({"i", "we", "nobody"} & set(said.norms(clause.end, start + 1)) for start in after)


def _which_wall(look: Look) -> bool:
    """'she's not said which wall that goes on': asked, not told."""
    return look.clause.lead == "which" and look.said.norm(look.clause.start) in _WHICH


_WHICH = frozenset(("wall", "side", "way", "corner", "end", "one", "ones", "height", "room", "floor"))


def _in_a_where(look: Look) -> bool:
    """'capped just under where the mirror's going to hang': a place told by what will be there."""
    if near_doubt(look.said, look.clause):
        return False
    ahead = look.said.norms(look.clause.start, look.act.start)
    if "where" not in ahead[1:]:
        return False
    where = ahead.index("where", 1)
    told = any(a.end <= look.clause.start + where for a in look.said.acts_in(look.clause)) or ahead[where - 1] in _NEAR
    return ahead[where + 1 : where + 2] not in ([], ["i"], ["we"]) and told


_NEAR = frozenset("under below above over behind beside by near at to from about just".split())


def _so_they_can(look: Look) -> bool:
    """'..., so the plasterers can fill their buckets': what it is for, not what is to be done."""
    ahead = look.said.norms(look.clause.start, look.act.start)
    able = look.before in _CAN or bool(_CAN & set(look.words.split()))
    # 'so they can close it up' lets them
    return look.clause.lead == "so" and able and look.act.action != "cover" and not {"i", "we", "you"} & set(ahead)


_CAN = frozenset(("can", "could"))


def _in_general(look: Look) -> bool:
    """'you can't light a boiler on good wishes': what nobody can, of any such thing."""
    if look.act.form != "base" or look.before != "not" or look.said.norm(look.act.start - 2) not in _ABLE:
        return False
    return "a" in look.said.norms(look.act.start, look.act.end + 1)


_ABLE = frozenset(("can", "could", "do"))


def _capped_ends(look: Look) -> bool:
    """'them capped ends is connected on now': which ends, told by what was done to them before."""
    pointed = look.before in ("the", "them", "those", "these", "they", "that", "my", "his", "'s")
    return look.act.form == "done" and pointed and look.next_is(*_END_WORDS)


_END_WORDS = frozenset(("end", "ends", "tail", "tails", "leg", "legs", "stub", "stubs"))


def _refused(look: Look) -> bool:
    """'I'm not hanging them twice' says what nobody will do, not what is undone."""
    return look.act.form == "ing" and bool(
        re.search(r"\b(twice|for nothing|for free|for fun|on a (maybe|whim|guess|promise)|on spec|blind)\b", look.rest)
    )


def _so_nothing(look: Look) -> bool:
    """'..., so nothing drops down it': what it is for."""
    opened = look.said.norms(look.clause.start, look.act.start)
    present = not {"is", "'s", "has", "have", "been", "was"} & set(opened)
    return look.clause.lead == "so" and bool(_NONE & set(opened[:1])) and present and look.act.form != "notdone"


_NONE = frozenset(("nothing", "nobody", "none", "no_one"))


def _question(look: Look) -> bool:
    """'did I test it' with no question mark."""
    opened = look.said.norms(look.clause.start, look.clause.start + 2)
    return len(opened) == 2 and opened[0] in _ASKS and opened[1] in _ASKED_OF


OF_ANY: tuple[Callable[[Look], bool], ...] = (
    _verb_as_subject, _noun, _amount, _told_by_its_past, _long_since, _question, _refused, _whether, _which_wall,
    _in_a_where, _so_they_can, _in_general, _capped_ends, _so_nothing,
)  # fmt: skip
