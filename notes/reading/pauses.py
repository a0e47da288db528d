"""Marks that a listener left out, put back where people who write them put them.

Speech engines write some memos with few marks or none ('toilet's in cold to the cistern fifteen connected'), others as
one sentence of commas. Every gap between two words is weighed by what stands around it: the words, and their classes (a
pipe, a size, a room, a verb). The weights in data/pauses.csv are learned by tests/bench/pauses.py from memos that were
written with their marks; where the sum is high enough a comma without width stands in the row, or a comma is an end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from notes.lexicon import data_rows
from notes.reading.actions import verb_forms
from notes.reading.breaths import LONG
from notes.reading.mentions import NAME_KINDS, PIPE_KINDS, Node
from notes.reading.wordlists import words

SHORT = 7
"""Nodes between two marks below which no mark is missed."""
COMMA_BAR, STOP_BAR = 0.0, 0.0
WRITTEN, SURE = 24, 50
"""Words to a comma that a person writes, at most; words without one that say for sure that commas are lacking."""
HEARD, TYPED = (8, 1.0), (32, 4.0)
"""Words that need no comma, and how much surer the first one after them must be, in what a machine heard and a person
typed."""
ENDS = frozenset((".", "?", "!", ";"))
_FINITE = frozenset("is 's are was were am has have had will wants want needs need goes comes runs did does do".split())
_SUBJECT = frozenset("i we he she they it that there you this".split())
_TO = frozenset(
    "to at by in on under behind for off from near beside above below into onto with through over up down out of round "
    "along across".split()
)
_NOUNS = NAME_KINDS | {"qty", "material", "room", "head"}
_SKIPPED = words("leads-thing") | words("possessors") | {"and", "for"}


def paused(row: Sequence[Node], heard: bool = False) -> list[Node]:
    """The row with the marks that it lacks; what a machine `heard` lacks them sooner than what was typed."""
    return _with_stops(_with_commas(row, _bar(row, *(HEARD if heard else TYPED))))


def _with_commas(row: Sequence[Node], bar: float) -> list[Node]:
    if bar == math.inf:
        return list(row)
    out: list[Node] = []
    for start, end in stretches(row):
        part = row[start:end]
        out += part if end - start < SHORT else _parted(part, bar)
        out += row[end : end + 1]
    return out


def _bar(row: Sequence[Node], few: int, unsure: float) -> float:
    """How sure a comma must be: the less, the more words there are without the commas that people write."""
    lacking = len(row) - WRITTEN * sum(n.norm == "," for n in row)
    return COMMA_BAR + unsure * max(0.0, 1 - lacking / SURE) if lacking >= few else math.inf


def stretches(row: Sequence[Node]) -> Iterator[tuple[int, int]]:
    """Half-open ranges of nodes between marks."""
    start = 0
    for i in range(len(row) + 1):
        if i == len(row) or row[i].kind == "mark":
            yield start, i
            start = i + 1


def _with_stops(row: Sequence[Node]) -> list[Node]:
    """The row with full stops for commas, in sentences that are longer than people write them."""
    weights, out = _weights()["stop"], list(row)
    for start, end in sentences_of(row):
        if end - start <= LONG:
            continue
        part, at = unmarked(row[start:end])
        bar, last = STOP_BAR + TYPED[1] * max(0.0, 2 - (end - start) / LONG), 0
        for i in sorted(at):
            if _goes_on(part, i, at):
                continue
            if sum(weights.get(f, 0.0) for f in features(part, i, last)) > bar:
                mark = row[start + at[i]]
                out[start + at[i]] = Node("mark", ".", mark.start, mark.end)
                last = i
    return out


def _goes_on(part: Sequence[Node], i: int, at: dict[int, int]) -> bool:
    """Whether node i only adds: '..., copper, twenty-five', 'connected it, flow and return', '..., capped'."""
    if part[i].kind in ("material", "qty"):
        return part[i].kind == "material" or i + 1 in at or part[min(i + 1, len(part) - 1)].kind == "material"
    stop = next((j for j in range(i + 1, len(part)) if j in at), len(part))
    if stop - i < 3 and (part[i].norm in _STATES or _class(part, i) == "done"):
        return True
    back = max((j for j in at if j < i), default=0)
    headed = all(n.kind in NAME_KINDS or n.norm in _LEADS for n in part[back:i])
    if headed and any(n.kind in NAME_KINDS for n in part[back:i]) and _THEM & {n.norm for n in part[i:stop]}:
        # 'and that waste, I ain't glued it'
        return True
    named = all(n.kind in PIPE_KINDS or n.norm in _SKIPPED for n in part[i:stop])
    # 'the shower's been connected, hot and cold, and ...', but 'hot and cold, fifteen, ...' heads what follows
    whole = _class(part, i - 1) == "done" and (stop == len(part) or part[stop].norm in _JOINTS)
    return named and (part[i - 1].norm in _MEANT or whole)


_JOINTS = words("joints")
_STATES = frozenset("wide open still not".split())


_LEADS = _SKIPPED | {"that", "those", "them", "this", "oh", "then", "so"}
_THEM = frozenset("it them both".split())
_MEANT = frozenset("it them both these those all sides".split())


def sentences_of(row: Sequence[Node]) -> list[tuple[int, int]]:
    """Half-open ranges of nodes between marks that end a sentence."""
    ends = [i for i, n in enumerate(row) if n.norm in ENDS]
    return list(zip([0, *(i + 1 for i in ends)], [*ends, len(row)], strict=True))


def unmarked(row: Sequence[Node]) -> tuple[list[Node], dict[int, int]]:
    """The row without its marks, and for the nodes that a mark stood before: where in the row it stood."""
    part: list[Node] = []
    at: dict[int, int] = {}
    for n, node in enumerate(row):
        if node.kind != "mark":
            part.append(node)
        elif part:
            at[len(part)] = n
    at.pop(len(part), None)
    return part, at


def _parted(part: Sequence[Node], bar: float) -> list[Node]:
    weights = _weights()["comma"]
    out, last = [part[0]], 0
    for i in range(1, len(part)):
        if sum(weights.get(f, 0.0) for f in features(part, i, last)) > bar:
            out.append(Node("mark", ",", part[i - 1].end, part[i - 1].end))
            last = i
        out.append(part[i])
    return out


@lru_cache(maxsize=1)
def _weights() -> dict[str, dict[str, float]]:
    rows = data_rows("pauses.csv")
    return {mark: {r["around"]: float(r[mark]) for r in rows if r[mark]} for mark in ("comma", "stop")}


def features(part: Sequence[Node], i: int, last: int) -> list[str]:
    """What stands around the gap before node i; `last` the first node after the comma before it."""
    a2, a1, b1, b2 = (_say(part, i + k) for k in (-2, -1, 0, 1))
    c2, c1, d1, d2 = (_class(part, i + k) for k in (-2, -1, 0, 1))
    done = part[last:i]
    state = ("f" if any(n.norm in _FINITE for n in done) else "-") + ("n" if _named(done) else "-")
    ahead = _ahead(part, i)
    far = min(i - last, 8)
    words_, classes = f"{a1}|{b1}", f"{c1}|{d1}"
    return [
        "", f"<{a1}", f">{b1}", f"<{a2}_", f">_{b2}", words_, f"{a2} {a1}|", f"|{b1} {b2}", f"{a2} {words_}",
        f"{words_} {b2}", f"~{classes}", f"~{c2} {classes} {d2}", f"~{c2} {classes}", f"~{classes} {d2}",
        f"={state} {ahead}", f"={state} {classes}", f"={ahead} {classes}", f"={ahead} {a1}", f"={state} {b1}",
        f"#{far}", f"#{far} {ahead}", f"={state} {ahead} {c1}", f"^{_qty(done)} {classes}",
    ]  # fmt: skip


def _named(done: Sequence[Node]) -> bool:
    return any(n.kind in NAME_KINDS for n in done)


def _qty(done: Sequence[Node]) -> str:
    return "q" if any(n.qty is not None for n in done) else "-"


def _say(part: Sequence[Node], i: int) -> str:
    if not 0 <= i < len(part):
        return "."
    return part[i].norm if part[i].tag == "W" else part[i].tag


def _class(part: Sequence[Node], i: int) -> str:
    if not 0 <= i < len(part):
        return "."
    node = part[i]
    return node.tag if node.tag != "W" else _word_class(node.norm)


@lru_cache(maxsize=4096)
def _word_class(norm: str) -> str:
    for name, listed in _classes().items():
        if norm in listed:
            return name
    return "ed" if norm.endswith("ed") else "ing" if norm.endswith("ing") else "ly" if norm.endswith("ly") else "w"


@lru_cache(maxsize=1)
def _classes() -> dict[str, frozenset[str]]:
    done, base = (frozenset(w for w, forms in verb_forms().items() if f in forms) for f in ("done", "base"))
    return {
        "be": _FINITE, "subj": _SUBJECT, "det": words("articles") | words("possessors"), "prep": _TO,
        "joint": words("joints") | {"or", "that"}, "not": frozenset(("not", "no", "never", "nothing", "none")),
        "both": frozenset(("both", "all", "each", "two", "three", "everything")),
        "done": done, "base": base,
    }  # fmt: skip


def _ahead(part: Sequence[Node], i: int) -> str:
    """What opens at node i: a name that something is said of, a name alone, somebody, or neither."""
    if part[i].norm in _SUBJECT:
        return "sv" if i + 1 < len(part) and part[i + 1].norm in _FINITE else "s"
    named, j = False, i
    while j < len(part) and (part[j].kind in _NOUNS or part[j].norm in _SKIPPED):
        named = named or part[j].kind in NAME_KINDS
        j += 1
    if j == i:
        return "-"
    verb = "." if j == len(part) else "v" if part[j].norm in _FINITE else _word_class(part[j].norm)
    return ("N" if named else "d") + verb
