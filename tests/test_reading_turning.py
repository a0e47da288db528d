"""Turns to another room, against rooms only passed, planned, or where a pipe goes (common practice, no source)."""

from __future__ import annotations

import pytest
from dictation import heard

from notes.model import Room

ROOMS = Room("Hall", "Ground"), Room("Scullery", "Ground"), Room("Yard", "Outside"), Room("Loft", "Loft")

TURNS = [
    "Stepping through to the scullery, X",
    "Having come through to the scullery, X",
    "Crossing the yard to the scullery, X",
    "Now for the scullery. X",
    "As to the scullery, X",
    "With regard to the scullery, X",
    "That leaves the scullery, where X",
    "Which brings me to the scullery. X",
    "I have come over to the house and up into the scullery, which is a shell. X",
    "I've moved on to the scullery. X",
    "I shall finish with the scullery. X",
    "Let me turn to the scullery. X",
    "Back with the scullery, X",
    "From there into the scullery, where X",
    "A word about the scullery. X",
    "We step across the passage now into the scullery, where X",
    "I'm off to the scullery. X",
    "I've carried my tools into the scullery. X",
    "Then it was on to the scullery. X",
    "I'm beginning with the scullery. X",
    "Made a start in the scullery. X",
    "On the back wall of the scullery X",
    "The news from the scullery is good. X",
    "I've been next door to the scullery. X",
    "One correction for the scullery. X",
    "Went back over to the scullery about three and X",
]

STAYS = [
    "The cold goes on to the scullery. X",
    "I've taken the cold through to the scullery, and X",
    "The painters have gone over to the scullery. X",
    "I'll get to the scullery on Thursday. X",
    "I shall go on to the scullery tomorrow. X",
    "I've moved the radiator over to the scullery. X",
    "We never got as far as the scullery. X",
    "The boy is in the scullery, making tea. X",
    "My kettle is in the scullery. X",
    "It's the same as in the scullery. X",
    "The other end is in the scullery. X",
    "I'll do it when the scullery's done. X",
    "They're having their tea in the scullery. X",
    "I've not been in the scullery. X",
    "It'll serve the scullery. X",
    "Cold's run off the twenty-two in the scullery. X",
    "Cold's lagged bar the bit in the scullery. X",
    "The basins have come, stacked in the scullery. X",
    "I was in the scullery yesterday. X",
    "The cold drops down the wall, through to the scullery, and X",
]


def _room(turn: str) -> str | None:
    said = turn.replace("X", "the gas is capped.")
    facts = heard(f"In the hall the hot is capped. {said}", *ROOMS).facts
    return next(f.room for f in facts if f.subject == "gas")


@pytest.mark.parametrize("turn", TURNS)
def test_a_turn_to_a_room_enters_it(turn: str) -> None:
    assert _room(turn) == "Scullery"


@pytest.mark.parametrize("stay", STAYS)
def test_a_room_passed_or_planned_does_not(stay: str) -> None:
    assert _room(stay) == "Hall"


def test_a_turn_is_no_work_on_the_pipes_before_it() -> None:
    facts = heard("In the hall the hot is capped. I've moved on to the scullery. The gas is capped.", *ROOMS).facts
    assert [(f.room, f.subject, f.action) for f in facts] == [("Hall", "hot", "cap"), ("Scullery", "gas", "cap")]


def test_a_test_in_another_room_and_in_here_moves_nobody() -> None:
    facts = heard(
        "Scullery. I tested the cold at ten bar, in the yard and in here alike. Waste is capped.", *ROOMS
    ).facts
    assert [(f.room, f.subject) for f in facts] == [("Scullery", "cold"), ("Yard", "cold"), ("Scullery", "waste")]
