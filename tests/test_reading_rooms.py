"""Which room is meant, and what carries from clause to clause and memo to memo."""

from __future__ import annotations

import pytest
from dictation import heard

from notes.model import Room
from notes.reading import Carry
from notes.reading.rooms import resolve

HOUSE = (
    Room("Kitchen", "Ground"),
    Room("Main bathroom", "First", ("family bathroom",)),
    Room("Back bedroom", "First"),
    Room("Front bedroom", "First"),
    Room("Loft", "Loft"),
)
FLATS = (Room("Flat 1 kitchen", "Ground"), Room("Flat 2 kitchen", "First"), Room("Flat 2 bathroom", "First"))


def _rooms(text: str, before: Carry | None = None, speaker: str | None = "A") -> list[str | None]:
    return [f.room for f in heard(text, *HOUSE, before=before, speaker=speaker).facts]


@pytest.mark.parametrize(
    ("text", "rooms"),
    [
        ("In the kitchen, capped the cold.", ["Kitchen"]),
        ("Family bathroom. Capped the cold.", ["Main bathroom"]),
        ("Main bathroom. Capped the cold. Tested the hot.", ["Main bathroom", "Main bathroom"]),
        ("Kitchen. Ran the cold up to the loft.", ["Kitchen"]),
        ("Kitchen. Ran the cold. Back bedroom now. Ran the hot.", ["Kitchen", "Back bedroom"]),
        ("Capped the cold.", [None]),
        ("In the bedroom, capped the cold.", [None]),
        ("Back to the kitchen. Capped the waste.", ["Kitchen"]),
        ("In the kitchen, the hot comes from the loft and it's capped.", ["Kitchen", "Kitchen"]),
    ],
)
def test_where_one_is(text: str, rooms: list[str | None]) -> None:
    assert _rooms(text) == rooms


def test_a_room_that_is_only_an_end_does_not_carry() -> None:
    assert _rooms("Kitchen. Ran the cold through to the back bedroom. Capped it.") == ["Kitchen", "Kitchen"]


def test_a_test_of_two_rooms_is_told_of_both() -> None:
    assert _rooms("Tested the cold in the kitchen and the loft at ten bar.") == ["Kitchen", "Loft"]


def test_still_in_takes_the_speakers_last_room() -> None:
    first = heard("In the kitchen, capped the cold.", *HOUSE).after
    second = heard("In the loft, ran the hot.", *HOUSE, before=first, speaker="B").after
    assert _rooms("Still in here. Capped the hot.", second, "A") == ["Kitchen"]
    assert _rooms("Same room. Capped the hot.", second, "B") == ["Loft"]
    assert _rooms("Capped the hot.", second, "A") == [None]


def test_nobody_named_takes_the_last_room() -> None:
    first = heard("In the kitchen, capped the cold.", *HOUSE, speaker=None).after
    assert _rooms("Back in here. Capped the hot.", first, None) == ["Kitchen"]


def test_carry_survives_being_written_down() -> None:
    after = heard("In the kitchen, ran the cold in fifteen. Ask the tiler about the bath.", *HOUSE).after
    again = Carry.from_json(after.to_json())
    assert again.to_json() == after.to_json()
    assert _rooms("Still in here. Capped the hot.", again) == ["Kitchen"]


@pytest.mark.parametrize(
    ("near", "current", "rooms"),
    [
        (set(), None, ("Flat 1 kitchen", "Flat 2 kitchen")),
        ({"flat", "2"}, None, ("Flat 2 kitchen",)),
        (set(), "Flat 2 bathroom", ("Flat 2 kitchen",)),
        ({"upstairs"}, None, ("Flat 2 kitchen",)),
    ],
)
def test_like_names_are_told_apart_or_left_to_be_asked(
    near: set[str], current: str | None, rooms: tuple[str, ...]
) -> None:
    assert resolve("kitchen", near, current, FLATS) == rooms
