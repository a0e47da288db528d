"""Learns notes/data/belief.csv and worked.csv: which of the facts that rules find are to be believed.

    uv run python tests/bench/belief.py [--try]

What rules get wrong shows where they were not made: tests/bench/first_sight.csv has every fact that was found in
scenarios when they were read for the first time, with what spoke for it (`belief.features`) and whether it was right.
Scenarios that rules were mended by count less, single sentences least: what is found there is right. `--try` leaves one
scenario after the other out of first_sight.csv and says how many wrong and right facts would be left out there.
"""

from __future__ import annotations

import csv
import sys
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from dictation import GOLD, as_rows, folders, readings, scenario, told  # noqa: E402
from ftrl import Row, learn  # noqa: E402
from scoring import paired  # noqa: E402

import notes.reading.facts as told_facts  # noqa: E402
from notes.reading import belief  # noqa: E402
from notes.reading.event import Event  # noqa: E402
from notes.reading.said import Said  # noqa: E402

HERE = Path(__file__).parent
DATA = HERE.parents[1] / "notes" / "data"
KEPT = ("almshouse", "brewery", "smokehouse", "retold/hotel")
"""Never read: they say how well we do."""
KNOWN, SENTENCE = 1.0, 0.15
"""What a fact of a known scenario as read now counts, and one of a single sentence; one of first sight counts 1."""


class Found(NamedTuple):
    """A fact that rules found: where, whether rightly, its words of work, what speaks for it."""

    scenario: str
    right: bool
    words: str
    names: tuple[str, ...]


def watched() -> list[tuple[Said, Event]]:
    """From here on every event read, with its sentence, is put into the list that is returned."""
    events: list[tuple[Said, Event]] = []
    read_sentence = told_facts.read_sentence

    def watching(said: Said) -> list[Event]:
        found = read_sentence(said)
        events.extend((said, event) for event in found)
        return found

    told_facts.read_sentence = watching  # type: ignore[assignment]
    return events


def found_in(name: str, folder: Path, events: list[tuple[Said, Event]]) -> Iterator[Found]:
    """Every fact that rules find in a scenario."""
    reading = readings(scenario(folder), believed_only=False)
    while True:
        events.clear()
        if (pair := next(reading, None)) is None:
            return
        memo, one = pair
        rows = as_rows(one.facts)
        right = {id(row) for _, row in paired(memo["facts"], rows)}
        by_start = {
            (e.action, e.status, key, said.row[e.span[0]].start): (said, e) for said, e in events for key in e.keys
        }
        for fact, row in zip(one.facts, rows, strict=True):
            if (hit := by_start.get((fact.action, fact.status, fact.subject, fact.start))) is not None:
                yield _found(name, id(row) in right, *hit)


def _found(name: str, right: bool, said: Said, event: Event) -> Found:
    names = tuple(n for n in belief.features(said, event) if not n.startswith("heard "))
    return Found(name, right, said.joined(event.act.start, event.act.end), names)


def known(events: list[tuple[Said, Event]]) -> list[Found]:
    out: list[Found] = []
    for folder in (f for kind in ("own", "dev", "retold") for f in folders(kind)):
        name = folder.relative_to(GOLD).as_posix()
        out += found_in(name, folder, events) if name not in KEPT else ()
    return out


def sentences(events: list[tuple[Said, Event]]) -> list[Found]:
    raw = tomllib.loads((HERE.parent / "reading_examples.toml").read_text(encoding="utf-8"))
    out: list[Found] = []
    for say in (say for name, section in raw.items() if name != "known_gap" for say in section):
        events.clear()
        told(say)
        out += [_found("", True, *one) for one in events]
    return out


def first_sight() -> list[Found]:
    with (HERE / "first_sight.csv").open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        return [Found(r["scenario"], r["right"] == "1", r["words"], tuple(r["names"].split("|"))) for r in rows]


class Worked:
    """How often words were work in the known scenarios, but for those of one scenario."""

    def __init__(self, rows: list[Found]) -> None:
        self.all, self.of = Counter[str](), defaultdict[str, Counter[str]](Counter)
        for row in rows:
            self.all[row.words] += row.right
            self.of[row.scenario][row.words] += row.right

    def row(self, found: Found, counts: float) -> Row:
        often = self.all[found.words] - self.of[found.scenario][found.words]
        return Row([*found.names, f"heard {belief.often(often)}", ""], found.right, counts)


def main() -> None:
    events = watched()
    old, new, plain = known(events), first_sight(), sentences(events)
    worked = Worked(old)
    rows = [(r, KNOWN) for r in old] + [(r, SENTENCE) for r in plain] + [(r, 1.0) for r in new]
    if "--try" in sys.argv:
        _tried(new, worked, rows)
    weights = _learned(worked, rows)
    _write(DATA / "belief.csv", ("name", "weight"), sorted(weights.items()))
    counts = sorted((words, n) for words, n in worked.all.items() if n > 0)
    _write(DATA / "worked.csv", ("words", "count"), counts)
    print(f"{len(weights)} weights, {len(counts)} ways to name work")


def _learned(worked: Worked, rows: list[tuple[Found, float]]) -> dict[str, float]:
    return learn([worked.row(*row) for row in rows], pull=2, seen=4, least=0.03)


def _tried(new: list[Found], worked: Worked, rows: list[tuple[Found, float]]) -> None:
    out = Counter[bool]()
    for name in sorted({r.scenario for r in new}):
        weights = _learned(worked, [row for row in rows if row[0].scenario != name])
        for r in (r for r in new if r.scenario == name):
            out[r.right] += sum(weights.get(n, 0.0) for n in worked.row(r, 1).names) < belief.LEAST
    right = sum(r.right for r in new)
    print(f"left out: {out[False]} of {len(new) - right} wrong ones, {out[True]} of {right} right ones")


def _write(path: Path, head: tuple[str, ...], rows: list[tuple[str, float]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(head)
        table.writerows(rows)


if __name__ == "__main__":
    main()
