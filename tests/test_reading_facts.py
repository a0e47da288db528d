"""Whole memos: golden facts of two scenarios, what holds for any words at all, and scores that may not fall.

The golden facts are written anew with: pytest tests/test_reading_facts.py --snapshot-update
"""

from __future__ import annotations

import re
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import pytest
from dictation import AT, as_rows, folders, heard, lexicon, readings, scenario, short
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scoring import Score, scored
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.json import JSONSnapshotExtension

from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES, Fact, Memo, Room, Status, Word
from notes.reading import Carry, read

ROOMS = (Room("Kitchen", "Ground"), Room("Main bathroom", "First", ("family bathroom",)))
GOLDEN = [path for kind in ("dev", "own") for path in folders(kind) if path.name in ("farmhouse", "lodge")]
EVERY = [path for kind in ("dev", "own") for path in folders(kind)]


@pytest.mark.parametrize("folder", GOLDEN, ids=lambda path: path.name)
def test_golden_facts(folder: Path, snapshot: SnapshotAssertion) -> None:
    told = {memo["id"]: as_rows(reading.facts) for memo, reading in readings(scenario(folder))}
    assert told == snapshot.use_extension(JSONSnapshotExtension)


def test_talk_without_full_stops_is_read_nearly_as_well() -> None:
    """The same memos with every full stop heard as a comma; .97 as written."""
    told = []
    for folder in folders("dev"):
        said = scenario(folder)
        memos = tuple({**memo, "text": _run_on(memo["text"])} for memo in said.memos)
        told += [(memo["facts"], as_rows(read.facts)) for memo, read in readings(replace(said, memos=memos))]
    assert scored(told).tallies["core"].f1 > 0.88


def _run_on(text: str) -> str:
    return re.sub(r"[.;?!] (\w)(?!\W)", lambda m: f", {m[1].lower()}", text)


# -- what holds for any words ------------------------------------------------------------------------------------

_TRADE = sorted(
    {w for folder in EVERY for memo in scenario(folder).memos for w in memo["text"].split()}
    | {"capped", "tested", "hot", "cold", "no", "sorry", "again", "same", "forget", "tomorrow", "ten", "bar", ",", "."}
)
_NOISE = (
    "\x00",
    "\x1b[31m",
    "\u202e",
    "مرحبا",
    "שלום",
    "🔥",
    "👩\u200d🔧",
    "½",
    "3/4",
    "1/0",
    "９",
    "\t",
    "\n",
    "’",
    "…",
)
_WORDS = st.lists(st.sampled_from([*_TRADE, *_NOISE]) | st.text(max_size=6), max_size=45).map(" ".join)


def _sound(text: str, fact: Fact) -> None:
    assert 0 <= fact.start < fact.end <= len(text)
    assert fact.quote == text[fact.start : fact.end]
    assert fact.subject in PIPES + ITEMS
    assert fact.action in ACTIONS
    assert fact.status in set(Status)
    assert fact.material in (None, *MATERIALS)
    assert fact.room in (None, *(room.name for room in ROOMS))
    assert fact.cue


@settings(max_examples=250, deadline=None)
@given(_WORDS | st.text(max_size=300))
@example("")
@example("’" * 3)
@example("no, no, no, not")
@example("same again")
@example("\u202e" + "the hot is capped")
def test_any_words_are_read_and_facts_are_sound(text: str) -> None:
    reading = heard(text, *ROOMS)
    for n, fact in enumerate(reading.facts):
        assert fact.n == n
        _sound(text, fact)


@pytest.mark.parametrize(
    "text",
    [
        "the hot is capped " * 700,
        "hot, cold, " * 700,
        "and " * 3000,
        "left " * 500 + "open",
        "no, sorry, " * 500,
        "🔥" * 5000,
        "a" * 20000,
        "9" * 5000,
    ],
    ids=lambda text: text[:10],
)
def test_very_long_memos_are_read(text: str) -> None:
    for fact in heard(text, *ROOMS).facts:
        _sound(text, fact)


IDLE = (
    "Right, I'm away for my dinner.",
    "Lovely weather we are having.",
    "Cheers, talk soon.",
    "Dog's been sick again.",
)


@pytest.mark.parametrize("folder", EVERY, ids=lambda path: path.name)
@pytest.mark.parametrize("idle", IDLE)
def test_an_unrelated_sentence_changes_nothing(folder: Path, idle: str) -> None:
    rooms = scenario(folder).lexicon.rooms
    for memo in scenario(folder).memos:
        alone, more = heard(memo["text"], *rooms), heard(f"{memo['text']} {idle}", *rooms)
        assert list(map(asdict, more.facts)) == list(map(asdict, alone.facts))


def test_reading_twice_gives_the_same() -> None:
    for folder in EVERY[:2]:
        first, second = (
            [(short(f), f.room, f.start) for _, r in readings(scenario(folder)) for f in r.facts] for _ in range(2)
        )
        assert first == second


# -- scores ------------------------------------------------------------------------------------------------------


def _score(kind: str) -> Score:
    def memos() -> Any:
        for folder in folders(kind):
            for memo, reading in readings(scenario(folder)):
                yield memo["facts"], as_rows(reading.facts)

    return scored(memos())


FLOORS = {
    "dev": {"core": 0.93, "full": 0.91},
    "own": {"core": 0.90, "full": 0.88},
    "retold": {"core": 0.80, "full": 0.78},
}
"""A little under what was measured: dev 0.98 and 0.97, own 0.94 and 0.93, retold 0.84 and 0.82."""

WRONG_SIZES = {"dev": 0.01, "own": 0.02, "retold": 0.02}
"""The most that may be wrong of the sizes told."""


@pytest.mark.parametrize("kind", FLOORS)
def test_scores_do_not_fall(kind: str) -> None:
    score = _score(kind)
    for name, floor in FLOORS[kind].items():
        assert score.tallies[name].f1 >= floor, name
    assert score.tallies["slot material"].f1 >= 0.9
    assert score.wrong_sizes <= WRONG_SIZES[kind] * score.told_sizes


def test_each_fact_tells_the_second_that_it_is_said_at() -> None:
    text = "Kitchen. Capped the hot. Tested the cold."
    spans = [m.span() for m in re.finditer(r"\S+", text)]
    words = tuple(Word(text[a:b], a, b, at=n * 1.26) for n, (a, b) in enumerate(spans))
    memo = Memo("m1", AT, "A", text, text, words)
    assert [(f.quote, f.second) for f in read(memo, lexicon(*ROOMS), Carry()).facts] == [
        ("Capped the hot", 1.3),
        ("Tested the cold", 5.0),
    ]
    assert [f.second for f in heard(text, *ROOMS).facts] == [None, None]
