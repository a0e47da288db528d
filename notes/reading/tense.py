"""Work told in the present: 'I connect the hot', 'its mains I drain', 'he cuts it short and caps it'. Pure.

Who reports so does not use a past tense at all, so that only a time to come makes a plan of it, and a habit or a
condition nothing. What has no doer stays an order: 'connect the hot'.
"""

from __future__ import annotations

from itertools import pairwise

from notes.reading.actions import Act, verb_forms
from notes.reading.clauses import WAITING, Clause
from notes.reading.patterns import macro_words
from notes.reading.said import Said
from notes.reading.scope import Found
from notes.reading.wordlists import pattern, words

_BESIDE = words("beside-present")
_EVERYDAY = words("everyday-present")
_HABIT = pattern("habit")
_FIRST = frozenset(("i", "we", "they"))
_THIRD = frozenset(("he", "she", "somebody", "someone", "nobody"))
_PEOPLE = macro_words("PEOPLE") | words("people")
_ASKED = words("asked-of-present")
_GOES_ON = frozenset(("", "and", "then", "after"))
_TO_COME = frozenset(("tomorrow", "tonight", "next", "later"))
_GLAD = frozenset(("lucky", "luckily"))
_COMES = frozenset(("when", "once"))
_WAITS = frozenset(("when", "once", "if", "unless"))


def told_in_present(said: Said, act: Act, clause: Clause) -> bool:
    """Whether a bare verb tells what its doer does: done, but for a time to come, a doubt or a denial."""
    if act.form != "base" or clause.question or "please" in said.norms(said.start, act.start):
        return False
    number = said.clause_of(act.start)
    if not _has_doer(said, act, clause) and not _goes_on_from(said, act, clause, number):
        return False
    return not _beside(said, number) & _WAITS and not _HABIT.search(said.joined(clause.start, clause.end))


def planned_in_present(said: Said, act: Act, number: int) -> bool:
    """'when the pump comes I fit it': a plan."""
    return act.form == "base" and bool(_beside(said, number) & _COMES) and _has_doer(said, act, said.clauses[number])


def _beside(said: Said, number: int) -> set[str]:
    """What the clauses before and after clause `number` open with."""
    return {c.lead for c in (*said.clauses[max(0, number - 1) : number], *said.clauses[number + 1 : number + 2])}


def its_day(said: Said, day: Found, clause: Clause) -> bool:
    """Whether a time to come is of work told in the present: 'Monday, I test', not 'she chose Monday, so I test'.

    'Lucky that Monday I take a photo' looks back.
    """
    if _GLAD & set(said.norms(said.start, clause.end)):
        return False
    there = said.clauses[said.clause_of(day.start)]
    return there == clause or not said.acts_in(there)


def _third_person(word: str) -> bool:
    return word.endswith("s") and not word.endswith("ss")


def _has_doer(said: Said, act: Act, clause: Clause) -> bool:
    """'I also connect', 'the gas man cuts', but not 'shall I connect', 'what I connect'."""
    return _doer_before(said, clause, act.start, _third_person(said.norm(act.start)))


def _doer_before(said: Said, clause: Clause, i: int, third: bool) -> bool:
    """Whether somebody who works stands before node i, but for 'also' and the like."""
    i -= 1
    while i > clause.start and said.norm(i) in _BESIDE:
        i -= 1
    if i < clause.start or (i > said.start and said.norm(i - 1) in _ASKED):
        return False
    doer = said.norm(i)
    if third:
        return doer in _THIRD or doer in _PEOPLE
    return doer in _FIRST or (doer in _PEOPLE and doer.endswith("s"))


def denied_in_present(said: Said, act: Act, clause: Clause) -> bool:
    """'the hot I do not cap yet', 'he does not test it': not done, where 'do not cap it' forbids."""
    if act.form != "base" or clause.question or act.start - 2 < clause.start or said.norm(act.start - 1) != "not":
        return False
    do = said.norm(act.start - 2)
    return do in ("do", "does") and _doer_before(said, clause, act.start - 2, do == "does")


def ahead_in_present(said: Said, act: Act, clause: Clause) -> bool:
    """'tomorrow I cut it out', 'Monday I take the tank out': a day to come, though the words may be read as past."""
    first = said.norm(act.start)
    forms = verb_forms().get(first, frozenset())
    if "base" not in forms or not _doer_before(said, clause, act.start, False):
        return False
    days = [said.norm(c.start) for c in said.cues if c.cue.status == "future" and clause.start <= c.start < clause.end]
    # 'I cut it out Monday' may be past as well
    return bool(days) and ("done" not in forms or any(day in _TO_COME for day in days))


def being_done_ahead(said: Said, act: Act, clause: Clause) -> bool:
    """'they're being boarded over tomorrow', 'it's being boxed in on Friday': under way only when no day is named."""
    ahead = [n for n in said.norms(clause.start, act.end) if n not in _BESIDE and n not in _SCARCELY]
    if not any(one in _IS and other in _BEING for one, other in pairwise(ahead)):
        return False
    days = [c for c in said.cues if c.cue.status == "future"]
    return any(its_day(said, day, clause) for day in days if day.start > act.start)


_SCARCELY = frozenset(("only", "all", "both", "just"))
_BEING, _IS = frozenset(("being", "getting")), frozenset(("is", "are", "'s", "'re", "am"))


def _opens_in_present(said: Said, clause: Clause, third: bool) -> bool:
    """'I find the place', 'for the bath he takes the ladder'."""
    if clause.lead in WAITING:
        return False
    ahead = [n for n in said.norms(clause.start, clause.end) if n not in _BESIDE]
    doers = _THIRD | _PEOPLE if third else _FIRST
    for i, (doer, verb) in enumerate(pairwise(ahead[:6])):
        if doer in doers and (verb.removesuffix("s") if third else verb) in _EVERYDAY:
            return not (i and ahead[i - 1] in _ASKED)
    return False


def _goes_on_from(said: Said, act: Act, clause: Clause, number: int) -> bool:
    """'I connect the hot and test it', 'he cuts it short, then caps it': the doer is named once."""
    ahead = said.norms(clause.start, act.start)
    if not number or clause.lead not in _GOES_ON or not set(ahead) <= _BESIDE:
        return False
    before = said.clauses[number - 1]
    if number > 1 and before.end - before.start < 3 and not said.acts_in(before):
        # 'I solder the hot, three joints, and test it'
        before = said.clauses[number - 2]
    acts = said.acts_in(before)
    if clause.lead in ("and", "then") and _opens_in_present(said, before, _third_person(said.norm(act.start))):
        return True
    if not acts or _third_person(said.norm(acts[-1].start)) != _third_person(said.norm(act.start)):
        return False
    return told_in_present(said, acts[-1], before)
