"""Books of a thousand to a million facts: how long things take in them, how much room a fact takes.

    uv run python tests/bench/books.py [--facts N] [--keep DIR] [--demo DIR] [--draw FILE.svg]

Every time is CPU time of this process, so that other programs do not count; start-up is a ratio to bare Python. Books
are made in DIR (else in a folder that is removed) and used again where they are there.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[1]), str(HERE.parent)]

import bigbook  # noqa: E402
import curves  # noqa: E402
import measures  # noqa: E402
import site_talk  # noqa: E402

SIZES = (1_000, 10_000, 100_000, 1_000_000)
RECHECKED = 100_000
"""The largest book that is checked as a whole."""
Line = tuple[str, str, str, bool | None]
"""What, measured, bar, whether it is met."""


def main() -> None:
    told = _arguments()
    with tempfile.TemporaryDirectory(prefix="voidbook-books-") as room:
        keep = Path(told.keep or room)
        sizes = [size for size in SIZES if size <= told.facts] or [told.facts]
        found = {size: _measured(_book(keep, size), size) for size in sizes}
        lines = [*(_startup(Path(told.demo)) if told.demo else ()), *_table(found, sizes[-1]), *_honest(Path(room))]
    for what, measured, bar, met in lines:
        print(f"{what:54} {measured:>22}   {bar:22} {'' if met is None else 'met' if met else 'MISSED'}")
    print(f"(load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores meanwhile; times are CPU time)")
    if told.draw:
        series = {name: [(size, found[size][name]) for size in sizes if name in found[size]] for name in curves.DRAWN}
        Path(told.draw).write_text(curves.svg(series), encoding="utf-8")
    sys.exit(any(met is False for *_, met in lines))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--facts", type=int, default=SIZES[-1], help="the largest book")
    parser.add_argument("--keep", metavar="DIR", help="where books are kept")
    parser.add_argument("--demo", metavar="DIR", help="a job made by `voidbook demo --keep DIR`, to time start-up in")
    parser.add_argument("--draw", metavar="FILE.svg", help="draw the curves")
    return parser.parse_args()


def _book(keep: Path, size: int) -> Path:
    root = keep / f"facts-{size}"
    if not (root / "whole").exists():
        print(f"making a book of {size:,} facts", file=sys.stderr)
        bigbook.make(root, size)
        (root / "whole").touch()
    return root


def _measured(root: Path, size: int) -> dict[str, float]:
    """Seconds by what takes them, and bytes a fact."""
    print(f"measuring in {size:,} facts", file=sys.stderr)
    found = measures.reading(root, list(questions(bigbook.a_job(size).rooms)))
    if size <= RECHECKED:
        found["recheck"] = measures.recheck(root)
    found["take"] = measures.take(root)
    return found


def questions(rooms: Sequence[site_talk.Room], count: int = 240, seed: int = 11) -> Iterator[str]:
    """What people might look for: common and rare words, several, rooms with services, sizes, typos, what is not."""
    chance = random.Random(seed)
    services, things, places = site_talk._SERVICES, site_talk._THINGS, site_talk._PLACES
    verbs = (
        "capped",
        "lagged",
        "tested",
        "left open",
        "connected",
        "clipped",
        "photo",
        "not tested",
        "order",
        "boards",
    )
    kinds = (
        lambda: chance.choice(services),
        lambda: chance.choice(verbs),
        lambda: f"{chance.choice(verbs)} {chance.choice(services)} {chance.choice(places)}",
        lambda: f"{chance.choice(rooms).name} {chance.choice(services)}",
        lambda: chance.choice(rooms).name.lower(),
        lambda: f"{chance.choice(('22', '15 mil', 'inch and a half', 'half inch', '28mm'))} {chance.choice(services)}",
        lambda: site_talk.odd_word(chance),
        lambda: f"{site_talk.odd_word(chance)} {chance.choice(things)}",
        lambda: f"where is the {chance.choice(services)} {chance.choice(places)}",
        lambda: chance.choice(("hott", "manifld", "bazin waste", "radaitor", "flat 99999", "xylophone", "grommit hot")),
        lambda: chance.choice(("kettle", "perishing", "flat", "kitchen", "copper", "now")),
        lambda: f"{chance.choice(things)} {chance.choice(rooms).name.split()[-1]}",
    )
    for n in range(count):
        yield kinds[n % len(kinds)]()


# --- the table


def _table(found: dict[int, dict[str, float]], most: int) -> Iterator[Line]:
    big, facts = found[most], f"{most:,} facts"
    yield _ms(f"find, {facts}, median", big["find"], 20)
    yield _ms(f"find, {facts}, 95th percentile", big["find, 95 of 100"], 60)
    yield _ms(f"find, {facts}, worst", big["find, worst"], None)
    yield _ms(f"a room's log, {facts}", big["room's log"], 30)
    yield _ms(f"a room's follow-ups, {facts}", big["room's follow-ups"], 30)
    yield _ms(f"trace in a room, {facts}", big["trace"], None)
    for size, told in found.items():
        limit = 1_500 if size == most else None
        yield _line(f"the book, {size:,} facts", f"{told['bytes']:,.0f} B a fact", limit, told["bytes"], "B a fact")
    for size, told in found.items():
        if "recheck" in told:
            limit = 20 if size == RECHECKED else None
            yield _line(f"recheck, {size:,} facts", f"{told['recheck']:.1f} s", limit, told["recheck"], "s")
    takes = {size: told["take"] for size, told in found.items()}
    for size, seconds in takes.items():
        yield _ms(f"file one more memo, {size:,} facts", seconds, None)
    first = takes[min(takes)]
    upto = [seconds for size, seconds in takes.items() if size <= RECHECKED]
    yield _line("the most of these up to 100,000, to the first", f"{max(upto) / first:.2f}", 2.0, max(upto) / first, "")


def _ms(what: str, seconds: float, most: float | None) -> Line:
    return _line(what, f"{seconds * 1000:.1f} ms", most, seconds * 1000, "ms")


def _line(what: str, measured: str, most: float | None, value: float, unit: str) -> Line:
    return what, measured, f"at most {most:g} {unit}".rstrip() if most else "", None if most is None else value <= most


def _startup(demo: Path) -> Iterator[Line]:
    for verb, ratio in measures.startup(demo).items():
        yield _line(f"voidbook {verb}, to `import click, sqlite3`", f"{ratio:.2f}", 2.5, ratio, "")


def _honest(room: Path) -> Iterator[Line]:
    """The bytes a fact of a made book to those of one whose memos the program read and filed one by one."""
    made, filed = measures.made_and_filed(room, 1_000)
    yield _line("a made book of 1,000 facts, to one really filed", f"{made / filed:.3f}", 1.1, made / filed, "")


if __name__ == "__main__":
    main()
