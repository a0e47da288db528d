"""Facts joined into runs: which pipe each fact is about, and what state it is in afterwards."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from short import fact, facts, runs, times

from notes.model import ACTIONS, PIPES, Room, Run, Status
from notes.runs import join
from notes.tracing.phrases import Phrases


def one(*lines: str) -> Run:
    (run,) = runs(*lines)
    return run


def test_one_pipe_through_memos_keeps_which_fact_set_what() -> None:
    run = one(
        "hot run done size_mm=15 material=copper to='the basin'", "hot cap done", "hot test done", "hot cover done"
    )
    assert run.state == ("run", "capped", "tested", "covered")
    assert [step.sets for step in run.steps][1:] == [("capped",), ("tested",), ("covered",)]
    assert (run.size_mm, run.material, run.to, run.memo) == (15, "copper", "the basin", "m4")


def test_ends_tell_pipes_of_one_room_apart() -> None:
    basin, shower = runs(
        "hot run done to='the basin'",
        "hot leave done to='the shower'",
        "hot connect done to='the mixer'",
        "hot cap done place='behind the basin'",
    )
    assert "capped" in basin.state and "connected" not in basin.state
    assert "connected" in shower.state and "open" not in shower.state


def test_what_is_said_next_in_a_memo_is_of_the_pipe_just_spoken_of() -> None:
    sink, machine = runs(
        "cold run done to='the sink' memo=m1",
        "cold cap done place='left of the chimney' memo=m1",
        "cold run done to='washing machine' memo=m1",
        "cold cap done place='by the window' memo=m1",
    )
    assert (sink.place, machine.place) == ("left of the chimney", "by the window")


def test_both_capped_goes_to_the_two_tees_last_spoken_of() -> None:
    trunk, sink, dishwasher = runs(
        "cold run done size_mm=22 from_='the riser' memo=m1",
        "cold tee done size_mm=15 to='the sink' memo=m1",
        "cold tee done size_mm=15 to='the dishwasher' memo=m1",
        "cold cap done count=2 place='behind the units' memo=m1",
    )
    assert "capped" in sink.state and "capped" in dishwasher.state and "capped" not in trunk.state
    assert sink.parent == dishwasher.parent == trunk.key
    assert trunk.branches == (sink.key, dishwasher.key)


def test_a_correction_changes_the_run_and_not_what_was_said() -> None:
    run = one("waste run done size_mm=40 to='the stack'", "waste run done size_mm=50 correction=1")
    assert run.size_mm == 50
    assert [step.fact.size_mm for step in run.steps] == [40, 50]


def test_a_reduction_keeps_both_sizes() -> None:
    run = one("gas cap done size_mm=22 to='the cooker'", "gas join done size_mm=22 to_size_mm=15 to='the cooker'")
    assert (run.size_mm, run.to_size_mm, run.state) == (22, 15, ("capped", "not tested"))


def test_sizes_that_differ_without_a_word_are_two_pipes_one_carrying_on_from_the_other() -> None:
    low, high = runs("mains run done size_mm=35 to='first floor'", "mains run done size_mm=28 from_='first floor'")
    assert (low.size_mm, high.size_mm, high.parent) == (35, 28, low.key)


def test_a_test_of_one_size_leaves_the_other_size_alone() -> None:
    main, spare = runs(
        "mains run done size_mm=32 to='the porch'",
        "mains tee done size_mm=25 to='the dairy'",
        "mains test done size_mm=25",
    )
    assert "tested" not in main.state and "tested" in spare.state


def test_a_pipe_laid_after_the_test_is_not_tested() -> None:
    old, new = runs("gas run done to='the hob'", "gas test done", "gas run done to='the boiler'")
    assert "tested" in old.state and "not tested" in new.state


def test_what_nothing_tells_apart_for_sure_stays_two_and_says_so() -> None:
    capped, cistern = runs("cold cap done place='in the corner'", "cold connect done to='the cistern'")
    assert cistern.maybe_same == (capped.key,) and capped.maybe_same == (cistern.key,)


_TWO_CAPS = ("cold cap done memo=m1 place='at the window'", "cold cap done memo=m1 place='behind the door'")


def test_ends_capped_in_two_places_are_two_pipes_that_may_be_one() -> None:
    window, door = runs(*_TWO_CAPS)
    assert (window.place, door.place) == ("at the window", "behind the door")
    assert window.maybe_same == (door.key,)
    for again in ("cold cap done place='just under the windows'", "cold cap done", "cold leave done place='window'"):
        assert len(runs(_TWO_CAPS[0], again)) == 1, again
    moved = ("cold connect done", "cold cap done place='behind the door'")  # no end stands capped at the window now
    assert len(runs(_TWO_CAPS[0], *moved)) == 1
    assert len(runs(_TWO_CAPS[0], "cold cap done correction=1 place='behind the door'")) == 1


@pytest.mark.parametrize("later", ["cold test done", "cold insulate done", "cold cover done"])
def test_what_is_said_with_no_place_goes_for_both_ends(later: str) -> None:
    assert [run.steps[-1].fact.quote for run in runs(*_TWO_CAPS, later)] == [later, later]


def test_what_is_said_of_one_end_goes_for_that_end() -> None:
    window, door = runs(*_TWO_CAPS, "cold connect done place='by the door'")
    assert ("capped" in window.state, "connected" in door.state) == (True, True)


def test_a_pipe_run_on_from_where_its_end_stood_is_one_pipe() -> None:
    run = one(
        "hot leave done size_mm=28 place='in the bottom'",
        "hot connect done place='down the bottom'",
        "hot run done size_mm=28 from_=bottom to=top",
    )
    assert (run.to, {"connected", "run"} <= set(run.state)) == ("top", True)


def test_a_joint_goes_on_in_another_size_and_material() -> None:
    run = one(
        "heating flow leave done size_mm=35 material=copper place='at the wall'",
        "heating flow join done size_mm=32 material=pex",
    )
    assert "open" not in run.state


def test_the_only_open_end_is_what_the_fixture_was_connected_to_whatever_the_size() -> None:
    assert len(runs("heating flow leave done size_mm=15", "heating flow connect done size_mm=10 to='the rad'")) == 1
    told = "gas leave done size_mm=15 place='by the door'"  # an end of another place may be another pipe's
    assert len(runs(told, "gas connect done size_mm=22 to='the boiler'")) == 2
    told = "heating flow leave done size_mm=15 place='by the door'"  # the only heating in a room is its radiator's
    assert len(runs(told, "heating flow connect done size_mm=10 to='the rad'")) == 1
    told = "cold leave done size_mm=15 place='where the urn hangs'"
    assert len(runs(told, "cold connect done size_mm=22 to='the urn'")) == 1


def test_where_a_pipe_comes_from_is_not_where_it_ends() -> None:
    (run,) = runs("gas run done from_='the meter' quote='over from the meter'", "gas cap done place='under the boiler'")
    assert (run.from_, run.place) == ("the meter", "under the boiler")


def test_what_words_say_it_comes_from_is_not_where_it_ends() -> None:
    run = one(
        "heating flow leave done quote='brought away from the boiler and left open'",
        "heating flow connect done to='the pump'",
    )
    assert run.state == ("connected", "not tested") and run.to == "the pump"
    for way in ("off the back of the cylinder", "off his old boiler", "out of the manifold"):
        one(f"hot leave done quote='{way}, left open'", "hot connect done to='the bath'")


def test_the_place_that_a_pipe_was_run_to_names_no_other_fixture() -> None:
    run = one(
        "cold run done place='behind the fridge space' to='the sink' memo=m1",
        "cold cap done place='behind the fridge space' memo=m1",
    )
    assert run.state == ("run", "capped", "not tested")
    assert len(runs("cold run done place='by the door' to='the sink'", "cold cap done place='behind the fridge'")) == 2


def test_how_a_run_ends_is_told_just_after_it() -> None:
    for place in ("in the corner by the boiler", "where the sink's going", "behind where the old ice machine was"):
        trunk, branch = runs(
            "cold run done size_mm=22 to='the back door'",
            "cold run done size_mm=15 from_='the hall' to='the dishwasher' memo=m2",
            f'cold cap done place="{place}" memo=m2',
        )
        assert ("capped" in trunk.state, "capped" in branch.state) == (False, True), place
    sink = "hot run done to='the sink' memo=m1"
    assert "capped" in one(sink, "hot cap done quote='capped by the copper boiler' memo=m1").state
    assert len(runs(sink, "hot cap done quote='capped the bath tails' memo=m1")) == 2


def test_a_fixture_that_stood_there_once_is_no_end() -> None:
    run = one("cold run done to='the sink'", "cold cap done place='where the old ice machine was'")
    assert run.state == ("run", "capped", "not tested")
    assert len(runs("cold run done to='the sink'", "cold cap done place='where the ice machine goes'")) == 2


def test_a_waste_named_beside_a_soil_has_its_own_fixture() -> None:
    one("soil run done from_='the toilet'", "soil cover done quote='concrete over the shower waste and the soil'")


def test_a_pipe_run_anew_after_it_was_pulled_out_is_where_the_old_one_was() -> None:
    run = one(
        "heating flow leave done size_mm=22 material=multilayer place='by the chimney'",
        "heating flow remove done memo=m2",
        "heating flow run done size_mm=28 material=copper memo=m2",
        "heating flow cap done memo=m2",
    )
    assert (run.place, run.material, run.size_mm) == ("by the chimney", "copper", 28)
    assert run.state == ("run", "capped", "not tested")


def test_what_is_tested_in_a_size_that_nothing_has_is_what_lies_there() -> None:
    told = "mains run done size_mm=25 place='under the path'"
    assert "covered" in one(told, "mains cover done size_mm=32").state
    other = "mains run done size_mm=22 to='the shed'"
    path, shed, *none = runs(told, other, "mains test done size_mm=32 place='under that path'")
    assert ("tested" in path.state, "tested" in shed.state, none) == (True, False, [])


def test_tails_that_stood_a_test_wait_for_their_radiator_still() -> None:
    trunk, tails = runs(
        "heating flow run done size_mm=22 to='the window'",
        "heating flow leave done size_mm=15 to='each one'",
        "heating flow test done pressure_bar=3",
        "heating flow connect done to='the rads'",
    )
    assert {"connected", "tested"} <= set(tails.state) and "connected" not in trunk.state


def test_the_place_of_a_pipe_is_neither_doubted_nor_given_up_nor_how_far_its_clips_are_apart() -> None:
    (run,) = runs(
        "hot cap unsure place='under the boards'",
        "hot run dropped place='over the path'",
        "hot run done place='along the wall'",
        "hot clip done place='every half metre'",
        "hot cap done place='at the tap end'",
    )
    assert run.place == "at the tap end; along the wall; under the boards"
    for apart in ("every joist", "every couple of metres", "at two hundred centres"):
        assert one(f"hot clip done place='{apart}'", "hot run done place='along the wall'").place == "along the wall"
    assert one("hot leave done place='at each rad'").place == "at each rad"


def test_the_second_of_two_basins_is_the_end_that_stands_open() -> None:
    first, second = runs(
        "hot cap done place='the first basin' memo=m1",
        "hot leave done place='by the mirror' memo=m1",
        "hot cap done place='second basin'",
    )
    assert first.state == second.state == ("capped", "not tested")


def test_a_drain_comes_from_what_it_is_connected_to() -> None:
    (run,) = runs("overflow run done to='the eaves'", "overflow connect done to='the tank'")
    assert (run.from_, run.to) == ("the tank", "the eaves")


def test_the_one_end_that_stands_open_is_what_is_capped_or_connected() -> None:
    named = ("cold cap done to='the bath'", "cold cap done to='the basin'")
    *_, frame = runs(*named, "cold leave done place='behind the frame'", "cold cap done quote='capped the toilet cold'")
    assert (frame.place, frame.state) == ("behind the frame", ("capped", "not tested"))
    header = "heating flow run done to='the two radiators'"
    _, second = runs(
        header, "heating flow tee done to='each one' size_mm=15",
        "heating flow leave done place='out of the skirting' to='the other one' memo=m2",
        "heating flow connect done to='the radiator'",
    )  # fmt: skip
    assert "connected" in second.state


def test_ends_of_two_places_in_one_memo_are_two() -> None:
    one = "cold cap done place='left of the window' memo=m1"
    assert len(runs(one, "cold leave done place='behind the frame' memo=m1")) == 2
    assert len(runs(one, "cold leave done place='behind the frame' memo=m2")) == 1  # it may have been cut and moved


def test_a_way_that_was_dropped_and_the_one_instead_are_two() -> None:
    gone, new = runs(
        "condensate run dropped to='the cliff' memo=m1", "condensate run to-do to='the soakaway' memo=m1",
        "condensate run done to='the soakaway' memo=m2",
    )  # fmt: skip
    assert ("dropped" in gone.state, "run" in new.state, new.to) == (True, True, "the soakaway")


def test_a_test_of_another_size_is_of_the_pipe_at_that_fixture() -> None:
    (run,) = runs("gas cap done size_mm=28 place='under the boiler'", "gas test done size_mm=22 place='at the boiler'")
    assert "tested" in run.state


def test_what_is_not_lagged_lies_where_it_is_said_to() -> None:
    (run,) = runs(
        "heating flow connect done place='at the rad'", "heating flow insulate not-done place='under the floor'"
    )
    assert run.place == "at the rad; under the floor"
    (run,) = runs("heating flow connect done place='at the rad'", "heating flow run not-done place='under the floor'")
    assert run.place == "at the rad"


def test_the_machine_may_be_any_machine() -> None:
    tee, cap = "cold tee done memo=m1 to='the washer'", "cold cap done memo=m1 place='behind the machine space'"
    assert [run.place for run in runs("cold connect done to='the sink'", tee, cap)] == [
        None,
        "behind the machine space",
    ]
    assert len(runs("cold cap done to='the fan coil'", "cold connect done to='fan coils'")) == 1


def test_what_a_pipe_is_joined_to_and_how_far_its_tails_hang_out_is_not_what_it_is() -> None:
    (run,) = runs(
        "heating flow run done size_mm=35 material=copper",
        "heating flow leave done length_m=1",
        'heating flow join done size_mm=40 to="his forty"',
    )
    assert (run.size_mm, run.to_size_mm, run.length_m) == (35, 40, None)


def test_a_run_goes_on_through_the_rooms_it_is_said_to_go_to() -> None:
    said = [
        fact("cold run done size_mm=28 to='the back kitchen'", 0, "Boot room"),
        fact("cold run done size_mm=28 to='the loft'", 1, "Scullery"),
        fact("cold cap done", 2, "Loft"),
    ]
    rooms = (Room("Boot room"), Room("Scullery", "", ("back kitchen",)), Room("Loft"))
    first = next(r for r in join(said, times(said), rooms) if r.room == "Boot room")
    assert first.rooms == ("Boot room", "Scullery", "Loft")


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (("hot leave done", "hot test done pressure_bar=6"), ("not open", "tested")),
        (("waste leave done", "waste test done"), ("open", "tested")),
        (("hot leave done", "hot test failed pressure_bar=6"), ("open", "not tested", "failed")),
        (("hot test done", "hot test failed"), ("not tested", "failed")),
        (("hot cap done", "hot connect done"), ("not capped", "connected")),
        (("hot run done", "hot insulate not-done"), ("not insulated",)),
        (("hot insulate not-done", "hot insulate done"), ("insulated", "not not insulated")),
        (("hot run dropped",), ("dropped", "not run", "not not tested")),
        (("hot cap done", "hot remove done"), ("removed", "not capped")),
        (("cold cap done temporary=1",), ("temporary",)),
        (("cold cap done temporary=1", "cold cap done"), ("not temporary", "capped")),
        (("hot cap unsure",), ("not capped",)),
        (("hot run to-do",), ("not run", "not not tested")),
        (("hot leave done", "hot join done"), ("not open", "connected")),
        (("mains leave done", "mains join done size_mm=25 to_size_mm=22"), ("not open", "connected")),
        (("mains cap done temporary=1", "mains join done size_mm=25 to_size_mm=22"), ("connected", "not temporary")),
        (
            ("cold cap done to='the toilet'", "cold test failed", "cold join done to='the toilet'"),
            ("capped", "not connected"),
        ),
        (("hot cap done", "hot join done"), ("capped", "not connected")),
        (("hot cap done", 'hot join done to="the tee" quote="remade the tee"'), ("capped", "not connected")),
        (("hot cap done", "hot join done to='the new pipe'"), ("not capped", "connected")),
        (("hot run done", "hot join dropped"), ("dropped",)),
        (("hot leave done", "hot join done to='the two open ends'"), ("not open", "connected")),
        (("hot cap done", "hot join done size_mm=22 to_size_mm=15 to='the basin'"), ("capped", "not connected")),
    ],
)
def test_state(lines: tuple[str, ...], told: tuple[str, ...]) -> None:
    state = set(one(*lines).state)
    for word in told:
        absent = word.removeprefix("not ") if word.startswith("not ") and word not in _NOTS else None
        assert (absent not in state) if absent else (word in state), (word, state)


_NOTS = ("not tested", "not insulated")


def test_a_test_with_no_room_reaches_the_service_in_every_room() -> None:
    said = [
        fact("hot cap done", 0, "Kitchen"),
        fact("hot cap done", 1, "Bathroom"),
        fact("cold cap done", 2, "Bathroom"),
        fact("hot test done", 3, None),
    ]
    assert [("tested" in r.state) for r in join(said, times(said))] == [True, True, False]


def test_a_whole_floor_is_reached_and_no_other() -> None:
    said = [
        fact("hot cap done", 0, "Bathroom"),
        fact("hot cap done", 1, "Landing"),
        fact("hot cap done", 2, "Cellar"),
        fact("hot test done everywhere=1", 3, "Landing"),
    ]
    rooms = (Room("Bathroom", "First"), Room("Landing", "First"), Room("Cellar", "Basement"))
    tested = {r.room for r in join(said, times(said), rooms) if "tested" in r.state}
    assert tested == {"Bathroom", "Landing"}


def test_phrases_are_found_longest_first_and_not_across_a_stop() -> None:
    table = Phrases([("flow", "half"), ("flow and return", "pair"), ("wash-hand basin", "basin")])
    found, rest = table.split("Flow and return, then the wash hand basin's flow. And return")
    assert [f.key for f in found] == ["pair", "basin", "half"]
    assert rest == ", then the . and return"


def test_the_order_that_facts_are_handed_in_does_not_matter() -> None:
    said = facts("hot run done to='the basin'", "hot cap done", "hot leave done to='the shower'", "hot test done")
    found = {join(list(order), times(said)) for order in permutations(said)}
    assert len(found) == 1


_FACTS = st.lists(
    st.builds(
        lambda n, room, subject, action, status, size, to: replace(
            fact("hot run done", n, room), subject=subject, action=action, status=status, size_mm=size, to=to
        ),
        st.integers(0, 9),
        st.sampled_from(["Kitchen", "Bathroom", None]),
        st.sampled_from(PIPES),
        st.sampled_from(ACTIONS),
        st.sampled_from(list(Status)),
        st.sampled_from([None, 15.0, 22.0]),
        st.sampled_from([None, "the basin", "the bath"]),
    ),
    max_size=25,
    unique_by=lambda f: f.n,
)


@given(_FACTS)
def test_every_fact_of_a_pipe_is_a_step_of_some_run(said: list) -> None:  # type: ignore[type-arg]
    found = join(said, times(said))
    assert {step.fact for run in found for step in run.steps} == set(said)
    assert len({run.key for run in found}) == len(found)


@given(_FACTS)
def test_a_fact_of_another_room_changes_no_run(said: list) -> None:  # type: ignore[type-arg]
    kitchen = [f for f in said if f.room == "Kitchen"]
    other = replace(fact("gas cap done", 8, "Garage"), n=99)
    with_other = [r for r in join([*kitchen, other], times([*kitchen, other])) if r.room == "Kitchen"]
    assert with_other == list(join(kitchen, times(kitchen)))
