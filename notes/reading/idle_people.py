"""Somebody who comes and goes lays no pipe: 'the plasterer came in', 'Gary's sat on the digger', 'my back went'."""

from __future__ import annotations

from notes.reading.look import Look, look_at
from notes.reading.mentions import PIPE_KINDS
from notes.reading.nominal import is_size
from notes.reading.patterns import macro_words
from notes.reading.pipes import PEOPLE
from notes.reading.wordlists import words

_MEN = PEOPLE | macro_words("PEOPLE", "COVERERS", "LAGGERS", "STOPPERS")
_SOMEBODY = _MEN | {"who", "somebody", "someone", "everybody"}
_MOVES = frozenset(
    "go goes going gone went come comes coming came sit sits sat sitting stand stands stood standing fall fell fallen "
    "move moves moved moving".split()
)
"""What people do as pipes do."""
_WORK = frozenset(("run", "leave", "move", "remove", "cover"))
_OBJECTS = frozenset(("it", "them", "that", "those", "these", "this"))
_BETWEEN = frozenset(
    "'s is are was were has have had been being just all both only then always all still never also even now again "
    "will got to about".split()
)
_NO_MOVER = (
    {"i"}
    | words("them")
    | words("pronouns")
    | words("ends-of-pipes")
    | set("run runs line lines feed feeds branch leg legs riser risers loop loops coil supply supplies length".split())
)
_TOLD_OF = PIPE_KINDS | {"material"}
_LEADS = frozenset("the a an my his her our your their that this some every 's".split())


def somebody_moves(look: Look) -> bool:
    """Whether the work is that of somebody, or of a beast or a thing that is no pipe, moving about."""
    verb = look.said.norms(look.act.start, look.act.end)
    if _somebody_stands(look, verb):
        return True
    if look.act.action not in _WORK or not _MOVES & set(verb[:2]) or _with_pipes(look) or look.next_is(*_OBJECTS):
        return False
    i = look.act.start - 1
    while i >= look.clause.start and look.said.norm(i) in _BETWEEN:
        i -= 1
    if i < look.clause.start:
        return look.clause.lead in ("and", "then") and _goes_on(look)
    mover = look.said.row[i]
    if mover.norm in _SOMEBODY:
        return not _worked_on(look)
    return mover.kind == "word" and mover.norm not in _NO_MOVER and _is_noun(look, i)


def _somebody_stands(look: Look, verb: list[str]) -> bool:
    """'and now I'm stood looking at it', 'I'm sat on a bucket', 'he's stood there watching': no pipe left there."""
    if look.act.action != "leave" or not _STANDS & set(verb[:2]) or verb[0] in _LEFT:
        return False
    i = look.act.start - 1
    while i >= look.clause.start and look.said.norm(i) in _BETWEEN:
        i -= 1
    who = look.said.norm(i) if i >= look.clause.start else ""
    if who in ("i", "we"):
        return True
    watching = next((n.norm for n in look.said.row[look.act.end - 1 : look.clause.end] if n.norm in _WATCHES), "")
    return bool(watching) and (who in ("he", "she", "they") or who in _SOMEBODY)


_LEFT = frozenset(("left", "leave", "leaving"))
_STANDS = frozenset("stood standing sat sitting hanging lying perched kneeling crouched leaning".split())
_WATCHES = frozenset("looking watching wondering laughing singing scratching staring waiting talking smoking".split())


def another_taken(look: Look) -> bool:
    """'took a seat', 'he pulled a face', 'they brought the new vessel': what is moved is said, and is no pipe."""
    said, i = look.said, look.act.end
    if look.first.norm not in _TAKES or said.norm(i) not in _LEADS - {"'s"}:
        return False
    end = next((k for k in range(i, look.clause.end) if k > i and said.norm(k) in _NO_NOUN), look.clause.end)
    named = said.row[i + 1 : min(end, i + 5)]
    if not named or any(n.kind in _TOLD_OF or n.qty is not None or n.norm in _NO_MOVER for n in named):
        return False
    return all(n.kind in ("word", "item", "mark") for n in named) and not _WAYS & {n.norm for n in named}


_TAKES = frozenset(
    "took taken take taking brought bring bringing pulled pull pulling fetched sent dropped threw".split()
)
_WAYS = frozenset("way route side floor wall other others others' whole lot rest end ends pipe pipes old two".split())
_NO_NOUN = words("places") | {",", "and", "but", "so", "to", "from", "off", "of", "is", "'s", "for", "with", "that"}


def _is_noun(look: Look, i: int) -> bool:
    """'the dog', 'my back', 'Denzil'."""
    said = look.said
    if i > look.clause.start and said.norm(i - 1) in _LEADS:
        return True
    return said.text[said.row[i].start].isupper() and (
        i > said.start or look.first.norm == "'s" or said.norm(i + 1) in _BETWEEN
    )


def _goes_on(look: Look) -> bool:
    """'the joiner went up the loft and came down again'."""
    said = look.said
    before = [a for a in said.acts if a.end <= look.clause.start]
    if not before or (number := said.clause_of(before[-1].start)) != said.clause_of(look.act.start) - 1:
        return False
    return somebody_moves(look_at(said, before[-1], said.clauses[number]))


def _with_pipes(look: Look) -> bool:
    """'he's gone through with the hot', 'the lads came up in fifteen', 'they're taking it down'."""
    span = range(look.act.start, look.clause.end)
    return any(look.said.row[k].kind in _TOLD_OF or is_size(look.said.row, k) for k in span)


def _worked_on(look: Look) -> bool:
    """'the lad's come up through the floor by the door' has brought a pipe."""
    return any(n.kind == "item" for n in look.said.row[look.act.start : look.clause.end])
