"""Sentences and clauses over nodes, and lists that belong together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from notes.reading.actions import verb_forms
from notes.reading.breaths import breaths
from notes.reading.mentions import Node
from notes.reading.wordlists import pattern, words

_STOPS = frozenset((".", "?", "!"))
ENDS = frozenset((".", "?", "!", ";", "...", "…"))
JOINTS = words("joints")
WAITING = words("waiting")
"""Joints whose clause is a condition or a time: what it says is no fact of its own."""
_LIST_GLUE = words("list-glue")
_STRUCTURE = words("structure")
_TAKEN_BACK_NEXT = pattern("taken-back-next", after=r"(?!\S)")
_SAID, _DENIES = pattern("said-before"), pattern("denies", "^(no |well |but |and )*")
_COMMAS = frozenset((",", ":", "-", "—", "–", "(", ")"))


@dataclass(frozen=True, slots=True)
class Clause:
    """Nodes `start:end` of the memo; `lead` the joint that opens it, if any; `question` for a sentence asked."""

    start: int
    end: int
    lead: str
    question: bool = False


def sentence_before(row: Sequence[Node], end: int) -> int:
    """The node where the sentence begins that ends before node `end`."""
    start = max(0, end - 1)
    while start > 0 and row[start - 1].norm not in _STOPS:
        start -= 1
    return start


def takes_back(row: Sequence[Node], i: int, start: int = 0) -> bool:
    """'... in fifteen. No, hang on, sixteen': what is taken back belongs to the sentence before, from node `start`."""
    ahead = " ".join(n.norm for n in row[i : i + 8] if n.kind != "mark")
    if _TAKEN_BACK_NEXT.match(ahead):
        return True
    # 'I said they were capped by the door. They aren't, they're capped by the window'
    return bool(_DENIES.match(ahead)) and bool(_SAID.search(" ".join(n.norm for n in row[start:i])))


def _anew(row: Sequence[Node], i: int, start: int) -> bool:
    """Whether the end at node i stands before or behind words that only put a number right: 'Fifteen. Sorry. Forty.'"""
    after = next((j for j in range(i + 1, min(i + _SORRY, len(row))) if row[j].norm in ENDS), 0)
    if after > i + 1 and _only_sorry(row, i + 1, after):
        return True
    before = next((j for j in range(i - 1, max(i - _SORRY, start), -1) if row[j].norm in ENDS), 0)
    return bool(before) and _only_sorry(row, before + 1, i)


def _only_sorry(row: Sequence[Node], start: int, end: int) -> bool:
    if not row[end + 1 : end + 2] or row[end + 1].qty is None:
        return False
    return bool(_TAKES_BACK.match(" ".join(n.norm for n in row[start:end] if n.kind != "mark")))


_SORRY = 9
"""Nodes of words that put right, with the end behind them."""
_TAKES_BACK = pattern("taken-back", "^(no |er |sorry |well |oh |wait )*", "$")


LONGEST = 400
"""Nodes in a sentence: some three minutes of speech without an end. The time to read one grows with its square."""


def sentences(row: Sequence[Node]) -> list[tuple[int, int]]:
    """Half-open node ranges of at most `LONGEST`, without the mark at the end."""
    out, start = [], 0
    for i, node in enumerate(row):
        mark = node.kind == "mark"
        ends = mark and node.norm in ENDS and not takes_back(row, i + 1, start) and not _anew(row, i, start)
        if not ends and i - start < LONGEST:
            continue
        if i > start:
            out += breaths(row, start, i)
        start = i + 1 if mark else i
    if start < len(row):
        out += breaths(row, start, len(row))
    return out


def listed(row: Sequence[Node], start: int, end: int, wanted: Callable[[Node], bool]) -> list[list[int]]:
    """Node numbers of what stands in one list: 'hot, cold and hot return' is one, 'hot ... cold' two."""
    groups: list[list[int]] = []
    closed = False
    for i in range(start, end):
        if not wanted(row[i]):
            continue
        between = [n.norm for n in row[groups[-1][-1] + 1 : i]] if groups else []
        again = bool(groups) and any(row[i].keys and row[i].keys == row[j].keys for j in groups[-1])
        goes_on = bool(groups) and not again and _goes_on(between, closed)
        if (
            goes_on
            and not _told_apart(row, i, end, between, groups[-1][0])
            and not _apposed(row, start, between, groups)
        ):
            groups[-1].append(i)
            closed = closed or "and" in between
        else:
            groups.append([i])
            closed = False
    return groups


def _apposed(row: Sequence[Node], start: int, between: Sequence[str], groups: list[list[int]]) -> bool:
    """'connected it, flow and return, and the cold ...': the list only says what 'it' is, and is whole."""
    first = groups[-1][0] - 1
    while first > start and row[first].norm in _LEADS_THING:
        first -= 1
    meant = first > start and row[first].norm == "," and row[first - 1].norm in _MEANT
    return meant and between[:1] == [","] and "and" in between


_MEANT = frozenset("it them both they these those all lot everything sides ends".split())


def _told_apart(row: Sequence[Node], i: int, end: int, between: Sequence[str], first: int) -> bool:
    """'lagged the hot, the return's not lagged', '..., the return I'll lag': the second is what is spoken of next."""
    after = row[i + 1].norm if i + 1 < end else ""
    if {"and", "plus"} & set(between):
        # 'flushed the flow and return and the oil wants burying': one pipe is spoken of, and work was told before
        one = "the" in between and after in _TOLD_OF_ONE
        # 'I need to clip the gas, and flow and return come up through the floor'
        any_ = between[0] == "," and after in _TOLD_OF_ANY
        # 'connected, hot and cold, and the waste is in': the list is whole
        whole = between[0] == "," and after in _TOLD_OF_ONE and _whole(row, first, i)
        return whole or ((one or any_) and _worked_before(row, first))
    # 'I never lagged the hot, flow and return come up through the floor'
    return "," in between and (after in _TOLD_OF or (after in _TOLD_OF_ANY and _worked_before(row, first)))


def _whole(row: Sequence[Node], first: int, i: int) -> bool:
    """Whether the list before node i has its 'and': 'flow and return', 'hot and cold'."""
    comma = next(j for j in range(i - 1, first, -1) if row[j].norm == ",")
    return row[first].kind == "pair" or any(n.norm == "and" for n in row[first:comma])


def _worked_before(row: Sequence[Node], first: int) -> bool:
    """Whether the list that begins at `first` follows a verb that has no pause or joint behind it."""
    i = first - 1
    while i >= 0 and (row[i].norm in _LEADS_THING or row[i].kind in ("qty", "material")):
        i -= 1
    if i < 0:
        return False
    return row[i].norm.endswith(("ed", "ran", "run", "cut", "put", "ing")) or row[i].norm in _BEFORE_IT | set(
        verb_forms()
    )


_BEFORE_IT = frozenset("for of on round around with behind under off".split())
"""'drilled three joists for the waste, and the gas stops at the wall': what is named by the way opens no list."""
_TOLD_OF_ONE = frozenset(("'s", "is", "was", "has", "wants", "needs"))
_TOLD_OF_ANY = _TOLD_OF_ONE | set("are were have want need go goes come comes runs stops stop drops ends".split())
_TOLD_OF = frozenset(
    "'s not tomorrow needs wants is are was were has have i we he she they goes comes runs stops drops ends".split()
)


def _goes_on(between: Sequence[str], closed: bool) -> bool:
    """Whether a list goes on over these words; 'hot and return, cold ...': a comma after the 'and' has closed it."""
    if len(between) > 3 or not all(w in _LIST_GLUE for w in between):
        return False
    return not (closed and "," in between and "and" not in between)


def clauses(row: Sequence[Node], start: int, end: int) -> list[Clause]:
    """The clauses of the sentence `start:end`: parted at commas and joints that don't stand inside a list."""
    inside = _inside_lists(row, start, end)
    question = end < len(row) and row[end].norm == "?" and not _only_tag(row, start, end)
    question = question or _wondered(row, start, end)
    out: list[Clause] = []
    at, lead, waiting = start, "", -1
    for i in range(start, end):
        if waiting >= 0 and _main_clause(row, i, waiting):
            out.append(Clause(at, i, lead, question))
            at, lead, waiting = i, "", -1
        if i > at and i not in inside and (_new_matter(row, i, at, end) or _besides_that(row, i)):
            out.append(Clause(at, i, lead, question))
            at, lead, waiting = i, "", -1
            continue
        if i in inside:
            continue
        joint = row[i].norm in JOINTS and not _joins_words(row, i, start, end, at)
        if not joint and not _is_comma(row[i]):
            continue
        if i > at:
            out.append(Clause(at, i, lead, question))
            lead = ""
        waits = row[i].norm in WAITING
        waiting, at = (i, i) if waits else (-1, i + 1)
        if joint and (not lead or row[i].norm not in ("and", "then")):
            lead = row[i].norm
    if at < end:
        out.append(Clause(at, end, lead, question))
    for n, (clause, after) in enumerate(pairwise(out)):
        out[n] = replace(clause, question=clause.question or _then_asked(row, clause, after))
    return out


def _then_asked(row: Sequence[Node], clause: Clause, after: Clause) -> bool:
    """'does it go in the floor or up the wall, someone ask the spark': a question, and who is to be asked."""
    if "ask" not in {n.norm for n in row[after.start : min(after.start + 5, after.end)]}:
        return False
    opened = [n.norm for n in row[clause.start : clause.start + 3]]
    asked = opened[1:] if opened[0] in _WONDERS | {"where", "which"} else opened
    return len(asked) > 1 and asked[0] in _ASKED_BY and (asked[1] in _ASKED_OF or opened[0] in ("where", "which"))


_ASKED_BY = frozenset("do does is are can could should will would".split())
_ASKED_OF = words("asked-of") | {"the", "that", "this", "these", "those", "there", "her", "his", "my"}


def _new_matter(row: Sequence[Node], i: int, at: int, end: int) -> bool:
    """'the gas is not lagged yet the bath's gone in': told without a pause, once what came before is whole."""
    if row[i].norm in ("the", "my") and i + 2 < end and row[i + 1].kind in _NAMED and row[i + 2].norm in _IS_ONE:
        last, before = row[i - 1], row[i - 2].norm if i > at + 1 else ""
        return last.norm in _WHOLE or (before in _SAYS_OF and (last.norm in _SIDES or last.norm.endswith("ed")))
    return False


_NAMED = frozenset(("service", "pair", "item"))
_IS_ONE = frozenset(("'s", "is", "are", "was", "were", "has", "have", "wants", "needs", "still"))
_WHOLE = frozenset(("yet", "tomorrow", "today", "now", "already"))
_SAYS_OF = frozenset(("is", "'s", "are", "was", "were", "not", "been", "gone", "come", "all", "both"))
_SIDES = frozenset(("in", "out", "on", "up", "run", "done"))


def _besides_that(row: Sequence[Node], i: int) -> bool:
    """'... apart from that the gas is sealed', '... as well as that I ran the cold'."""
    three = [n.norm for n in row[i : i + 3]]
    if three == ["as", "well", "as"]:
        return i + 4 < len(row) and row[i + 3].norm == "that" and row[i + 4].kind not in _NAMED
    return three in _BESIDES and i + 3 < len(row) and row[i + 3].kind not in _NAMED


_BESIDES = (["apart", "from", "that"], ["other", "than", "that"], ["on", "top", "of"])


def _only_tag(row: Sequence[Node], start: int, end: int) -> bool:
    """'the hot's capped, all right?' asks nothing of the hot."""
    last = max((i for i in range(start, end) if row[i].norm == ","), default=start - 1)
    return (
        last > start
        and row[start].norm not in _ASKS
        and bool(_TAGS.fullmatch(" ".join(n.norm for n in row[last + 1 : end])))
    )


def _wondered(row: Sequence[Node], start: int, end: int) -> bool:
    """'who put that boiler there I don't know'."""
    if row[start].norm not in _WONDERS:
        return False
    return bool(_NOT_KNOWN.search(" ".join(n.norm for n in row[max(start, end - 6) : end])))


_WONDERS = frozenset(("who", "why", "how", "what", "whose", "when"))
_NOT_KNOWN = pattern("not-known", "(?:^| )", "$")
_ASKS = words("asks") | {"are", "do", "does", "can", "could"}
_TAGS = pattern("question-tags", "(", ")")


def _joins_words(row: Sequence[Node], i: int, start: int, end: int, at: int) -> bool:
    """Whether a joint belongs to the words beside it and parts nothing."""
    beside = _so_far(row, i, end) or _mind_and(row, i, start) or _as_if(row, i, at) or _that_is_when(row, i, at)
    return beside or _after_that(row, i, end) or _before_somebody(row, i, end) or _and_all(row, i, end)


def _so_far(row: Sequence[Node], i: int, end: int) -> bool:
    """'not so far lagged'."""
    return row[i].norm == "so" and i + 1 < end and row[i + 1].norm in ("far", "much")


def _mind_and(row: Sequence[Node], i: int, start: int) -> bool:
    """'mind and cap it', 'try and get it capped', 'umming and ahing': one thing to do."""
    return row[i].norm == "and" and i > start and row[i - 1].norm in _AND_GOES_ON


_AND_GOES_ON = frozenset("mind try sure umming humming ohming hemming um hum hem".split())


def _as_if(row: Sequence[Node], i: int, at: int) -> bool:
    """'it looks as if the hot's capped' opens no condition."""
    return row[i].norm in ("if", "though") and i > at and row[i - 1].norm == "as"


def _that_is_when(row: Sequence[Node], i: int, at: int) -> bool:
    """'that's when it gets screeded' opens no condition."""
    return row[i].norm == "when" and i > at + 1 and row[i - 2].norm in ("that", "which") and row[i - 1].norm in _BE


def _and_all(row: Sequence[Node], i: int, end: int) -> bool:
    """'the cold and all': as well."""
    all_ = row[i].norm == "and" and i + 1 < end and row[i + 1].norm == "all"
    return all_ and (i + 2 == end or row[i + 2].kind == "mark")


def _before_somebody(row: Sequence[Node], i: int, end: int) -> bool:
    """'the plumber before us notched that'."""
    return row[i].norm == "before" and i + 1 < end and row[i + 1].norm in ("us", "me", "him", "her", "them", "you")


_MEALS = frozenset(("dinner", "lunch", "breakfast", "tea", "break", "work"))
_GOES_AFTER = frozenset("it they i we he she somebody neither boards tiles screed plaster people".split())


def _after_that(row: Sequence[Node], i: int, end: int) -> bool:
    """'after that they are bare', 'after this boards go on', 'after dinner I cap it' opens no condition."""
    three = [n.norm for n in row[i : min(i + 3, end)]]
    if three[0] in ("after", "before") and three[1:2] and three[1] in _MEALS:
        return three[2:] != [","]
    return three[:1] == ["after"] and three[1:2] in (["that"], ["this"]) and bool(set(three[2:]) & _GOES_AFTER)


_BE = frozenset(("'s", "is", "was"))


def _is_comma(node: Node) -> bool:
    return node.kind == "mark" and (node.norm in _COMMAS or node.norm in ENDS)


def _main_clause(row: Sequence[Node], i: int, waiting: int) -> bool:
    """'till he makes his mind up I haven't run it': the main clause follows without a comma."""
    plain = row[i].norm in ("i", "we")
    planned = row[i].norm in ("they", "he", "she", "you") and i + 1 < len(row) and row[i + 1].norm in _WILL
    # 'when I came back the tiler had it tiled in'
    came = i > 1 and row[i - 2].norm == "back" and row[i - 1].norm in ("up", "down", "over", "round")
    back = i > 0 and row[i].norm in ("the", "he", "they", "she") and (came or row[i - 1].norm in _RETURNED)
    return i - waiting > 3 - back and (plain or planned or back) and row[i - 1].norm not in ("and", "but")


_RETURNED = frozenset(("back", "in", "there", "here", "arrived"))


_WILL = frozenset(("will", "can", "could", "must", "should"))


def _inside_lists(row: Sequence[Node], start: int, end: int) -> set[int]:
    """Nodes between the members of a list: no clause ends there."""
    inside: set[int] = set()
    groups = things_listed(row, start, end)
    tags = [n.tag for n in row[start:end]]
    for tag in (tag for tag in ("SVC", "ROOM", "Q-num", "MAT") if tags.count(tag) > 1):
        groups += listed(row, start, end, lambda n, tag=tag: n.tag == tag)  # type: ignore[misc]
    for group in groups:
        inside.update(range(group[0], group[-1]))
    return inside


def things_listed(row: Sequence[Node], start: int, end: int) -> list[list[int]]:
    """Node numbers of things named side by side: 'the bath and the toilet', 'a pump, two valves and a bag of clips'.

    Ends of two clauses are no list: 'on a stop end, and the shower is in'.
    """
    things = [i for i in range(start, end) if row[i].kind == "item" and not says_which(row, i, end)]
    groups: list[list[int]] = [[i] for i in things[:1]]
    for a, b in pairwise(things):
        alike = (row[a].keys[0] in _STRUCTURE) is (row[b].keys[0] in _STRUCTURE)
        if alike and _side_by_side(row[a + 1 : b]):
            groups[-1].append(b)
        else:
            groups.append([b])
    return [g for g in (_told_together(row, start, end, g) for g in groups) if len(g) > 1]


def says_which(row: Sequence[Node], i: int, end: int) -> bool:
    """'a basin trap', 'the pump valves': a thing that only says which the next is."""
    return i + 1 < end and row[i + 1].kind == "item" and not row[i].norm.endswith("s")


def _side_by_side(between: Sequence[Node]) -> bool:
    """Whether only a joint and what leads a thing stands between two."""
    norms = [n.norm for n in between]
    joint = norms[:1] in ([","], ["and"], ["or"], ["plus"])
    after = between[2 if norms[:2] in ([",", "and"], [",", "or"], [",", "plus"]) else 1 :]
    return joint and len(after) < 6 and all(_leads_thing(n) for n in after)


def _leads_thing(node: Node) -> bool:
    """'two', 'a box of', and 'basin' of 'a basin trap'."""
    return node.qty is not None or node.kind == "item" or node.norm in _LEADS_THING


def _told_together(row: Sequence[Node], start: int, end: int, group: list[int]) -> list[int]:
    """The members but a last one that opens what is said next, and none where no 'and' closes the list."""
    after = row[group[-1] + 1] if group[-1] + 1 < end else None
    if len(group) > 1 and after is not None and after.tag == "SVC":
        # '..., and the shower waste'
        group = group[:-1]
    if len(group) > 1 and after is not None and after.kind == "word" and _part_is(row, group[-1] + 1, end):
        # 'waiting on a valve, and the bath panel's off'
        group = group[:-1]
    verb = after.norm if after is not None else ""
    opens = group[0] == start or row[group[0] - 1].norm in (*_LEADS_THING, *_COMMAS, "and", "so", "right")
    parted = len(group) > 1 and any(n.norm == "," for n in row[group[-2] + 1 : group[-1]])
    if len(group) > 1 and verb in _ANY_IS and not (opens and (verb not in _ONE_IS or not parted)):
        # 'hung the boiler and the pump is on', but 'the pump and the header's on'
        group = group[:-1]
    glue = [n.norm for i, j in pairwise(group) for n in row[i + 1 : j]]
    # 'toilet, basin, tap, all in'
    closed = [n.norm for n in row[group[-1] + 1 : min(group[-1] + 3, end)]] in ([",", "all"], [",", "both"])
    return group if closed or {"and", "or", "plus"} & set(glue) else group[:1]


def _part_is(row: Sequence[Node], i: int, end: int) -> bool:
    """Whether node i is a noun that something is said of: 'panel' of 'the bath panel's off'."""
    return i + 1 < end and row[i].norm.isalpha() and row[i].norm not in _ANY_IS and row[i + 1].norm in ("'s", "is")


_LEADS_THING = words("leads-thing")
_ONE_IS = frozenset(("'s", "is", "was", "has", "wants", "needs", "goes", "comes", "i", "we", "he", "she", "they"))
_ANY_IS = _ONE_IS | {"are", "were", "have", "want", "need", "go", "come"}
