"""The pattern language of phrases.csv and cues.toml, and the rows themselves."""

from __future__ import annotations

import pytest
from dictation import row

from notes.errors import VoidbookError
from notes.model import ACTIONS
from notes.reading.actions import FORMS, ON, acts, patterns
from notes.reading.patterns import Matcher, compile_row, macros


def _found(pattern: str, text: str) -> list[str]:
    nodes = row(text)
    return [" ".join(n.norm for n in nodes[p.start : p.end]) for p in Matcher([("x", pattern)])(nodes)]


@pytest.mark.parametrize(
    ("pattern", "text", "found"),
    [
        ("left open", "I left open ends", ["left open"]),
        ("left|leave open", "leave open", ["leave open"]),
        ("left the? open", "left open", ["left open"]),
        ("left the? open", "left the open", ["left the open"]),
        ("left _2 open", "left it all open", ["left it all open"]),
        ("left _2 open", "left it all wide open", []),
        ("left _2 open", "left, open", []),
        ("put ~2 on", "put new caps on", ["put new caps on"]),
        ("put ~2 on", "put it behind on", []),
        ("SVC BE capped", "the cold is capped", ["cold is capped"]),
        ("ITEM in", "basin in", ["basin in"]),
        ("to SIZE", "to fifteen", ["to fifteen"]),
        ("BAR on", "ten bar on", ["ten_bar on"]),
        ("on DAY", "on Tuesday", ["on tuesday"]),
        ("is ADV capped", "is now capped", ["is now capped"]),
        ("is ADV capped", "is capped", ["is capped"]),
        ("has turned_up", "has turned up", ["has turned up"]),
        ("a stop_end", "a stop end", ["a stop_end"]),
    ],
)
def test_what_a_pattern_finds(pattern: str, text: str, found: list[str]) -> None:
    assert _found(pattern, text) == found


@pytest.mark.parametrize("words", ["ADV", "the?", "_3", "PERSON says"])
def test_patterns_that_can_match_nothing_are_refused(words: str) -> None:
    with pytest.raises(VoidbookError):
        compile_row("x", words)


def test_every_row_compiles_and_is_labelled() -> None:
    for label, words in patterns():
        action, form, on = label.split("|")
        assert action in (*ACTIONS, "nil")
        assert form in FORMS
        assert on in ON
        assert compile_row(label, words)


def test_no_row_stands_twice() -> None:
    assert len(patterns()) == len(set(patterns()))


def test_macros_hold_single_words() -> None:
    assert all(name == name.upper() and words for name, words in macros().items())


def test_rows_of_an_action_stand_together() -> None:
    from notes.lexicon import data_text

    order = [line.split(",")[0] for line in data_text("phrases.csv").splitlines()[1:]]
    runs = [a for a, b in zip(order, ["", *order], strict=False) if a != b]
    assert len(runs) == len(set(runs))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("put a cap on the cold", ["cap"]),
        ("took a picture", ["photograph"]),
        ("rung back", ["ask"]),
        ("run out of patience", []),
        ("left tails sticking out", ["leave"]),
    ],
)
def test_phrases_go_before_single_verbs(text: str, wanted: list[str]) -> None:
    assert [a.action for a in acts(row(text)) if a.form != "noun"][: len(wanted) or None] == wanted
