"""What rules find in mere talk is left out; what is told plainly never is."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import pytest
from dictation import AT, NO_JOB, heard, short

from notes.lexicon import data_rows
from notes.model import Memo
from notes.reading import Carry, read
from notes.reading.explained import explain

# talk of our own; that a foreman would write none of it down is common practice, no source
TALK = {
    "I've capped the hot and cold behind the bath. Rain forecast for four, so it'll start at three.": "start",
    "Capped the hot. That's taken me all morning, mind.": "taken",
}
# told so plainly that leaving it out would lose a fact
PLAIN = {
    "I ran the hot and cold to the basin in fifteen copper.": 2,
    "Capped the gas behind the range.": 1,
    "The waste is connected to the stack, inch and a half.": 1,
    "Tested the flow and return, six bar, an hour.": 2,
    "The radiator's hung.": 1,
    "The hot's not lagged.": 1,
    "Need to order two isolating valves.": 1,
}
EXAMPLES = tomllib.loads((Path(__file__).parent / "reading_examples.toml").read_text(encoding="utf-8"))


def told(text: str) -> list[str]:
    return [short(fact) for fact in read(Memo("m1", AT, "A", text, text), NO_JOB, Carry()).facts]


@pytest.mark.parametrize("text", TALK)
def test_talk_is_left_out_and_explain_says_so(text: str) -> None:
    explained = explain(Memo("m1", AT, "A", text, text), NO_JOB)
    assert not any(TALK[text] in fact.quote for fact in explained.facts)
    assert any(TALK[text] in fact.quote for fact in explained.doubted)
    assert len(explained.facts) + len(explained.doubted) == len(heard(text).facts)


@pytest.mark.parametrize("text", PLAIN)
def test_what_is_told_plainly_is_believed(text: str) -> None:
    assert len(told(text)) == PLAIN[text]
    assert sorted(told(text)) == sorted(short(fact) for fact in heard(text).facts)


def test_few_of_the_example_sentences_are_left_out() -> None:
    says = [say for name, section in EXAMPLES.items() if name != "known_gap" for say in section]
    every_tenth = says[::10]
    found = [(say, short(fact)) for say in every_tenth for fact in heard(say).facts]
    kept = {(say, fact) for say in every_tenth for fact in told(say)}
    left_out = [fact for fact in found if fact not in kept]
    assert len(found) > 300
    assert 0 < len(left_out) <= 0.04 * len(found)


def test_weights_are_log_odds_of_known_kinds() -> None:
    rows = data_rows("belief.csv")
    assert len({row["name"] for row in rows}) == len(rows) > 100
    assert all(math.isfinite(float(row["weight"])) and abs(float(row["weight"])) < 10 for row in rows)
    counts = data_rows("worked.csv")
    assert len({row["words"] for row in counts}) == len(counts)
    assert all(int(row["count"]) > 0 for row in counts)
