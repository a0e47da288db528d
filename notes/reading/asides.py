"""What is put into a sentence while speaking and tells nothing: 'er', 'as you know', 'the the', '(don't ask)'.

The row of nodes without it reads as if it had not been said; the words that a fact quotes stay whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import takewhile

from notes.reading import scope
from notes.reading.actions import acts
from notes.reading.mentions import NAME_KINDS, Node, begins
from notes.reading.wordlists import pattern, words

_AUXILIARY, _GOES_ON, _TWICE = words("auxiliary"), words("goes-on"), words("meant-twice")
_BE = frozenset(("is", "'s", "are", "was", "were", "has", "have"))
_TELLS = _BE | {"wants", "want", "needs", "need"}
_NAMED = NAME_KINDS | {"room"}
_PASSIVE = frozenset(("is", "are", "was", "were", "be", "been"))
_NAMES = words("articles") | words("possessors")
_OPEN = _AUXILIARY | words("possessors") | words("agents") | {"to", "wants", "want", "of", "and", "never"}
"""A clause does not end in it."""
_CLOSED_BY = {",": ",", "-": "-", "—": "—", "–": "–", "(": ")"}
_MARKS = frozenset((*_CLOSED_BY, ")"))
_ENDS = frozenset((".", "?", "!", ";"))
_JOINTS = words("joints") - {"which", "who", "if"}
_PUT_RIGHT = pattern("taken-back", "^(no |er |sorry |well |oh )*")
_WEIGHS = frozenset(("unsure", "dropped", "future", "void"))
_LONGEST = 9
"""Words in an aside that nobody listed."""
_NEAR = 6
"""Words after an aside that work before it may take in."""
_AGAIN = 6
"""Words that somebody says once more when starting again."""


def without_asides(row: Sequence[Node]) -> list[Node]:
    """The row without hesitations, phrases that tell nothing, asides between marks, and words said twice."""
    return _once(_without_unlisted(_without_listed(row)))


@lru_cache(maxsize=1)
def _listed() -> dict[str, list[tuple[tuple[str, ...], str]]]:
    """First word -> phrases, longest first, and where they tell nothing."""
    table: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for name, where in (("aside", ""), ("aside-fenced", "fenced"), ("aside-in-verb", "verb")):
        for phrase in words(name):
            parts = tuple(phrase.split("_"))
            table.setdefault(parts[0], []).append((parts, where))
    return {first: sorted(rows, key=lambda r: -len(r[0])) for first, rows in table.items()}


def _without_listed(row: Sequence[Node]) -> list[Node]:
    out: list[Node] = []
    i = 0
    while i < len(row):
        end = _topic(row, i, out) or _phrase_end(row, i, out)
        if end is None:
            out.append(row[i])
            i += 1
            continue
        i = _joined_up(out, row, end)
    return out


def _phrase_end(row: Sequence[Node], i: int, ahead: Sequence[Node]) -> int | None:
    """Where a listed phrase that begins at node i ends."""
    for parts, where in _listed().get(row[i].norm, ()):
        end = i + len(parts)
        if not begins(row, i, parts):
            continue
        after = row[end] if end < len(row) else None
        opens, closes = (
            not ahead or ahead[-1].kind == "mark",
            after is None or (after.kind == "mark" and after.norm != "?"),
        )
        in_verb = not opens and ahead[-1].norm in _AUXILIARY and after is not None and after.norm not in _NAMES
        # 'Is the oil clipped? Yes.'
        answers = bool(ahead) and ahead[-1].norm == "?"
        if {"": True, "fenced": opens and closes and not answers, "verb": in_verb}[where]:
            return end
    return None


def _topic(row: Sequence[Node], i: int, ahead: Sequence[Node]) -> int | None:
    """'as for the pump, it needs fitting': where the words end that only say what comes next."""
    if row[i].norm not in _TOPIC_OPENS:
        return None
    end = next((i + len(p) for p in _TOPICS if begins(row, i, p)), None)
    if end is None or (ahead and ahead[-1].kind != "mark"):
        return None
    names = next((j for j in range(end, min(end + 4, len(row))) if row[j].norm not in _NAMES), end)
    while names < len(row) and (row[names].kind in _NAMED or row[names].norm in ("and", "old", "new", *_NAMES)):
        names += 1
    named = names > end and row[names - 1].kind in NAME_KINDS
    return end if named and names < len(row) and row[names].norm == "," else None


_TOPICS = tuple(tuple(p.split("_")) for p in words("topics"))
_TOPIC_OPENS = frozenset(p[0] for p in _TOPICS)


def _joined_up(out: list[Node], row: Sequence[Node], end: int) -> int:
    """Take away the marks round an aside that ends before node `end`, but one that parts two clauses."""
    opened, closed = bool(out) and out[-1].norm in _MARKS, end < len(row) and row[end].norm in _MARKS
    ahead = out[:-1] if opened else out
    first = not ahead or ahead[-1].norm in _ENDS
    last = end >= len(row) or row[end].norm in _ENDS
    if (opened or closed) and not (first or last) and not _one_clause(ahead, row[end + closed :]):
        return end + (opened and closed)
    if opened:
        out.pop()
    return end + closed


def _one_clause(ahead: Sequence[Node], after: Sequence[Node]) -> bool:
    """Whether what stands on both sides of an aside is one clause: 'I've ordered | the cylinder'."""
    return bool(after) and (
        after[0].norm in _GOES_ON or _unfinished(ahead, after) or _parted(ahead, after) or _spanned(ahead, after)
    )


def _unfinished(ahead: Sequence[Node], after: Sequence[Node]) -> bool:
    if not ahead or not after:
        return False
    # 'we've to bleed the heating still | I took the boiler out'
    anew = ahead[-1].norm == "still" and after[0].norm in _AGENTS
    if (ahead[-1].norm in _OPEN and not anew) or (ahead[-1].qty is not None and after[0].kind == "item"):
        return True
    left = _back_to_mark(ahead)
    if any(n.kind != "word" for n in left) or not (after[0].norm in _NAMES or after[0].kind in _NAMED):
        return False
    # a verb that still wants what it is done to
    active = not _PASSIVE & {n.norm for n in left} or left[-1].norm.endswith("ing")
    return active and any(a.start < len(left) <= a.end for a in acts([*left, *after[:5]]))


_AGENTS = words("agents") | {"the"}


def _back_to_mark(row: Sequence[Node]) -> list[Node]:
    start = len(row)
    while start and row[start - 1].kind != "mark":
        start -= 1
    return list(row[start:])


def _without_unlisted(row: Sequence[Node]) -> list[Node]:
    out: list[Node] = []
    i = 0
    while i < len(row):
        end = _aside_end(row, i) if row[i].norm in _CLOSED_BY and out else None
        if (
            end is not None
            and _tells_nothing(row[i + 1 : end])
            and _let_in(row[i].norm, row[i + 1].norm in _JOINTS, out, row[end + 1 :])
        ):
            i = end + 1
            continue
        out.append(row[i])
        i += 1
    return out


def _aside_end(row: Sequence[Node], i: int) -> int | None:
    """The mark that closes what the mark at node i opens, where only plain words stand between."""
    close = _CLOSED_BY[row[i].norm]
    for j in range(i + 1, min(i + 2 + _LONGEST, len(row))):
        if row[j].norm == close:
            return j if j > i + 1 else None
        if row[j].kind != "word" and row[j].norm != "one":
            return None
    return None


def _tells_nothing(row: Sequence[Node]) -> bool:
    """Whether words are no work, no doubt, no day, and put nothing right."""
    if len(row) < 2 or _PUT_RIGHT.match(" ".join(n.norm for n in row)):
        return False
    return not acts(row) and not any(c.cue.status in _WEIGHS for c in scope.found(row))


def _let_in(mark: str, joint: bool, ahead: Sequence[Node], after: Sequence[Node]) -> bool:
    """Whether the words on both sides need each other, or brackets stand round what is between."""
    if joint and not (ahead and ahead[-1].norm in _OPEN):
        return False
    if mark == "(" or _unfinished(ahead, after) or (bool(after) and after[0].norm == "of"):
        return True
    return _parted(ahead, after) or _spanned(ahead, after)


def _spanned(ahead: Sequence[Node], after: Sequence[Node]) -> bool:
    """Whether words of one piece of work stand on both sides: 'lifted the radiator | off', 'clips | have come'."""
    left = _back_to_mark(ahead)
    right = list(takewhile(lambda n: n.kind != "mark", after[:_NEAR]))
    if any(n.qty is not None for n in right[:1]):
        return False
    spanning = {(a.start, a.action) for a in acts([*left, *right]) if a.start < len(left) < a.end}
    if not spanning:
        return False
    # 'somebody order a new valve | the rad is up': whole without what follows
    told = {(a.start, a.action) for a in acts(left) if any(n.kind != "word" for n in left[a.start :])}
    return not spanning <= told


def _parted(ahead: Sequence[Node], after: Sequence[Node]) -> bool:
    """Whether a name stands before and what is told of it after: 'the pump | is on'."""
    left = _back_to_mark(ahead)
    told = any(n.norm in _BE for n in left) or bool(acts(left))
    return bool(after) and after[0].norm in _TELLS and bool(left) and left[-1].kind != "word" and not told


def _once(row: Sequence[Node]) -> list[Node]:
    """The row without words said twice: 'the the hot', 'I've, I've capped it', 'the boiler's, the boiler's come'."""
    out: list[Node] = []
    i = 0
    while i < len(row):
        i = _again(row, i) or i
        out.append(row[i])
        i += 1
    return out


def _again(row: Sequence[Node], i: int) -> int | None:
    """Where the words from node i are said once more straight after."""
    if row[i].kind in ("word", "mark") and row[i].norm not in [n.norm for n in row[i + 1 : i + _AGAIN + 2]]:
        return None
    for j in range(min(i + _AGAIN + 1, len(row) - 1), i, -1):
        if not _begins(row[j], row[i]):
            continue
        end = j - 1 if row[j - 1].norm in _MARKS and j - 1 > i else j
        said, anew = [n.norm for n in row[i:end]], row[j : j + end - i]
        if said[:-1] != [n.norm for n in anew[:-1]] or len(anew) < len(said) or not _begins(anew[-1], row[end - 1]):
            continue
        if any(n.kind == "mark" for n in row[i:end]):
            continue
        alone = row[i].kind not in ("mark", "qty") and said[0] not in _TWICE
        if len(said) > 1 or (alone and (end == j or said[0] in _NAMES) and said[0][0].isalpha()):
            return j
    return None


def _begins(node: Node, other: Node) -> bool:
    """Whether a node says another once more, or in full: 'the hot hot return'."""
    if node.norm == other.norm:
        return True
    return node.kind == other.kind != "word" and node.norm.startswith(other.norm + "_")
