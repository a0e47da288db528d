"""Logistic regression over names that stand or don't, by FTRL-Proximal: what helps little gets no weight."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple


class Row(NamedTuple):
    """What stands there, by name, whether it is so, and what the row counts."""

    names: Sequence[str]
    so: bool
    counts: float = 1.0


def learn(
    told: Iterable[Row], *, rounds: int = 8, rate: float = 0.15, pull: float = 15, seen: int = 5, least: float = 0.05
) -> dict[str, float]:
    """Weights by name: log odds, to a hundredth.

    `rounds` over all rows; `rate`: how fast weights move; `pull`: how much one must help to be kept; `seen`: how often
    it must be met; `least`: the least that is kept.
    """
    rows = list(told)
    often = Counter(name for row in rows for name in row.names)
    kept = [Row([n for n in row.names if often[n] >= seen], row.so, row.counts) for row in rows]
    weights: dict[str, float] = {}
    pushed: dict[str, float] = {}
    grown: dict[str, float] = {}
    rng = random.Random(1)
    for _ in range(rounds):
        rng.shuffle(kept)
        for names, so, counts in kept:
            wrong = (likely(weights, names) - so) * counts
            for n in names:
                before = grown.get(n, 0.0)
                grown[n] = before + wrong * wrong
                rise = (math.sqrt(grown[n]) - math.sqrt(before)) / rate
                push = pushed[n] = pushed.get(n, 0.0) + wrong - rise * weights.get(n, 0.0)
                if abs(push) <= pull:
                    weights.pop(n, None)
                else:
                    weights[n] = (math.copysign(pull, push) - push) * rate / (1 + math.sqrt(grown[n]))
    return {n: round(w, 2) for n, w in weights.items() if abs(w) >= least}


def likely(weights: dict[str, float], names: Iterable[str]) -> float:
    """The odds of it, 0 to 1."""
    return 1 / (1 + math.exp(-sum(weights.get(n, 0.0) for n in names)))
