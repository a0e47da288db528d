"""Learns the weights of notes/data/pauses.csv from memos that were written with their marks.

`uv run python tests/bench/pauses.py [NAME ..]` leaves the scenarios NAME out, to see how it does on them.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from dictation import KEPT, folders, scenario  # noqa: E402
from ftrl import Row, learn  # noqa: E402

from notes.reading.mentions import Node, nodes  # noqa: E402
from notes.reading.pauses import ENDS, features, sentences_of, unmarked  # noqa: E402

Gap = tuple[list[str], bool]


def gaps(row: list[Node]) -> list[Gap]:
    """What stands around every gap where no mark is heard, and whether one stood there; also of single sentences."""
    out = _gaps(row)
    for start, end in sentences_of(row):
        out += _gaps(row[start:end])
    return out


def _gaps(row: list[Node]) -> list[Gap]:
    part, at = unmarked(row)
    out, last = list[Gap](), 0
    for i in range(1, len(part)):
        out.append((features(part, i, last), i in at))
        last = i if i in at else last
    return out


def stops(row: list[Node]) -> list[Gap]:
    """What stands around every mark of a memo, and whether it ends a sentence."""
    part, at = unmarked(row)
    out, last = list[Gap](), 0
    for i in sorted(at):
        ends = row[at[i]].norm in ENDS
        out.append((features(part, i, last), ends))
        last = i if ends else last
    return out


def told_by(names: list[str], leave_out: list[str], what: Callable[[list[Node]], list[Gap]]) -> list[Gap]:
    out: list[Gap] = []
    for folder in folders("own") + folders("dev"):
        if folder.name in KEPT or (folder.name in leave_out) != (not names):
            continue
        for memo in scenario(folder).memos:
            out += what(nodes(memo["text"], scenario(folder).lexicon))
    return out


def main() -> None:
    left_out = sys.argv[1:]
    learned = {}
    for mark, what in (("comma", gaps), ("stop", stops)):
        weights = learned[mark] = learn(Row(*gap) for gap in told_by(["rest"], left_out, what))
        for bar in (-1.0, -0.5, 0.0, 0.5, 1.0) if left_out else ():
            right = wrong = missed = 0
            for names, there in told_by([], left_out, what):
                put = sum(weights.get(n, 0.0) for n in names) > bar
                right, wrong, missed = right + (put and there), wrong + (put > there), missed + (there > put)
            print(f"{mark}, bar {bar}: right {right}, wrong {wrong}, missed {missed}")
        print(f"{mark}: {len(weights)} weights")
    with Path("notes/data/pauses.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["around", *learned])
        rows.writerows([n, *(w.get(n, "") for w in learned.values())] for n in sorted(set().union(*learned.values())))


if __name__ == "__main__":
    main()
