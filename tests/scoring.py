"""Scores of what was read against what a careful reader finds: the formulas of tests/gold/GUIDE.md."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

SLOTS = ("size_mm", "to_size_mm", "material", "pressure_bar", "duration_min", "length_m", "count")
WORDS = ("place", "from", "to")
_STOP = frozenset(("the", "a", "an", "of", "in", "at", "to", "on", "and", "by", "where"))
Row = dict[str, Any]
Pair = tuple[Row, Row]


@dataclass
class Tally:
    """Hits, of how many there are, of how many were found."""

    hit: float = 0
    gold: int = 0
    found: int = 0

    def add(self, hit: float, gold: int, found: int) -> None:
        self.hit, self.gold, self.found = self.hit + hit, self.gold + gold, self.found + found

    @property
    def precision(self) -> float:
        return self.hit / max(1, self.found)

    @property
    def recall(self) -> float:
        return self.hit / max(1, self.gold)

    @property
    def f1(self) -> float:
        p, r = self.precision, self.recall
        return 2 * p * r / max(1e-9, p + r)


@dataclass
class Score:
    """Tallies by name: core, full, 'slot ...', 'words ...', 'action ...', 'status ...'; and what was mixed up."""

    tallies: dict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))
    missed: list[Row] = field(default_factory=list)
    invented: list[Row] = field(default_factory=list)
    wrong_sizes: int = 0
    told_sizes: int = 0


def words(text: object) -> set[str]:
    return set(re.findall(r"[a-z0-9]+", str(text or "").lower())) - _STOP


def overlap(gold: object, found: object) -> float:
    a, b = words(gold), words(found)
    return 1.0 if not a and not b else 2 * len(a & b) / max(1, len(a) + len(b))


def core(fact: Row) -> tuple[str, str, str]:
    return fact["subject"], fact["action"], fact["status"]


def paired(gold: Sequence[Row], found: Sequence[Row], key: Callable[[Row], object] = core) -> list[Pair]:
    """One-to-one pairs of facts with the same key, the most alike first."""
    options = sorted((_unlike(g, f), i, j) for i, g in enumerate(gold) for j, f in enumerate(found) if key(g) == key(f))
    used: tuple[set[int], set[int]] = set(), set()
    pairs = []
    for _, i, j in options:
        if i not in used[0] and j not in used[1]:
            used[0].add(i)
            used[1].add(j)
            pairs.append((gold[i], found[j]))
    return pairs


def _unlike(gold: Row, found: Row) -> float:
    slots = sum(gold.get(slot) == found.get(slot) for slot in SLOTS)
    return -(gold.get("room") == found.get("room")) - slots / 10 - overlap(gold.get("quote"), found.get("quote"))


def scored(memos: Iterable[tuple[Sequence[Row], Sequence[Row]]]) -> Score:
    """The score over memos of (labelled facts, facts read)."""
    score = Score()
    for gold, found in memos:
        pairs = paired(gold, found)
        _count(score, gold, found, pairs)
        for slot in SLOTS:
            right = sum(g.get(slot) is not None and g.get(slot) == f.get(slot) for g, f in pairs)
            score.tallies[f"slot {slot}"].add(right, _said(pairs, 0, slot), _said(pairs, 1, slot))
        for slot in WORDS:
            share = sum(overlap(g[slot], f.get(slot)) for g, f in pairs if g.get(slot))
            score.tallies[f"words {slot}"].add(share, _said(pairs, 0, slot), _said(pairs, 1, slot))
        score.told_sizes += _said(pairs, 1, "size_mm")
        score.wrong_sizes += sum(f.get("size_mm") not in (None, g.get("size_mm")) for g, f in pairs)
    return score


def _said(pairs: Sequence[Pair], side: int, slot: str) -> int:
    return sum(pair[side].get(slot) not in (None, "") for pair in pairs)


def _count(score: Score, gold: Sequence[Row], found: Sequence[Row], pairs: Sequence[Pair]) -> None:
    score.tallies["core"].add(len(pairs), len(gold), len(found))
    in_room = sum(g.get("room") == f.get("room") for g, f in pairs)
    score.tallies["full"].add(in_room, len(gold), len(found))
    hit = {id(g) for g, _ in pairs}, {id(f) for _, f in pairs}
    for name in ("action", "status"):
        for fact in gold:
            score.tallies[f"{name} {fact[name]}"].add(id(fact) in hit[0], 1, 0)
        for fact in found:
            score.tallies[f"{name} {fact[name]}"].add(0, 0, 1)
    score.missed += [fact for fact in gold if id(fact) not in hit[0]]
    score.invented += [fact for fact in found if id(fact) not in hit[1]]
