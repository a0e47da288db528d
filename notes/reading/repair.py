"""Words put in place of those just said: 'I've capped, no, tested the hot', 'the hot, I mean the cold, is capped'.

What is taken back leaves the row, so that every rule reads what was meant. Numbers and denials are `putright.py`'s.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from notes.reading.actions import acts, verb_forms
from notes.reading.mentions import Node, begins
from notes.reading.wordlists import words

_LIST_GLUE = words("list-glue")
_LEADS = (
    words("possessors") | words("articles") | words("leads-thing") | {"just", "only", "to", "in", "on", "at", "for"}
)
_MARKS = frozenset((",", "-", "–", "—", "(", ")"))
_ENDS = frozenset((".", ";", "!", "?"))
_VERB_NEXT = words("auxiliary") | words("agents") | frozenset(("wants", "want", "needs", "need", "goes", "comes", "to"))
_CLASS = {"service": "pipe", "pair": "pipe", "half": "pipe", "item": "item", "room": "room", "head": "room"}
_THEM = frozenset(("it", "them", "that", "those"))
_FAR = 5
"""Nodes after which a word of correction no longer names what is put in place."""


def repaired(row: Sequence[Node]) -> list[Node]:
    """The row with what is put right in place of what was wrong."""
    out = list(row)
    i = 1
    while i < len(out):
        edit = _edit(out, i)
        anew = None if edit is None else _verb(out, i, edit) or _name(out, i, edit)
        if anew is None and out[i].norm in _MARKS:
            anew = _name_first(out, i)
        if anew is None:
            i += 1
        else:
            out = anew
    return out


@lru_cache(maxsize=1)
def _edits() -> dict[str, list[tuple[str, ...]]]:
    table: dict[str, list[tuple[str, ...]]] = {}
    for phrase in sorted(words("puts-right"), key=lambda p: (-p.count("_"), p)):
        table.setdefault(phrase.split("_")[0], []).append(tuple(phrase.split("_")))
    return table


def _edit(row: Sequence[Node], i: int) -> int | None:
    """Where words of correction that begin at node i end, with the marks round them; 'no' wants one, or an article."""
    if row[i].kind != "mark" and row[i].norm not in _UNMARKED:
        return None
    j, said = i, list[str]()
    while j < min(i + _LONGEST, len(row)):
        if row[j].norm in _MARKS or (row[j].norm == "." and j == i):
            j += 1
            continue
        parts = next((p for p in _edits().get(row[j].norm, ()) if begins(row, j, p)), None)
        if parts is None:
            break
        said += parts
        j += len(parts)
    if not said or j >= len(row):
        return None
    # 'the hot's capped, no cold in here'
    bare = said == ["no"] and row[j - 1].norm == "no" and row[j].norm not in ("the", "my", "just", "only")
    return None if bare else j


_LONGEST = 16
"""Nodes that words of correction take at most: 'no, hang on, sorry, I tell a lie, ...'."""
_UNMARKED = frozenset(("sorry", "i", "or", "correction"))
"""Opens a correction without a mark before it."""


# -- names ------------------------------------------------------------------------------------------------------


def _name(row: Sequence[Node], i: int, j: int) -> list[Node] | None:
    """A pipe, thing or room in place of the last: the edit stands at `i:j`."""
    new = _named(row, j)
    if new is None:
        return None
    start, end = new
    ends = end >= len(row) or row[end].kind == "mark"
    if row[i].norm == "." and not ends:
        return None
    left = _clause_start(row, i)
    whole = end - start > 1 or row[start].kind == "pair" or bool({"just", "only"} & _norms(row[j:start]))
    old = _old(row, left, i, _CLASS[row[start].kind], whole)
    if old is None:
        return None
    told = any(n.norm in _VERB_NEXT - _AGENTS for n in row[left:i]) or bool(acts(row[left:i]))
    if ends:
        return [*row[: old[0]], *row[start:end], *row[old[1] : i], *row[end:]]
    near = old[1] == i or (old[1] == i - 1 and row[i - 1].norm == row[end].norm)
    if not near or (row[end].norm in _VERB_NEXT and told and old[1] == i):
        return None
    return [*row[: old[0]], *row[start:end], *row[end:]]


_AGENTS = words("agents")


def _norms(row: Sequence[Node]) -> set[str]:
    return {n.norm for n in row}


def _named(row: Sequence[Node], j: int) -> tuple[int, int] | None:
    """The name, or list of names, that opens at node j behind its articles."""
    start = j
    while start < len(row) and start < j + _FAR and row[start].kind == "word" and row[start].norm in _LEADS:
        start += 1
    if start >= len(row) or row[start].kind not in _CLASS:
        return None
    kind, end = _CLASS[row[start].kind], start + 1
    for k in range(start + 1, min(end + 4, len(row))):
        if _CLASS.get(row[k].kind) == kind and "and" in _norms(row[end:k]) and _norms(row[end:k]) <= _LIST_GLUE:
            end = k + 1
    return start, end


def _clause_start(row: Sequence[Node], i: int) -> int:
    start = i
    while start and row[start - 1].kind != "mark":
        start -= 1
    return start


def _old(row: Sequence[Node], left: int, i: int, kind: str, whole: bool) -> tuple[int, int] | None:
    """The last name of that kind in nodes `left:i`, with the list that it ends where the whole is meant."""
    last = next((k for k in range(i - 1, left - 1, -1) if _CLASS.get(row[k].kind) == kind), None)
    if last is None:
        return None
    first = last
    if whole:
        for k in range(last - 1, max(left, last - 4) - 1, -1):
            if _CLASS.get(row[k].kind) == kind and "and" in _norms(row[k + 1 : first]):
                first = k
    return first, last + 1


def _name_first(row: Sequence[Node], i: int) -> list[Node] | None:
    """'capped the hot, cold I mean'."""
    new = _named(row, i + 1)
    if new is None:
        return None
    end = next((new[1] + len(p) for p in _AFTER if begins(row, new[1], p)), None)
    if end is None or (end < len(row) and row[end].kind != "mark"):
        return None
    old = _old(
        row, _clause_start(row, i), i, _CLASS[row[new[0]].kind], new[1] - new[0] > 1 or row[new[0]].kind == "pair"
    )
    if old is None:
        return None
    return [
        *row[: old[0]],
        *row[new[0] : new[1]],
        *row[old[1] : i],
        *row[end + (old[1] == i and end < len(row) and row[end].norm == ",") :],
    ]


_AFTER = tuple(
    tuple(p.split()) for p in ("i mean", "i meant", "rather", "i should say", "sorry", "that is", "that should be")
)


# -- verbs ------------------------------------------------------------------------------------------------------


def _verb(row: Sequence[Node], i: int, j: int) -> list[Node] | None:
    """Work in place of the work just said, in the same form: 'capped, no, tested', 'lagged the hot, no, clipped it'."""
    forms = verb_forms().get(row[j].norm)
    if not forms or row[i].norm in _ENDS:
        return None
    left = _clause_start(row, i)
    for k in range(i - 1, left - 1, -1):
        if not forms & verb_forms().get(row[k].norm, frozenset()):
            continue
        if all(n.norm in _PARTICLES for n in row[k + 1 : i]):
            return [*row[:k], *row[j:]]
        pointed = j + 1 < len(row) and row[j + 1].norm in _THEM and (j + 2 >= len(row) or row[j + 2].kind == "mark")
        return [*row[:k], row[j], *row[k + 1 : i], *row[j + 2 :]] if pointed else None
    return None


_PARTICLES = frozenset("up down in on off out over back round through".split())
