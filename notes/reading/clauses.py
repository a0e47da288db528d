"""Sentences and clauses over nodes, and lists that belong together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from notes.reading.mentions import Node

ENDS = frozenset((".", "?", "!", ";", "...", "…"))
JOINTS = frozenset(("and", "but", "so", "then", "because", "though", "although", "while", "which", "before", "till",
                    "when", "once", "after", "if", "unless", "whereas", "plus", "except", "only", "who", "whoever"))  # fmt: skip
WAITING = frozenset(("till", "when", "once", "if", "unless", "while", "before", "after"))
"""Joints whose clause is a condition or a time: what it says is no fact of its own."""
_LIST_GLUE = frozenset((",", "and", "plus", "the", "a", "or", "my", "me", "both"))


@dataclass(frozen=True, slots=True)
class Clause:
    """Nodes `start:end` of the memo; `lead` the joint that opens it, if any; `question` for a sentence asked."""

    start: int
    end: int
    lead: str
    question: bool = False


def sentences(row: Sequence[Node]) -> list[tuple[int, int]]:
    """Half-open node ranges, without the mark at the end."""
    out, start = [], 0
    for i, node in enumerate(row):
        if node.kind == "mark" and node.norm in ENDS:
            if i > start:
                out.append((start, i))
            start = i + 1
    if start < len(row):
        out.append((start, len(row)))
    return out


def listed(row: Sequence[Node], start: int, end: int, wanted: Callable[[Node], bool]) -> list[list[int]]:
    """Node numbers of what stands in one list: 'hot, cold and hot return' is one, 'hot ... cold' two."""
    groups: list[list[int]] = []
    closed = False
    for i in range(start, end):
        if not wanted(row[i]):
            continue
        between = [n.norm for n in row[groups[-1][-1] + 1 : i]] if groups else []
        # 'hot and return, cold ...': a comma after the 'and' has closed the list
        goes_on = bool(groups) and len(between) <= 3 and all(w in _LIST_GLUE for w in between)
        if goes_on and not (closed and "," in between and "and" not in between):
            groups[-1].append(i)
            closed = closed or "and" in between
        else:
            groups.append([i])
            closed = False
    return groups


def clauses(row: Sequence[Node], start: int, end: int) -> list[Clause]:
    """The clauses of the sentence `start:end`: parted at commas and joints that don't stand inside a list."""
    inside = set()
    for kind in ("SVC", "ITEM", "ROOM", "Q-num", "MAT"):
        for group in listed(row, start, end, lambda n, k=kind: n.tag == k):  # type: ignore[misc]
            if kind != "ITEM" or _one_list(row, group):
                inside.update(range(group[0], group[-1]))
    question = end < len(row) and row[end].norm == "?"
    waiting = -1
    out, at, lead = [], start, ""
    for i in range(start, end):
        node = row[i]
        if waiting >= 0 and i - waiting > 3 and node.norm in ("i", "we") and row[i - 1].norm not in ("and", "but"):
            # 'till he makes his mind up I haven't run it': the main clause follows without a comma
            out.append(Clause(at, i, lead, question))
            at, lead, waiting = i, "", -1
        comma = node.kind == "mark" and node.norm in (",", ":", "-", "—", "–", "(", ")")
        if i in inside or not (comma or node.norm in JOINTS):
            continue
        if i > at:
            out.append(Clause(at, i, lead, question))
            lead = ""
        waiting = i if node.norm in WAITING else -1
        if not comma:
            lead = node.norm if not lead or node.norm not in ("and", "then") else lead
        at = i if node.norm in WAITING and not comma else i + 1
    if at < end:
        out.append(Clause(at, end, lead, question))
    return out


def _one_list(row: Sequence[Node], group: Sequence[int]) -> bool:
    """Things named side by side ('bath and toilet'), not the ends of two clauses ('on a stop end, and the shower')."""
    glue = [tuple(n.norm for n in row[a + 1 : b]) for a, b in zip(group, group[1:], strict=False)]
    return any("and" in g for g in glue) and all(g in ((",",), ("and",), (",", "and"), ("and", "the")) for g in glue)
