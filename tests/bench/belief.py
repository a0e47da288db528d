"""Learns notes/data/belief.csv and worked.csv: which of the facts that rules find are to be believed.

    uv run python tests/bench/belief.py [--add NAME,NAME...] [--try]

What rules get wrong shows where they were not made: tests/bench/first_sight.csv has every fact that was found in
scenarios when they were read for the first time, with what spoke for it (`belief.features`) and whether it was right.
`--add` puts those of more scenarios there: do it before a rule is mended by them, and with a second reader that was not
shown them (`tests/bench/second.py --without`). Single sentences, where what is found is right, count little. `--try`
leaves one scenario after the other out of first_sight.csv and says how many wrong and right facts would be left out.
"""

from __future__ import annotations

import csv
import sys
import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from dictation import GOLD, KEPT, as_rows, folders, readings, scenario, told  # noqa: E402
from ftrl import Row, learn  # noqa: E402
from scoring import paired  # noqa: E402

import notes.reading.facts as told_facts  # noqa: E402
from notes.reading import belief  # noqa: E402
from notes.reading.event import Event  # noqa: E402
from notes.reading.proposed import CUE  # noqa: E402
from notes.reading.said import Said  # noqa: E402
from notes.reading.second import Opinion, opinion  # noqa: E402

HERE = Path(__file__).parent
SIGHT = HERE / "first_sight.csv"
DATA = HERE.parents[1] / "notes" / "data"
SENTENCE = 0.15
"""What a fact of a single sentence counts; one of first sight counts 1."""


class Found(NamedTuple):
    """A fact that rules found: where, whether rightly, its words of work, what speaks for it."""

    scenario: str
    right: bool
    words: str
    names: tuple[str, ...]


def watched() -> list[tuple[Said, Event]]:
    """From here on all is believed, and every event, with its sentence, is put into the list that is returned."""
    events: list[tuple[Said, Event]] = []

    def watching(reader: Callable[..., list[Event]]) -> Callable[..., list[Event]]:
        def watched(said: Said, *rest: object) -> list[Event]:
            found = reader(said, *rest)
            events.extend((said, event) for event in found)
            return found

        return watched

    told_facts.read_sentence = watching(told_facts.read_sentence)
    told_facts.proposed = watching(told_facts.proposed)
    told_facts.believed = lambda *_: True
    return events


def found_in(name: str, folder: Path, events: list[tuple[Said, Event]]) -> Iterator[Found]:
    """Every fact that rules find in a scenario."""
    reading = readings(scenario(folder))
    while True:
        events.clear()
        if (pair := next(reading, None)) is None:
            return
        memo, one = pair
        second = heard(events)
        rows = as_rows(one.facts)
        right = {id(row) for _, row in paired(memo["facts"], rows)}
        by_start = {
            (e.action, e.status, key, said.row[e.span[0]].start): (said, e) for said, e in events for key in e.keys
        }
        for fact, row in zip(one.facts, rows, strict=True):
            if (hit := by_start.get((fact.action, fact.status, fact.subject, fact.start))) is not None:
                yield _found(name, id(row) in right, *hit, second)


def heard(events: list[tuple[Said, Event]]) -> Opinion:
    """The second reader's opinion of the memo that events are of."""
    return opinion(events[0][0].text, events[0][0].row) if events else opinion("", [])


def _found(name: str, right: bool, said: Said, event: Event, second: Opinion) -> Found:
    names = tuple(n for n in belief.features(said, event, second) if not n.startswith("heard "))
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
        second = heard(events)
        out += [_found("", True, *one, second) for one in events]
    return out


def first_sight() -> list[Found]:
    with SIGHT.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        return [Found(r["scenario"], r["right"] == "1", r["words"], tuple(r["names"].split("|"))) for r in rows]


class Worked:
    """How often words that rules know were work in the known scenarios, but for those of one scenario."""

    def __init__(self, rows: list[Found]) -> None:
        self.all, self.of = Counter[str](), defaultdict[str, Counter[str]](Counter)
        for row in (r for r in rows if f"cue {CUE}" not in r.names):
            self.all[row.words] += row.right
            self.of[row.scenario][row.words] += row.right

    def row(self, found: Found, counts: float) -> Row:
        often = self.all[found.words] - self.of[found.scenario][found.words]
        return Row([*found.names, f"heard {belief.often(often)}", ""], found.right, counts)


def add(names: str, events: list[tuple[Said, Event]]) -> None:
    with SIGHT.open("a", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        for name in names.split(","):
            for found in found_in(name, GOLD / name, events):
                table.writerow((name, int(found.right), found.words, "|".join(found.names)))


def main() -> None:
    events = watched()
    if "--add" in sys.argv:
        add(sys.argv[sys.argv.index("--add") + 1], events)
    old, new, plain = known(events), first_sight(), sentences(events)
    worked = Worked(old)
    rows = [(r, SENTENCE) for r in plain] + [(r, 1.0) for r in new]
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
