"""Words that the speech engine gets wrong, put right before a memo is read. The sentences are ours."""

from __future__ import annotations

import pytest
from dictation import AT, lexicon

from notes.heard import apply, fixes
from notes.model import Memo


def right(text: str) -> str:
    return apply(Memo("m1", AT, "Ann", text, text), fixes(text, lexicon())).text


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("Toilets stood in the hall.", "Toilet's stood in the hall."),
        ("Gas meters locked off.", "Gas meter's locked off."),
        ("Colds capped, 15.", "Cold's capped, 15."),
        ("Returns insulated to the valve.", "Return's insulated to the valve."),
    ],
)
def test_a_plural_before_what_is_done_to_a_thing_is_one_thing(heard: str, meant: str) -> None:
    assert right(heard) == meant


@pytest.mark.parametrize(
    "heard", ["Two toilets stood in the hall.", "Both basins fitted.", "Get the valves and clips.", "The rads want it."]
)
def test_a_plural_that_was_counted_or_does_nothing_stays(heard: str) -> None:
    assert fixes(heard, lexicon()) == []
