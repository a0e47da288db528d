"""Sizes, materials, places, ends, pressures, times and counts: whose each is."""

from __future__ import annotations

from typing import Any

import pytest
from dictation import heard

from notes.reading.clauses import clauses, listed, sentences

SAID: dict[str, list[dict[str, Any]]] = {
    "Hot and cold in fifteen copper, capped behind the basin.": [
        {"subject": "hot", "size_mm": 15, "material": "copper", "place": "behind the basin"},
        {"subject": "cold", "size_mm": 15, "material": "copper", "place": "behind the basin"},
    ],
    "Capped the waste, inch and a half.": [{"subject": "waste", "size_mm": 40}],
    "The gas is run in three-quarter steel.": [{"subject": "gas", "size_mm": 20, "material": "steel"}],
    "Ran the soil in four inch.": [{"subject": "soil", "size_mm": 110}],
    "Reduced the cold from twenty-two to fifteen.": [{"action": "join", "size_mm": 22, "to_size_mm": 15}],
    "Cold for the tap, fifteen, teed out of the twenty-eight and capped.": [
        {"action": "tee", "size_mm": 15},
        {"action": "cap", "size_mm": 15},
    ],
    "Tested the hot at ten bar for half an hour.": [{"pressure_bar": 10, "duration_min": 30, "failed": False}],
    "I put six bar on the cold and it lost two in ten minutes.": [
        {"pressure_bar": 6, "duration_min": 10, "failed": True}
    ],
    "I put four bar on the main, after ten minutes it is three.": [
        {"pressure_bar": 4, "duration_min": 10, "failed": True}
    ],
    "Pumped the main to six bar and it were down to four inside ten minutes.": [
        {"pressure_bar": 6, "duration_min": 10, "failed": True}
    ],
    "I put twenty millibar on the gas and it stood there five minutes and never dropped a hair.": [
        {"pressure_bar": 0.02, "duration_min": 5, "failed": False}
    ],
    "Ran water down the shower waste, no leaks.": [{"failed": False}],
    "I tested the oil after he'd done, one bar for an hour, sound as a bell.": [
        {"pressure_bar": 1, "duration_min": 60, "failed": False}
    ],
    "Tested the gas at twenty millibar for two minutes, it failed.": [
        {"pressure_bar": 0.02, "duration_min": 2, "failed": True}
    ],
    "Ran the cold six metres along the wall.": [{"length_m": 6, "place": "along the wall"}],
    "Order six blending valves.": [{"subject": "valve", "count": 6}],
    "Need half a dozen clips.": [{"subject": "clips", "count": 6}],
    "Pick up a pair of fifteen isolators.": [{"subject": "valve", "count": 2, "size_mm": 15}],
    "Both radiators are hung.": [{"subject": "radiator", "count": 2}],
    "Basins are in, four of them.": [{"subject": "basin", "count": 4}],
    "All three wastes are run.": [{"subject": "waste", "count": 3}],
    "The gas is run.": [{"subject": "gas", "count": None}],
    "Notched a couple of joists, fifteen deep.": [{"size_mm": 15, "count": 2}],
    "We need four fifteen elbows and three twenty-two tees, and a pressure gauge.": [
        {"subject": "fitting", "count": 4, "size_mm": 15},
        {"subject": "fitting", "count": 3, "size_mm": 22},
        {"subject": "fitting", "count": None, "size_mm": None},
    ],
    "Order a twenty-two pump valve and twenty elbows fifteen mil.": [
        {"subject": "valve", "count": None},
        {"subject": "fitting", "count": 20},
    ],
    "I need a fifty mil trap, a forty mil trap.": [{"size_mm": 50}, {"size_mm": 40}],
    "I ran out of connectors, so can you order me four more.": [{"subject": "fitting", "count": 4}],
    "They delivered six rads. I've hung the six.": [{"action": "order", "count": 6}, {"action": "fit", "count": 6}],
    "Expansion vessel, we're one short, put that on the order.": [{"count": 1}],
    "Secondly, meters, there's three gas meters to go in down here.": [{"subject": "meter", "count": 3}],
    "Need three elbows, two radiator valves and clips.": [
        {"subject": "fitting", "count": 3},
        {"subject": "valve", "count": 2},
        {"subject": "clips", "count": None},
    ],
    "Ran the hot from the cylinder to the bath.": [{"from_": "the cylinder", "to": "the bath"}],
    "Ran the cold in fifteen, no, hang on, twenty-two.": [{"size_mm": 22}],
    "Mick said twenty-two for the hot, well I've had the gauge on it and it's twenty-eight.": [{"size_mm": 28}],
    "The waste isn't forty, it's fifty, and it's glued.": [{"size_mm": 50}],
    "Cold's capped in fifteen mil, not fifteen, twenty-two, behind the pan.": [{"size_mm": 22}],
    "The oil comes in at ten copper, the drawing says twelve but I looked.": [{"size_mm": 10, "material": "copper"}],
    "Ned told you the hot's fifteen copper. I've read it off the pipe and it's twenty-two.": [{"size_mm": 22}],
    "Waste run in forty, sorry, fifty, ignore forty.": [{"size_mm": 50}],
    "Hot's in twenty-two, it actually measures twenty.": [{"size_mm": 20}],
    "Hot's run in twenty-eight round the skirting, fifteen drops, and they're capped.": [
        {"action": "run", "size_mm": 28},
        {"action": "cap", "size_mm": 15},
    ],
    "Cold in twenty-two over the ceiling, dropping to fifteen, and it's left open.": [
        {"action": "run", "size_mm": 22},
        {"action": "leave", "size_mm": 15},
    ],
    "The discharge is fifteen to the tundish and twenty-two after, and it's left open.": [
        {"action": "run", "size_mm": 15},
        {"action": "leave", "size_mm": 22},
    ],
    "The hot's run in twenty-two with fifteen to each basin, and it's connected to the main.": [
        {"action": "run", "size_mm": 22},
        {"action": "connect", "size_mm": 22},
    ],
    "Hot's in fifteen drops from the loft, capped.": [{"size_mm": 15}, {"action": "cap", "size_mm": 15}],
    "Cold's come up in fifteen copper and it's left as tails, a hundred and fifty proud of the boards.": [
        {"action": "run", "size_mm": 15},
        {"action": "leave", "size_mm": 15},
    ],
    "The hot's capped, two hundred up.": [{"size_mm": None}],
    "The soil's run, hundred and ten up through the roof.": [{"size_mm": 110}],
    "I notched two joists, depth two hundred twenty, notches twenty deep.": [{"size_mm": 20, "count": 2}],
    "The cold's run in inch iron, and I've joined twenty-eight copper on to it.": [{"size_mm": 25}],
    "The old main's in lead, three-quarter.": [{"size_mm": 22, "material": "lead"}],
    "Order a four inch clay to plastic coupling.": [{"size_mm": 110}],
    "I need one twenty-eight elbow.": [{"subject": "fitting", "count": 1, "size_mm": 28}],
    "I need three reducers, twenty-eight to twenty-two.": [{"count": 3, "size_mm": 28, "to_size_mm": 22}],
    "Bath hot, cold and waste are run, twenty-two copper, inch and a half for the waste.": [
        {"subject": "hot", "size_mm": 22},
        {"subject": "cold", "size_mm": 22},
        {"subject": "waste", "size_mm": 40},
    ],
    "Bath waste is run to the soil in forty.": [{"size_mm": 40}],
    "The basin waste is inch and a quarter from the trap to the stack.": [{"size_mm": 32}],
    "The hot's run in twenty-four multilayer.": [{"size_mm": 24}],
    "Ned reckons the cold's twenty-two, with fifteen to each basin.": [{"subject": "cold", "size_mm": 22}],
    "Mick said the cold's twenty-two, and the hot's in fifteen.": [
        {"subject": "cold", "size_mm": 22},
        {"subject": "hot", "size_mm": 15},
    ],
    "Gas is 32 from the meter to the wall of the house, then it drops to 28 inside.": [
        {"action": "run", "size_mm": 32, "from_": "the meter", "to": "the wall of the house"},
        {"action": "join", "size_mm": 32, "to_size_mm": 28, "to": None},
    ],
    "I've changed the main to twenty-eight copper.": [{"action": "join", "size_mm": None}],
    "Main comes in at the back in 25 blue, goes on to 22 copper with a coupler.": [
        {"action": "run", "size_mm": 25},
        {"action": "join", "size_mm": 25, "to_size_mm": 22},
    ],
    "Soil's in 110 from the pan to the stack.": [
        {"size_mm": 110, "from_": "the pan", "to": "the stack", "place": None}
    ],
    "Wastes inch and a quarter into a 2 inch along the back wall.": [{"size_mm": 32}],
    "Flow and return to the towel rail in 15 plastic with 10 mil drops.": [{"size_mm": 15}, {"size_mm": 15}],
    "Hot and return, 35 and 22, cold in 28 beside them, and all three capped.": [
        {"subject": "hot", "action": "cap", "size_mm": 35},
        {"subject": "hot return", "action": "cap", "size_mm": 22},
        {"subject": "cold", "action": "cap", "size_mm": 28},
    ],
    "Drilled four joists for the 22s, 28 mil holes, all in the middle.": [{"size_mm": 28, "place": "in the middle"}],
    "I need fifty clips for the hot.": [{"subject": "clips", "count": 50, "size_mm": None}],
    "Need 20 22 mil clips.": [{"subject": "clips", "count": 20, "size_mm": 22}],
    "Flow and return, 22 copper, run round at skirting level to six radiators.": [
        {"to": "six radiators", "place": "at skirting level"}
    ]
    * 2,
    "Safety valve discharge, twenty-two to the tundish.": [{"from_": "Safety valve", "to": "the tundish"}],
    "Shower waste's glued into the soil.": [{"from_": "Shower", "to": "the soil"}],
    "Hot and cold dropped in from the riser in fifteen.": [{"from_": "the riser", "place": None}] * 2,
    "Flow and return out of the header in 35, same pair, as far as the bar wall.": [
        {"from_": "the header", "to": "the bar wall"}
    ]
    * 2,
    "The waste is in, inch and a half, out through the wall to the gully.": [{"from_": None, "to": "the gully"}],
    "Radiator's on. Flow and return connected to it, 22.": [{}, {"to": "Radiator"}, {"to": "Radiator"}],
    "The rainwater's connected to the drain.": [{"to": "the drain", "from_": None}],
    "Flow and return connected at the manifold.": [{"to": "the manifold", "place": None}] * 2,
    "Hot and cold capped at about 1100, left-hand wall.": [{"place": "at about 1100, left-hand wall"}] * 2,
    "The waste is clipped every half metre.": [{"place": "every half metre"}],
    "Cold capped low down behind the pan, just under the sill.": [
        {"place": "low down behind the pan, just under the sill"}
    ],
    "In the airing cupboard the cylinder has its cold connected.": [{"place": None}],
    "The hot and cold are capped, left side of the chimney breast.": [{"place": "left side of the chimney breast"}] * 2,
    "I've capped the waste over in the corner.": [{"place": "over in the corner"}],
    "The pump's in place.": [{"place": None}],
    "Capped the cold, temporary for now.": [{"temporary": True}],
    "Drilled two twenty-two holes in the joists, two hundred deep.": [{"size_mm": 22, "depth_mm": 200, "count": 2}],
    "Capped the hot three hundred off the window.": [{"size_mm": None, "place": "three hundred off the window"}],
    "Hot in twenty-two and cold in fifteen, both capped.": [{"size_mm": 22}, {"size_mm": 15}],
    "Connected the cold to the old lead.": [{"material": None}],
    "Ran the hot in fifteen, wait no what am I saying, sixteen multilayer.": [{"size_mm": 16}],
    "Cold's run in fifteen, no I'm lying, twenty-two copper.": [{"action": "run", "size_mm": 22}],
    "I ran the cold in fifteen, face like a wet Sunday, twenty-two.": [{"size_mm": 22}],
    "Ran the cold in twenty-two and then fifteen from the tee.": [{"size_mm": 22}],
    "Hot is run in fifteen. No wait. Sixteen.": [{"size_mm": 16}],
    "Capped the hot, fifteen. Hang on. Twenty-two. Then it's done.": [{"size_mm": 22}],
    "Basin waste, thirty-two, I've connected that up to the hundred and ten.": [{"size_mm": 32}],
    "The hot, fifteen that is, is connected on to the old twenty-two.": [{"size_mm": 15}],
    "Insulation's on the hot, twenty-five thick.": [{"size_mm": None}],
    "Pump's fitted on the return, it's a twenty-two.": [{"subject": "pump", "size_mm": 22}],
    "Four metres of twenty-two for the hot, run and clipped.": [{"size_mm": 22}] * 2,
    "The gas lost four. It's weeping at the union on the left-hand boiler, I'll remake that tonight.": [
        {"action": "join", "place": "at the union on the left-hand boiler"}
    ],
    "Test's failed on the hot, it's an elbow in the stud wall, I'll remake the joint on the hot tomorrow.": [
        {"action": "join", "place": "in the stud wall"}
    ],
    "The cylinder is in, standing on the brick plinth.": [{"place": "on the brick plinth"}],
    "The cylinder's in and stood on its pad.": [{"place": "on its pad"}],
    "Two rads hung, both under the windows.": [{"place": "under the windows", "count": 2}],
    "The boiler's in, where it belongs.": [{"place": None}],
    "The cold's teed off the main in twenty-two.": [{"action": "tee", "size_mm": 22, "from_": "the main"}],
    "Hot return's sixteen multilayer, teed from hot behind the basin.": [{"from_": "hot", "place": "behind the basin"}],
    "The waste of the shower is fifty, it goes under the floor to the stack.": [
        {"from_": "the shower", "to": "the stack", "place": "under the floor"}
    ],
    "Waste of bath is inch and half, connected.": [{"from_": "bath", "size_mm": 40}],
    "The cylinder's in, and the discharge off it is run in twenty-two to the yard.": [
        {},
        {"subject": "discharge", "from_": "cylinder", "to": "the yard"},
    ],
    "The basin's up and the waste from it is run to the stack.": [{}, {"from_": "basin", "to": "the stack"}],
    "Condensate off the pair of them is run in thirty-two to the drain.": [
        {"from_": "the pair of them", "to": "the drain"}
    ],
    "Shower waste is two inch, run to the stack and glued in.": [
        {"action": "run", "from_": "Shower", "to": "the stack"},
        {"action": "connect", "from_": "Shower", "to": "the stack"},
    ],
    "The oil is run across to the east boiler in ten mil copper and it's not connected.": [{"to": "the east boiler"}]
    * 2,
    "The cold is run to the wall and it's not connected.": [{"to": "the wall"}, {"action": "connect", "to": None}],
    "Valve's fitted for the shower and the cold's connected to it.": [{}, {"to": "Valve"}],
    "The sink's in and the waste is connected to it.": [{}, {"subject": "waste", "to": "sink"}],
    "Four new rads, they're hung, flow and return connected to every one.": [{}] + [{"to": "rads"}] * 2,
    "I've connected the big rad, flow and return.": [{"to": "the big rad"}] * 2,
    "Cylinder's in. Cold in and hot out are twenty-two copper, both connected.": [{}] + [{"to": "Cylinder"}] * 2,
    "Basin's in, its waste is run.": [{}, {"subject": "waste", "from_": "Basin", "to": None}],
    "The waste is solvented in the soil.": [{"to": "the soil"}],
    "The waste goes through the outside wall in the gully.": [{"to": "the gully", "place": "through the outside wall"}],
    "Bath waste, that's inch and a quarter to the stack.": [{"size_mm": 32, "to": "the stack"}],
    "Flow's run in fifteen from the landing to under the window.": [
        {"from_": "the landing", "to": "under the window", "place": None}
    ],
    "Bath hot and cold are run to under the window.": [{"to": "Bath", "place": "under the window"}] * 2,
    "The sink's been moved to under the window.": [{"place": "under the window"}],
    "I've put a bung in the soil.": [{"action": "cap", "to": None}],
    "The basin's up, hot and cold come through the floor to it in fifteen.": [{}] + [{"to": "basin"}] * 2,
    "The main wants lagging in here, every inch.": [{"size_mm": None}],
    "Cold's insulated, every inch of the way.": [{"size_mm": None}],
    "Hot and cold are insulated now, twenty-five millimetre, with clean mitres.": [{"size_mm": None}] * 2,
    "Lagged the flow, twenty-eight mil.": [{"size_mm": 28}],
    "Return's not lagged, it wants forty mil on it.": [{"size_mm": None}],
    "Flow there's fifteen copper and it's not lagged.": [{"action": "insulate", "size_mm": None}],
    "The nineteen mil insulation came.": [{"action": "order", "size_mm": None}],
    "The lagging's come, all ten length.": [{"action": "order", "size_mm": None}],
    "Sink waste, inch and a half, went through three joists, fifty mil holes.": [
        {"subject": "waste", "size_mm": 40},
        {"subject": "joist", "size_mm": 50, "count": 3},
    ],
    "Bath waste's in, inch and a half, and for that I notched a joist, forty-five deep.": [
        {"subject": "waste", "size_mm": 40},
        {"subject": "joist", "size_mm": 45},
    ],
    "I drilled three joists for that, two twenty deep, holes are fifty.": [{"size_mm": 50, "depth_mm": 220}],
    "Joist is two hundred twenty-five deep, I drilled it, hole is forty mil.": [{"size_mm": 40, "depth_mm": 225}],
    "Joists are one hundred fifty deep, I notched three, twenty mil.": [{"size_mm": 20, "depth_mm": 150}],
    "I ran new soil, one hundred ten UPVC, to the stack.": [{"size_mm": 110, "material": "upvc"}],
    "The waste, two inch, is connected to the one hundred ten.": [{"size_mm": 50}],
    "Wastes are run in two inch, and I've welded them on the hundred and ten.": [{"size_mm": 50}, {"size_mm": None}],
    "Order a coupling for the soil, four inch.": [{"subject": "fitting", "size_mm": 110}],
    "I need a trap, a shallow one, there's only ninety mil to play with.": [{"size_mm": None}],
    "Waste is two inch, run from bay one right through to ten, connected.": [{"size_mm": 50}] * 2,
    "Cold's come down from fifteen to ten.": [{"action": "join", "size_mm": 15, "to_size_mm": 10}],
    "Main comes in by the door, sixty-three MDPE, they've left a cap on it, and I've to go from that into 54 copper.": [
        {"action": "run", "size_mm": 63, "material": "mdpe"},
        {"action": "cap", "size_mm": 63, "material": "mdpe"},
    ],
    "I ran the cold along the wall, twenty-eight copper, then I teed down to each head, fifteen, and they're capped.": [
        {"action": "run", "size_mm": 28},
        {"action": "tee", "size_mm": 15},
        {"action": "cap", "size_mm": 15},
    ],
    "Hot comes up in 22 and I've run it behind the panels, and there's fifteen dropped to every shower, capped.": [
        {"action": "run", "size_mm": 22},
        {"action": "cap", "size_mm": 15},
    ],
    "Hot goes up to the door in 28, and the hot return, 22, is next to it, and both of them I've left open.": [
        {"subject": "hot", "action": "run", "size_mm": 28},
        {"subject": "hot", "action": "leave", "size_mm": 28},
        {"subject": "hot return", "action": "leave", "size_mm": 22},
    ],
    "Discharge is run in twenty-two to the wall, and it's got to go on out to the yard.": [
        {"status": "done", "size_mm": 22},
        {"status": "to do", "size_mm": None},
    ],
    "I've told you the cold was twenty-two, well I've put my calipers on it and it's fifteen.": [{"size_mm": 15}],
}


@pytest.mark.parametrize("text", SAID, ids=str)
def test_slots(text: str) -> None:
    facts = heard(text).facts
    assert len(facts) >= len(SAID[text])
    for fact, wanted in zip(facts, SAID[text], strict=False):
        assert {name: getattr(fact, name) for name in wanted} == wanted


def test_quotes_are_the_memos_own_words() -> None:
    text = "Kitchen's a mess. I've capped the hot, twenty-two mil, behind the sink. Cheers."
    for fact in heard(text).facts:
        assert text[fact.start : fact.end] == fact.quote


def test_same_again_carries_pressure_and_time() -> None:
    first, second = heard("Tested the hot at ten bar for an hour. And the cold, same again.").facts
    assert (second.subject, second.pressure_bar, second.duration_min) == ("cold", 10, 60)
    assert first.pressure_bar == 10


def _parts(text: str) -> list[str]:
    from dictation import row

    nodes = row(text)
    return [
        " ".join(n.norm for n in nodes[c.start : c.end])
        for start, end in sentences(nodes)
        for c in clauses(nodes, start, end)
    ]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("Capped the hot, and tested it.", ["capped the hot", "tested it"]),
        ("Hot, cold and gas are in.", ["hot , cold and gas are in"]),
        ("Capped it. Tested it.", ["capped it", "tested it"]),
        ("Not testing till the mixer's on.", ["not testing", "till the mixer 's on"]),
        ("", []),
    ],
)
def test_clauses(text: str, parts: list[str]) -> None:
    assert _parts(text) == parts


def test_lists() -> None:
    from dictation import row

    nodes = row("hot, cold and hot return to the bath, gas")
    groups = listed(nodes, 0, len(nodes), lambda n: n.kind == "service")
    assert [[nodes[i].keys[0] for i in g] for g in groups] == [["hot", "cold", "hot return"], ["gas"]]


@pytest.mark.parametrize(
    ("text", "went"),
    [
        (
            "Had the hot and cold up to six bar. Hot stood half an hour, held. Cold was down to four in ten minutes.",
            {"hot": (6, 30, False), "cold": (6, 10, True)},
        ),
        (
            "I pumped hot and cold to six bar. Cold is fine, one hour. Hot came down to two in fifteen minutes.",
            {"hot": (6, 15, True), "cold": (6, 60, False)},
        ),
        (
            "Eight bar on the hot, the cold and the hot return. Hot and cold, one hour, no drop. Hot return lost two.",
            {"hot": (8, 60, False), "cold": (8, 60, False), "hot return": (8, None, True)},
        ),
        ("I put six bar on the cold. After thirty minutes, five bar.", {"cold": (6, 30, True)}),
        (
            "Six bar on the hot, half an hour, held. I put two bar on the cold, an hour, held.",
            {"hot": (6, 30, False), "cold": (2, 60, False)},
        ),
    ],
)
def test_later_sentences_tell_how_each_pipe_of_a_test_went(text: str, went: dict[str, tuple[object, ...]]) -> None:
    told = {f.subject: (f.pressure_bar, f.duration_min, f.failed) for f in heard(text).facts if f.action == "test"}
    assert told == went
