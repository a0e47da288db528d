"""Which room is meant, and what carries from clause to clause and memo to memo."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from dictation import heard

from notes.model import Room
from notes.reading import Carry
from notes.reading.which_room import resolve

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
        ("Kitchen, cold's in fifteen, then the loft, the tank's in.", ["Kitchen", "Loft"]),
        ("Kitchen, I laid the main, it starts at the gate and comes up in the loft, I've capped it.", ["Kitchen"] * 2),
        ("In the kitchen we filled the hot, this one and the loft.", ["Kitchen", "Loft"]),
        ("I'm in the loft, cold's run kitchen to the house and it's capped.", ["Loft", "Loft"]),
        ("Back to the kitchen. Capped the waste.", ["Kitchen"]),
        ("In the kitchen, the hot comes from the loft and it's capped.", ["Kitchen", "Kitchen"]),
        ("Kitchen. Sink cold, that starts in the loft, fifteen, drops down the wall. Capped it.", ["Kitchen"] * 2),
        ("Kitchen. Flow starts on the thirty-five in the loft, and it's capped behind the rad.", ["Kitchen"]),
        ("Kitchen. Ran the flow along to both bedrooms. Capped it.", ["Kitchen", "Kitchen"]),
        ("Kitchen. The hot's joined on to the one in the loft. Tested it.", ["Kitchen"] * 3),
        ("Kitchen. The soil in the far corner of the loft is capped.", ["Loft"]),
        ("The old boiler's out of the loft. Capped the gas.", ["Loft", "Loft"]),
        ("Kitchen. I've stripped the old pipes out of the loft. Capped the gas.", ["Loft"]),
        ("I'm under the loft. Capped the gas.", ["Loft"]),
        ("Kitchen. The flow comes out of the loft and it's capped.", ["Kitchen"] * 2),
        ("Kitchen. Hot's run, loft to the first floor. Capped the cold.", ["Kitchen", "Kitchen"]),
        ("Kitchen. Cold's capped. Where was I. Loft, the tank's in.", ["Kitchen", "Loft"]),
    ],
)
def test_where_one_is(text: str, rooms: list[str | None]) -> None:
    assert _rooms(text) == rooms


@pytest.mark.parametrize(
    ("text", "rooms"),
    [
        ("Capped the cold. Tested the hot. Loft, I should have said.", ["Loft", "Loft"]),
        ("Capped the cold. Tested the hot. That's all in the loft, sorry.", ["Loft", "Loft"]),
        ("Kitchen first. Capped the cold. Then I've tested the hot. Loft, that is.", ["Kitchen", "Loft"]),
        ("Kitchen. Capped the cold. After dinner I tested the hot. That's the loft.", ["Kitchen", "Loft"]),
        ("Kitchen. Capped the cold. Tested the hot. That's the loft.", ["Kitchen", "Kitchen"]),
        ("Capped the cold. Upstairs, this, back bedroom. Tested the hot.", ["Back bedroom", "Back bedroom"]),
    ],
)
def test_a_room_may_be_told_too_late(text: str, rooms: list[str | None]) -> None:
    assert _rooms(text) == rooms


LEVELS = tuple(
    Room(f"Flat {n} {room}", floor, (f"{word} {room}",))
    for n, floor, word in ((1, "Ground", "bottom"), (2, "First", "middle"), (3, "Second", "top"))
    for room in ("kitchen", "bathroom")
)


@pytest.mark.parametrize(
    ("text", "room"),
    [
        ("Top flat now. Bathroom. Capped the cold.", "Flat 3 bathroom"),
        ("I'm right at the top of the house, in the bathroom, capped the cold.", "Flat 3 bathroom"),
        ("Down to the first floor. Bathroom. Capped the cold.", "Flat 2 bathroom"),
        ("Bathroom, middle flat. Capped the cold.", "Flat 2 bathroom"),
        ("In the bathroom, that's the bottom flat, I've capped the cold.", "Flat 1 bathroom"),
        ("On the second floor, and in the kitchen I've capped the cold.", "Flat 3 kitchen"),
        ("Ran the cold up to the top flat. Bathroom. Capped the cold.", None),
    ],
)
def test_the_flat_or_floor_tells_which_room_is_meant(text: str, room: str | None) -> None:
    assert heard(text, *LEVELS).facts[-1].room == room


NUMBERED = (
    *(
        Room(f"Flat {n} {room}", "Ground", aliases)
        for n in (1, 2)
        for room, aliases in (("kitchen", ("cooking end",)), ("room 1", ()), ("room 2", ()))
    ),
    Room("Pit", "Basement", ("well",)),
    Room("Paddock", "Outside", ("run",)),
)


@pytest.mark.parametrize(
    ("text", "rooms"),
    [
        ("Flat 2, room 1. Cold's capped. Room 2. Hot's capped.", ["Flat 2 room 1", "Flat 2 room 2"]),
        ("Room 2 in flat 1, the cold's capped.", ["Flat 1 room 2"]),
        ("Two kitchen, cold's capped. One kitchen. Hot's capped.", ["Flat 2 kitchen", "Flat 1 kitchen"]),
        ("Flat two. It's the same as flat one but handed. Kitchen, cold's capped.", ["Flat 2 kitchen"]),
        ("I'm on number two today. Kitchen. Cold's capped.", ["Flat 2 kitchen"]),
        ("Flat 2 kitchen. The cold's run in copper, it held well. Hot's capped.", ["Flat 2 kitchen"] * 2),
        ("Flat 2 kitchen. Cold's capped. Out in the run, hot's capped.", ["Flat 2 kitchen", "Paddock"]),
        ("Flat 2 kitchen. Well, cold's capped. Hot is, well, capped.", ["Flat 2 kitchen"] * 2),
        ("Flat 1 room 1. Hot's capped. Cooking end, cold's capped.", ["Flat 1 room 1", "Flat 1 kitchen"]),
        ("Down in the well. Cold's capped.", ["Pit"]),
    ],
)
def test_rooms_with_numbers_and_names_that_are_common_words(text: str, rooms: list[str]) -> None:
    assert [f.room for f in heard(text, *NUMBERED).facts] == rooms


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


SHOP = (
    Room("Plant room", "Ground"),
    Room("Kitchen", "Ground"),
    Room("Shop", "Ground", ("shop floor",)),
    Room("Bar", "Ground"),
    Room("Hall", "Ground", ("main hall",)),
    Room("Yard", "Outside"),
    Room("Store", "Ground"),
    Room("Flat one bathroom", "First", ("flat one's bathroom",)),
    Room("Flat one kitchen", "First", ("flat one's kitchen",)),
    Room("Landing cupboard", "First"),
)


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        (
            "Plant room. Gas for the bar's away under the floor in thirty-two steel. It isn't tested.",
            ["Plant room: gas run done", "Plant room: gas test not done"],
        ),
        (
            "In the kitchen, the hot and cold for the shop's away through the ceiling. Both clipped.",
            ["Kitchen: hot run done", "Kitchen: cold run done", "Kitchen: hot clip done", "Kitchen: cold clip done"],
        ),
        (
            "Plant room. The shop's boiler is hung on the back wall. Condensate's capped.",
            ["Plant room: boiler fit done", "Plant room: condensate cap done"],
        ),
        (
            "Plant room now. Hall boiler's connected, flow and return. Filling loop's not come.",
            [
                "Plant room: heating flow connect done",
                "Plant room: heating return connect done",
                "Plant room: fitting order not done",
            ],
        ),
        (
            "Plant room. Two pumps, left one's the shop, right one's for the bar. Both on the wall. The gas is capped.",
            ["Plant room: gas cap done"],
        ),
        (
            "Plant room. Condensate's run to the yard gully in forty. It's not clipped.",
            ["Plant room: condensate run done", "Plant room: condensate clip not done"],
        ),
        (
            "Morning, kitchen, half eight, only man awake in this yard. Cold's capped.",
            ["Kitchen: cold cap done"],
        ),
        (
            "Plant room. Oil's in, thirty mil. Where it's out in the yard it's bare. The meter's hung.",
            ["Plant room: oil run done", "Yard: oil insulate not done", "Plant room: meter fit done"],
        ),
        (
            "Kitchen. Cold's capped. Up in the landing cupboard the pair's tagged, flow's on the left in twenty-two.",
            ["Kitchen: cold cap done", "Landing cupboard: heating flow run done"],
        ),
        (
            "Bar. Sink's in. Walked back through the hall and the boards are down, so the flow and return are buried.",
            ["Bar: sink fit done", "Hall: heating flow cover done", "Hall: heating return cover done"],
        ),
        (
            "Bar. Sink's in. Came back past the store and somebody's capped the gas.",
            ["Bar: sink fit done", "Store: gas cap done"],
        ),
        (
            "Store. Ran the gas on through the bar to the kitchen. Capped it.",
            ["Store: gas run done", "Store: gas cap done"],
        ),
        (
            "Then on to flat one's bathroom. In there the soil's capped. In flat one's kitchen the waste is capped.",
            ["Flat one bathroom: soil cap done", "Flat one kitchen: waste cap done"],
        ),
        (
            "Kitchen. The bar's pump has been wired, and the bar's flow and return are capped here.",
            ["Kitchen: heating flow cap done", "Kitchen: heating return cap done"],
        ),
        (
            "Plant room. The header for the hall is up on the wall. Return's not lagged.",
            ["Plant room: header fit done", "Plant room: heating return insulate not done"],
        ),
        (
            "Kitchen. Gas for the yard heater's in, twenty-two copper through the wall. Capped both ends.",
            ["Kitchen: gas run done", "Kitchen: gas cap done"],
        ),
        (
            "Plant room. Top pair's for the hall and the bottom pair's the shop. All four are lagged, flow and return.",
            ["Plant room: heating flow insulate done", "Plant room: heating return insulate done"],
        ),
        (
            "Plant room. The bar's cylinder is in and the kitchen's pump's still in its box.",
            ["Plant room: cylinder fit done", "Plant room: pump fit not done"],
        ),
        (
            "Hall. I came in by the yard and my boots are soaked. Flow and return are clipped.",
            ["Hall: heating flow clip done", "Hall: heating return clip done"],
        ),
        (
            "Store. Nipped into the kitchen and the tiler's covered the hot and cold.",
            ["Kitchen: hot cover done", "Kitchen: cold cover done"],
        ),
        (
            "Store. Waste's run. I went through to the bar and capped the cold there.",
            ["Store: waste run done", "Bar: cold cap done"],
        ),
        (
            "Plant room. The condensate, where it's in the yard, isn't lagged.",
            ["Yard: condensate insulate not done"],
        ),
        (
            "Down in the store now the mains is isolated.",
            ["Store: mains isolate done"],
        ),
        (
            "Kitchen, ten past nine, Monday, and I've never seen so much rain in that yard. Soil's connected.",
            ["Kitchen: soil connect done"],
        ),
        (
            "Up on the landing, in the cupboard, capped the cold.",
            ["Landing cupboard: cold cap done"],
        ),
        (
            "Store. The kitchen's flow and return go up through the ceiling here, in twenty-eight. Capped up there.",
            [
                "Store: heating flow run done",
                "Store: heating return run done",
                "Store: heating flow cap done",
                "Store: heating return cap done",
            ],
        ),
        (
            "Plant room. Shop's meter's in. The hall's isn't. Gas is tested.",
            ["Plant room: meter fit done", "Plant room: gas test done"],
        ),
        (
            "Landing cupboard. Cold and hot for flat one's kitchen leave under the floor in fifteen.",
            ["Landing cupboard: cold run done", "Landing cupboard: hot run done"],
        ),
        (
            "Over to the bar. Waste for the glass washer's capped.",
            ["Bar: waste cap done"],
        ),
        (
            "I'm stood in the hall looking at the yard. Rainwater's connected.",
            ["Hall: rainwater connect done"],
        ),
        (
            "Kitchen. Somebody's left the bar door open. Hot's lagged.",
            ["Kitchen: hot insulate done"],
        ),
        (
            "Plant room. As for the bar, hot's capped in there.",
            ["Bar: hot cap done"],
        ),
        (
            "Next door, in the store, the soil's boxed in.",
            ["Store: soil cover done"],
        ),
        (
            "Kitchen. The lads from the shop have covered the gas.",
            ["Kitchen: gas cover done"],
        ),
        (
            "Landing cupboard. Thirty-two comes up from the plant room and I've capped the cold.",
            ["Landing cupboard: cold cap done"],
        ),
    ],
)
def test_a_room_that_is_served_or_looked_at_moves_nobody(text: str, facts: list[str]) -> None:
    found = [f"{f.room}: {f.subject} {f.action} {f.status}" for f in heard(text, *SHOP).facts]
    assert sorted(found) == sorted(facts)


SHORT: dict[str, list[str]] = tomllib.loads((Path(__file__).parent / "room_examples.toml").read_text(encoding="utf-8"))
NAMES = ("Hall", "Yard", "Boot room", "Plant room", "Kitchen", "Bathroom", "Utility", "Loft")


@pytest.mark.parametrize("say", SHORT, ids=str)
def test_what_is_told_in_short_has_its_pipes_and_room(say: str) -> None:
    found = [
        f"{f.room}: {f.subject} {f.action} {f.status}" for f in heard(say, *(Room(n, "Ground") for n in NAMES)).facts
    ]
    assert sorted(found) == sorted(SHORT[say])


@pytest.mark.parametrize(
    ("say", "room"),
    [
        ("Out of the back door into the yard. The main's capped.", "Yard"),
        ("Across the landing, kitchen. The main's capped.", "Kitchen"),
        ("Tuesday, just gone nine, straight up to the kitchen. The main's capped.", "Kitchen"),
        ("Bathroom. He's going to the kitchen. The main's capped.", "Bathroom"),
    ],
)
def test_a_sentence_that_only_goes_somewhere_enters_it(say: str, room: str) -> None:
    rooms = (Room("Yard", "outside"), Room("Kitchen", "ground"), Room("Landing", "first"), Room("Bathroom", "first"))
    assert [fact.room for fact in heard(say, *rooms).facts] == [room]


def test_a_thing_for_a_room_is_asked_of_there() -> None:
    rooms = (Room("Kitchen", "ground"), Room("Box room", "first"))
    facts = heard("Kitchen. Stat for the box room, somebody ask the sparky where it's going.", *rooms).facts
    assert [(f.subject, f.action, f.room) for f in facts] == [("thermostat", "ask", "Box room")]


def test_what_ends_outside_moves_nobody() -> None:
    """Common practice, no source: a waste or condensate is told by the gully it goes to."""
    rooms = Room("Utility", "Ground"), Room("Yard", "Outside", ("outside",))
    told = heard("In the utility the waste's run out to the gully outside. Cold's capped.", *rooms)
    assert [(f.subject, f.room) for f in told.facts] == [("waste", "Utility"), ("cold", "Utility")]


NOOKS = (
    Room("Riser", "All floors", ("riser cupboard", "shaft")),
    Room("Landing", "First", ("top of the stairs",)),
    Room("Bar", "Ground"),
    Room("Lab", "Ground"),
    Room("Boiler pit", "Basement", ("the pit", "pit room")),
    Room("Yard", "Outside", ("outside",)),
)


@pytest.mark.parametrize(
    ("say", "rooms"),
    [
        ("Lab. Tank is stood beside the fume cupboard. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. The manifold's up in the cupboard. Cold's capped.", ["Lab", "Lab"]),
        ("Bar. Cold's capped. In the riser cupboard the hot's lagged.", ["Bar", "Riser"]),
        ("Bar. Cold's capped. Up in the cupboard the hot's lagged.", ["Bar", "Riser"]),
        ("Bar. The gas is run as far as the lab stairs. Cold's capped.", ["Bar", "Bar"]),
        ("Bar. Cold's capped. Up the stairs now. Hot's lagged.", ["Bar", "Landing"]),
        ("Lab. I put a cap on the cold. I've put two bar on the gas.", ["Lab", "Lab"]),
        ("Lab. I pit a cap on the cold.", ["Lab"]),
        ("Right, down the pit. Cold's capped.", ["Boiler pit"]),
        ("Lab. Cold's capped. Pit room. Hot's capped.", ["Lab", "Boiler pit"]),
        ("Boiler pit. I put a cap on the oil.", ["Boiler pit"]),
        ("Lab. I've put the fire valve on it outside the wall. Gas is capped.", ["Lab", "Lab"]),
        ("Lab. The discharge is capped, that wants taking outside. Gas is capped.", ["Lab", "Lab", "Lab"]),
        ("Lab. Cold's capped. Outside the main's capped.", ["Lab", "Yard"]),
        ("Lab. Cold's capped. I went outside and the main's capped.", ["Lab", "Yard"]),
        ("Lab. The main's run in a shaft, and the shaft isn't sealed. Cold's capped.", ["Lab"] * 3),
        ("Lab. Joists are drilled, yard in from the wall. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. Who would ever put a bar in here. Cold's capped.", ["Lab"]),
        ("Lab. A tap's fitted on the outside wall. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. The bit outside isn't lagged. Cold's capped.", ["Lab"]),
        ("Lab. Waste's not connected outside. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. The bar's valve is in. In there the cold's capped.", ["Bar", "Bar"]),
        (
            "Lab. Cold's capped. I joined the hot on to that end in the bar, so that's done. In here it's bare.",
            ["Lab", "Bar", "Lab"],
        ),
        ("Lab. The condensate can go out over the yard, and I've capped it.", ["Lab"] * 2),
        ("Lab. Cold's run as far as the door shaft. Hot's capped.", ["Lab", "Lab"]),
        ("Lab. Cold's capped. Bar overflow. It's run to the gully.", ["Lab", "Bar"]),
        ("Lab. Cold's capped. The heating's not filled anywhere in the building.", ["Lab", None, None]),
        ("Lab. Waste's left hanging open over the yard. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. Waste's through the wall and left open outside for now. Cold's capped.", ["Lab"] * 3),
        ("Lab. Gas comes from the tank, up the outside and in through a sleeve. Cold's capped.", ["Lab"] * 3),
        ("Lab. Outside is dark by now. Cold's capped.", ["Lab"]),
        ("Lab. Overflow's run to the gully yard side. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. The discharge has to go down and out through the bar. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. Cold's run on to the landing and the bar. Hot's capped.", ["Lab"] * 3),
        ("Lab. Gas is run in copper over the yard to the wall. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. Cold's capped, because the bar isn't ready for it. Hot's capped.", ["Lab", "Lab"]),
        ("Lab. Radiator's still on the landing. Cold's capped.", ["Lab", "Lab"]),
        ("Lab. Manifold's on the wall in its cupboard. Cold's capped.", ["Lab", "Lab"]),
        ("I am at the bottom of the boiler pit. Cold's capped.", ["Boiler pit"]),
        ("Lab to begin with, then the bar. Cold's capped.", ["Lab"]),
        ("I've been along the landing with a torch. Cold's capped.", ["Landing"]),
    ],
)
def test_a_nook_or_a_way_is_no_room_of_the_job(say: str, rooms: list[str | None]) -> None:
    """Every room may have a cupboard; 'outside' may be where a pipe goes, and a pit is no northern 'put'."""
    assert [f.room for f in heard(say, *NOOKS).facts] == rooms


SHORT_NAMED = (
    Room("Training workshop", "Ground", ("plumbing bays",)),
    Room("Gantry", "First", ("crane walkway",)),
    Room("Crew showers", "Ground"),
    Room("Cloister walk", "Ground"),
    Room("Office", "Ground", ("front desk", "small room")),
)


@pytest.mark.parametrize(
    ("say", "rooms"),
    [
        ("Friday, all well. Bays. Hot's capped.", ["Training workshop"]),
        ("Right, showers first. Hot's capped.", ["Crew showers"]),
        ("Office. Hot's capped. Up on the walkway, the cold's capped.", ["Office", "Gantry"]),
        ("Office. Hot's capped behind the showers. Cold's capped.", ["Office", "Office"]),
        ("Office. The showers are in. Cold's capped.", ["Office", "Office"]),
        ("Crew showers. Lots of room. Cold's capped.", ["Crew showers"]),
        ("Office. Hot's capped. Showers, cold's capped.", ["Office", "Crew showers"]),
        ("Office. Hot's capped. Showers, crew ones. Cold's capped.", ["Office", "Crew showers"]),
        ("Office. The hot in the showers, cap that. Cold's capped.", ["Crew showers", "Crew showers"]),
        ("Office. Hot's capped. Went back over to the walkway about two and capped the cold.", ["Office", "Gantry"]),
        ("Office. Hot's capped. In the cloister the cold's capped.", ["Office", "Cloister walk"]),
        ("Office. Hot's capped. Cloister. Cold's capped.", ["Office", "Cloister walk"]),
        ("Office. Hot's capped. I met a cloister nun. Cold's capped.", ["Office", "Office"]),
    ],
)
def test_a_room_may_be_called_by_its_last_word(say: str, rooms: list[str]) -> None:
    assert [f.room for f in heard(say, *SHORT_NAMED).facts] == rooms


TWO_HOUSES = (
    Room("Mill kitchen", "Ground", ("kitchen at the mill",)),
    Room("Mill bedroom", "First"),
    Room("Farm kitchen", "Ground"),
    Room("Farm bedroom", "First"),
    Room("Attic", "Loft", ("farm attic",)),
    Room("Mill wash house", "Outside"),
    Room("Farm wash house", "Outside"),
    Room("Flat A lounge", "Ground", ("old office", "office floor")),
)


@pytest.mark.parametrize(
    ("say", "rooms"),
    [
        ("Bedroom at Farm. Hot's capped. Kitchen at Mill. Cold's capped.", ["Farm bedroom", "Mill kitchen"]),
        ("Up in the farm attic the tank's drained. Bedroom below, the flow's lagged.", ["Attic", "Farm bedroom"]),
        ("Farm bedroom. Rad's hung. Kitchen in here, the waste's glued.", ["Farm bedroom", "Farm kitchen"]),
        ("Farm kitchen. Hot's capped. The wash house, then. Soil's capped.", ["Farm kitchen", "Farm wash house"]),
        ("Attic. Tank's drained. Old office floor, then. The loops are clipped.", ["Attic", *["Flat A lounge"] * 2]),
    ],
)
def test_the_house_is_told_beside_the_room(say: str, rooms: list[str]) -> None:
    assert [f.room for f in heard(say, *TWO_HOUSES).facts] == rooms


LONG_HOUSE = (
    Room("North en suite", "First"),
    Room("South en suite", "First"),
    Room("Kitchen", "Ground"),
    Room("Hall", "Ground", ("lobby",)),
    Room("Landing", "First"),
    Room("Loft", "Loft"),
    Room("Cellar", "Basement"),
)


@pytest.mark.parametrize(
    ("text", "rooms"),
    [
        ("Rad's up in the kitchen. Not the kitchen, the hall.", ["Hall"]),
        ("Rad's up in the kitchen. No, sorry, the landing. Valves are on it.", ["Landing", "Landing"]),
        ("Hot's capped. Cold's clipped. That's the hall.", ["Hall", "Hall"]),
        ("Kitchen. Cold's capped. The hot is clipped along the ceiling, that's the cellar.", ["Kitchen", "Cellar"]),
        ("Under the hall floor the cold is tested.", ["Hall"]),
        ("Landing. The cold is run under the hall floor.", ["Landing"]),
        ("Went through the kitchen to get to the cellar. Cold's capped.", ["Cellar"]),
        ("South en suite, the waste's run. In the north one it's clipped.", ["South en suite", "North en suite"]),
        ("South en suite, not the north one. The waste's run.", ["South en suite"]),
        ("Kitchen and hall rads are hung.", ["Kitchen", "Hall"]),
        ("Kitchen. Rad's hung. Same for the hall.", ["Kitchen", "Hall"]),
        ("Kitchen, basin's on the wall, waste's connected. Hall, same.", ["Kitchen", "Kitchen", "Hall", "Hall"]),
        ("Kitchen. Rad's hung. Landing's to come.", ["Kitchen", "Landing"]),
        ("Kitchen. Tested the hot, six bar. Did the hall as well.", ["Kitchen", "Hall"]),
        ("In the hall the hot's not capped, in the kitchen it is.", ["Hall", "Kitchen"]),
        ("That's the kitchen flushed, the hot, and the hall.", ["Kitchen", "Hall"]),
        ("From the hall through to the kitchen the hot's in twenty-eight.", ["Hall"]),
        ("Kitchen. I fitted the basin, then I went over to the hall and fitted the bath.", ["Kitchen", "Hall"]),
        ("The kitchen rad's hung and the one behind the hall isn't.", ["Kitchen", "Hall"]),
        ("Kitchen, the waste's run. Cellar pump's fitted.", ["Kitchen", "Cellar"]),
        ("Cellar. The cold is run up to the loft but it's not clipped up there.", ["Cellar", "Loft"]),
    ],
)
def test_a_room_said_last_put_right_or_passed_through(text: str, rooms: list[str]) -> None:
    assert [f.room for f in heard(text, *LONG_HOUSE).facts] == rooms


@pytest.mark.parametrize(
    ("text", "rooms"),
    [
        ("Flat two kitchen, cold's capped.", ["Flat 2 kitchen"]),
        ("Capped the cold in flat one's kitchen.", ["Flat 1 kitchen"]),
        ("Flat two's the same story, cold capped in the kitchen.", ["Flat 2 kitchen"]),
        (
            "Flat one, hot's capped in the kitchen. Two wastes are run in the bathroom.",
            ["Flat 1 kitchen", "Flat 2 bathroom"],
        ),
        ("Two wastes are run in the kitchen.", [None]),
    ],
)
def test_a_flat_by_its_number(text: str, rooms: list[str | None]) -> None:
    assert [f.room for f in heard(text, *FLATS).facts] == rooms


def test_everything_opens_a_later_memo_with_what_was_spoken_of_in_that_room() -> None:
    first = heard("In the kitchen, ran the hot and cold. In the loft, ran the waste.", *HOUSE).after
    later = heard("Everything in the kitchen's lagged now.", *HOUSE, before=first)
    assert [(f.subject, f.action, f.room) for f in later.facts] == [
        ("hot", "insulate", "Kitchen"),
        ("cold", "insulate", "Kitchen"),
    ]
