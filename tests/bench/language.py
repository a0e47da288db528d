"""How well and how fast the language part reads the labelled scenarios. Run by hand:

uv run python tests/bench/language.py [--misses]
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from dictation import Scenario, as_rows, folders, memo_of, readings, scenario
from scoring import Score, Tally, core, scored

from notes.model import ACTIONS, Status
from notes.reading import Carry, read

BARS = {
    "core": 0.90, "full": 0.86, "slot material": 0.95, "words place": 0.75, "words from": 0.75, "words to": 0.75,
}  # fmt: skip
SPEED = 100
"""Memos a second on one core, of 120 words each."""
KINDS = ("dev", "own", "retold")


def main() -> None:
    scores = {kind: _score(map(scenario, folders(kind))) for kind in KINDS}
    _table(scores)
    _by_scenario()
    for what in ("action", "status"):
        _precision_and_recall(what, ACTIONS if what == "action" else tuple(Status), scores)
    _confusions(scores)
    _speed()
    if "--misses" in sys.argv:
        _misses(scores)


def _score(scenarios: Iterable[Scenario]) -> Score:
    return scored((memo["facts"], as_rows(r.facts)) for each in scenarios for memo, r in readings(each))


def _line(name: str, tally: Tally) -> str:
    share = f"{tally.hit:.0f} of {tally.gold}, {tally.found} found"
    return f"P {tally.precision:.3f}  R {tally.recall:.3f}  F1 {tally.f1:.3f}  ({share})"


def _table(scores: dict[str, Score]) -> None:
    for kind in KINDS:
        print(f"\n{kind} scenarios")
        score = scores[kind]
        for name, tally in score.tallies.items():
            if name.startswith(("action", "status")) or not tally.gold:
                continue
            bar = f"  bar {BARS[name]:.2f}" if name in BARS else ""
            print(f"  {name:18} {_line(name, tally)}{bar}")
        print(f"  {'wrong sizes':18} {score.wrong_sizes} of {score.told_sizes} told", end="")
        print(f" ({100 * score.wrong_sizes / max(1, score.told_sizes):.1f} %)  bar 1 %")


def _by_scenario() -> None:
    print("\ncore and full F1 by scenario")
    for kind in KINDS:
        for folder in folders(kind):
            tallies = _score([scenario(folder)]).tallies
            print(f"  {folder.name:18} {tallies['core'].f1:.3f}  {tallies['full'].f1:.3f}")


def _precision_and_recall(what: str, names: Iterable[str], scores: dict[str, Score]) -> None:
    print(f"\nby {what:16}" + "".join(f"{kind:>8} P      R    (n)" for kind in KINDS))
    for name in names:
        row = [scores[kind].tallies.get(f"{what} {name}", Tally()) for kind in KINDS]
        cells = (f"{t.precision:10.3f}  {t.recall:5.3f} {t.gold:5}" if t.gold or t.found else " " * 23 for t in row)
        print(f"  {name:16}" + "".join(cells))


def _confusions(scores: dict[str, Score]) -> None:
    """What was read in the place of what was said, by the words that say it; '-' is nothing."""
    mixed: Counter[tuple[str, str]] = Counter()
    for score in scores.values():
        left = list(score.invented)
        for gold in score.missed:
            near = next((f for f in left if _near(gold, f)), None)
            if near is not None:
                left.remove(near)
            mixed[_differ(gold, near)] += 1
        mixed.update(("-", _words(f)) for f in left)
    print("\ncommonest confusions (said -> read)")
    for (said, found), many in mixed.most_common(20):
        print(f"  {many:3}  {said} -> {found}")


def _near(gold: dict[str, Any], found: dict[str, Any]) -> bool:
    same = sum(a == b for a, b in zip(core(gold), core(found), strict=True))
    return same == 2 and bool(set(gold["quote"].lower().split()) & set(str(found["quote"]).lower().split()))


def _words(fact: dict[str, Any]) -> str:
    return f"{fact['action']} {fact['status']}"


def _differ(gold: dict[str, Any], found: dict[str, Any] | None) -> tuple[str, str]:
    if found is None:
        return _words(gold), "-"
    if gold["subject"] != found["subject"]:
        return gold["subject"], found["subject"]
    return _words(gold), _words(found)


def _speed() -> None:
    """CPU time of memos of 120 words, made of the scenarios' own, the fastest of three rounds."""
    lots = []
    for folder in (f for kind in KINDS for f in folders(kind)):
        each = scenario(folder)
        words = " ".join(memo["text"] for memo in each.memos).split()
        texts = [" ".join(words[i : i + 120]) for i in range(0, len(words) - 120, 120)]
        lots += [(each.lexicon, memo_of({**each.memos[0], "text": text})) for text in texts]
    rounds = []
    for _ in range(3):
        start = time.process_time()
        for lexicon, memo in lots:
            read(memo, lexicon, Carry())
        rounds.append(time.process_time() - start)
    rate = len(lots) / min(rounds)
    print(f"\n{rate:.0f} memos of 120 words a second on one core (bar {SPEED})")


def _misses(scores: dict[str, Score]) -> None:
    for kind, score in scores.items():
        for name, facts in (("missed", score.missed), ("invented", score.invented)):
            for fact in facts:
                print(f"{kind:4} {name:9} {core(fact)} {fact['quote']!r}")


if __name__ == "__main__":
    main()
