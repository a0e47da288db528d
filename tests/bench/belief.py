"""Learns notes/data/belief.csv, worked.csv and carried.csv: which of the facts that rules find are to be believed, and
which of their sizes, materials and counts.

    uv run python tests/bench/belief.py [--add NAME,NAME...] [--try]

What rules get wrong shows where they were not made: tests/bench/first_sight.csv has every fact that was found in
scenarios when they were read for the first time, with what spoke for it (`belief.features`) and whether it was right.
`--add` puts those of more scenarios there: do it before a rule is mended by them, and with a second reader that was not
shown them (`tests/bench/second.py --without`). Single sentences, where what is found is right, count little. `--try`
leaves each tenth of the scenarios out of first_sight.csv in turn and says what would be left out of those.
"""

from __future__ import annotations

import csv
import sys
import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from dictation import GOLD, KEPT, as_rows, folders, readings, scenario, told  # noqa: E402
from ftrl import Row, learn  # noqa: E402
from scoring import paired  # noqa: E402

import notes.reading.facts as told_facts  # noqa: E402
from notes.reading import belief, carried  # noqa: E402
from notes.reading.event import Event  # noqa: E402
from notes.reading.proposed import CUE, proposed  # noqa: E402
from notes.reading.said import Said  # noqa: E402
from notes.reading.second import Opinion, opinion  # noqa: E402

HERE = Path(__file__).parent
SIGHT = HERE / "first_sight.csv"
DATA = HERE.parents[1] / "notes" / "data"
FOLDS = 10
SENTENCE = 0.3
"""What a fact of a single sentence counts; one of first sight counts 1."""


class Found(NamedTuple):
    """A fact that was found, or a slot of one: where, 'fact' or the slot, whether rightly, its words of work, and what
    speaks for it."""

    scenario: str
    of: str
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

    def unblocked(said: Said, found: list[Event], second: Opinion) -> list[Event]:
        return proposed(said, [e for e in found if belief.believed(said, e, second)], second)

    told_facts.read_sentence = watching(told_facts.read_sentence)
    told_facts.proposed = watching(unblocked)
    told_facts.believed = lambda *_: True
    told_facts.uncarried = lambda *_: None
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
        right = {id(row): gold for gold, row in paired(memo["facts"], rows)}
        by_start = {
            (e.action, e.status, key, said.row[e.span[0]].start): (said, e) for said, e in events for key in e.keys
        }
        for fact, row in zip(one.facts, rows, strict=True):
            if (hit := by_start.get((fact.action, fact.status, fact.subject, fact.start))) is None:
                continue
            yield _found(name, id(row) in right, *hit, second)
            if (gold := right.get(id(row))) is not None:
                yield from _slots_of(name, gold, row, *hit, events, second)


def heard(events: list[tuple[Said, Event]]) -> Opinion:
    """The second reader's opinion of the memo that events are of."""
    return opinion(events[0][0].text, events[0][0].row) if events else opinion("", [])


def _found(name: str, right: bool, said: Said, event: Event, second: Opinion) -> Found:
    names = tuple(n for n in belief.features(said, event, second) if not n.startswith("heard "))
    return Found(name, "fact", right, said.joined(event.act.start, event.act.end), names)


def _slots_of(
    name: str, gold: dict[str, Any], row: dict[str, Any], said: Said, event: Event,
    events: list[tuple[Said, Event]], second: Opinion,
) -> Iterator[Found]:  # fmt: skip
    """The slots of a fact that is right: whether they are as the label has them."""
    mates = [e for other, e in events if other is said]
    for slot, names in carried.told_slots(said, event, mates, second):
        if row.get(slot) is not None:
            yield Found(name, slot, row[slot] == gold.get(slot), "", tuple(names))


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
        return [
            Found(r["scenario"], r["of"], r["right"] == "1", r["words"], tuple(every_step(r["names"].split("|"))))
            for r in rows
        ]


def highest_steps(names: Iterable[str]) -> list[str]:
    """Of 'work>-8', 'work>-7', ... the last alone, which the others follow from."""
    last = {name.split(">")[0]: name for name in names}
    return [name for name in names if ">" not in name or name == last[name.split(">")[0]]]


def every_step(names: Iterable[str]) -> Iterator[str]:
    """What `highest_steps` left out put back."""
    for name in names:
        what, mark, step = name.partition(">")
        first = carried.SURE.start if what in carried.SLOTS else belief.SURE.start
        yield from (f"{what}>{n}" for n in range(first, int(step) + 1)) if mark else (name,)


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
                table.writerow((name, found.of, int(found.right), found.words, "|".join(highest_steps(found.names))))


def main() -> None:
    events = watched()
    if "--add" in sys.argv:
        add(sys.argv[sys.argv.index("--add") + 1], events)
    seen = first_sight()
    old, new, plain = known(events), [r for r in seen if r.of == "fact"], sentences(events)
    slots = [r for r in seen if r.of != "fact"]
    worked = Worked([r for r in old if r.of == "fact"])
    rows = [(r, SENTENCE) for r in plain] + [(r, 1.0) for r in new]
    if "--try" in sys.argv:
        _tried(
            "facts",
            new,
            lambda names: _learned(worked, [row for row in rows if row[0].scenario not in names]),
            lambda r: worked.row(r, 1).names,
        )
        _tried(
            "slots", slots, lambda names: _of_slots([r for r in slots if r.scenario not in names]), lambda r: r.names
        )
    weights = _learned(worked, rows)
    _write(DATA / "belief.csv", ("name", "weight"), sorted(weights.items()))
    _write(DATA / "carried.csv", ("name", "weight"), sorted(_of_slots(slots).items()))
    counts = sorted((words, n) for words, n in worked.all.items() if n > 0)
    _write(DATA / "worked.csv", ("words", "count"), counts)
    print(f"{len(weights)} weights, {len(counts)} ways to name work")


def _learned(worked: Worked, rows: list[tuple[Found, float]]) -> dict[str, float]:
    return learn([worked.row(*row) for row in rows], pull=2, seen=4, least=0.03)


def _of_slots(slots: list[Found]) -> dict[str, float]:
    return learn([Row(r.names, r.right) for r in slots], pull=2, seen=4, least=0.03)


def _tried(
    what: str,
    new: list[Found],
    learned: Callable[[set[str]], dict[str, float]],
    names: Callable[[Found], Sequence[str]],
) -> None:
    """Each tenth of the scenarios left out in turn."""
    out = Counter[bool]()
    scenarios = sorted({r.scenario for r in new})
    for n in range(FOLDS):
        fold = set(scenarios[n::FOLDS])
        weights = learned(fold)
        for r in (r for r in new if r.scenario in fold):
            out[r.right] += sum(weights.get(n, 0.0) for n in names(r)) < belief.LEAST
    right = sum(r.right for r in new)
    print(f"{what} left out: {out[False]} of {len(new) - right} wrong ones, {out[True]} of {right} right ones")


def _write(path: Path, head: tuple[str, ...], rows: list[tuple[str, float]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(head)
        table.writerows(rows)


if __name__ == "__main__":
    main()
