"""The catalogue's own examples, what a follow-up carries, its life, and the labelled scenarios."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import timedelta
from time import process_time

import labelled
import pytest
from hypothesis import given
from hypothesis import strategies as st
from short import MONDAY, checked, fact, facts, memos, still_open, times

from notes.checking.catalogue import parse, rules
from notes.checking.due import due, sentence
from notes.checking.numerals import number
from notes.checks import concerns, follow_ups, touched
from notes.errors import VoidbookError
from notes.model import Fact, FollowUp, Job, Photo, Room, Severity
from notes.runs import join

GUIDE = {
    "capped-not-tested",
    "covered-not-tested",
    "covered-no-photo",
    "open-end",
    "not-insulated",
    "test-incomplete",
    "test-failed",
    "odd-size",
    "size-conflict",
    "joist-hole",
    "temporary",
    "to-do",
    "to-order",
    "decision",
    "ask",
    "unsure",
}


def _job(lines: tuple[str, ...]) -> Job:
    """A job where the example says what pressure the service works at."""
    working = {fact(line).subject: float(line.split("working=")[1].split()[0]) for line in lines if "working=" in line}
    return Job("Test", (Room("Kitchen", "Ground"),), working_pressure_bar=working)


@pytest.mark.parametrize(
    ("check", "lines", "stands"),
    [
        *((c.id, lines, True) for c in rules().checks for lines in c.examples_open),
        *((c.id, lines, False) for c in rules().checks for lines in c.examples_shut),
    ],
)
def test_the_catalogue_s_examples(check: str, lines: tuple[str, ...], stands: bool) -> None:
    assert (check in still_open(facts(*lines), _job(lines))) is stands


def test_every_check_of_a_room_has_an_example_that_opens_and_then_closes() -> None:
    def opens_first(check: str, lines: tuple[str, ...]) -> bool:
        return any(check in still_open(facts(*lines[:n]), _job(lines)) for n in range(1, len(lines)))

    for check in rules().checks:
        assert check.scope == "job" or any(opens_first(check.id, lines) for lines in check.examples_shut), check.id


def test_every_check_has_both_kinds_of_example_a_source_and_words() -> None:
    assert {c.id for c in rules().checks} > GUIDE
    for check in rules().checks:
        assert check.examples_open and check.examples_shut, check.id
        assert check.source and check.settled.endswith("."), check.id
        assert not {"safe", "compliant"} & set(f"{check.title} {check.settled} {check.caution}".lower().split())


def test_a_follow_up_carries_the_words_the_memo_the_limit_and_what_closes_it() -> None:
    (found,) = checked(facts("joist notch done size_mm=30 depth_mm=150 quote='notched one thirty mil deep' second=7"))
    assert (found.check, found.memo, found.second) == ("joist-hole", "m1", 7)
    assert found.quote == "notched one thirty mil deep"
    assert "18 mm" in found.title and "NHBC's rules: 22 mm" in found.limit
    assert "NBS 670" in found.source and "(quoted)" in found.source
    assert "structural engineer" in found.caution and found.closes


def test_it_names_the_fact_that_closed_it() -> None:
    (found,) = checked(facts("gas cap done", "gas connect done quote='on to the hob'"), Job("T"))[1:]
    assert (found.check, found.closed_by) == ("capped-not-tested", "m2: on to the hob")
    assert found.closed_at == MONDAY + timedelta(hours=2)


def test_it_is_open_again_once_the_closing_fact_is_corrected() -> None:
    said = facts("hot cap done", "hot test done pressure_bar=6 duration_min=60")
    assert "capped-not-tested" not in still_open(said)
    assert "capped-not-tested" in still_open([said[0], replace(said[1], failed=True)])


def test_what_was_opened_and_closed_in_one_memo_is_no_follow_up() -> None:
    assert not checked(facts("cold leave done memo=m1", "cold connect done memo=m1"))


def test_a_part_still_undone_keeps_it_open() -> None:
    said = facts(
        "mains seal to-do",
        "mains seal done memo=m2 place='first and second'",
        "mains seal not-done memo=m2 place=ground",
    )
    assert "to-do" in still_open(said)


def test_the_memo_that_first_opened_it_is_named() -> None:
    said = facts("hot cap done to='the basin'", "hot cap done to='the bath'", "hot connect done to='the basin'")
    (found,) = (f for f in checked(said) if f.check == "capped-not-tested")
    assert (found.memo, found.closed_by) == ("m1", None)


def test_underfloor_pipes_are_named_in_full() -> None:
    said = [fact("hot cap done", 0), replace(fact("hot cap done", 1), subject="ufh flow")]
    assert {f.title.split(" capped")[0] for f in checked(said)} >= {"Hot", "Underfloor flow"}


def test_two_ends_of_one_pipe_stay_one_follow_up_until_both_are_dealt_with() -> None:
    said = facts(
        "cold cap done memo=m1 place='at the window'",
        "cold cap done memo=m1 place='behind the door'",
        "cold connect done place='by the door'",
    )
    assert [f.check for f in checked(said)] == ["capped-not-tested"]
    assert "capped-not-tested" in still_open(said)
    assert checked(said)[0].title == "Cold capped, no passed test on record since"  # the window's is quoted
    other = [*said[:2], fact("cold connect done place='at the window'", 2)]
    assert checked(other)[0].title.endswith("; left: behind the door (m1)")
    assert "capped-not-tested" not in still_open([*said, fact("cold connect done place='at the window'", 3)])
    assert "capped-not-tested" not in still_open([*said[:2], fact("cold test done", 3)])


def test_a_test_with_no_room_clears_every_room() -> None:
    said = [fact("hot cap done", 0, "Bathroom"), fact("hot cap done", 1, "Cellar"), fact("hot test done", 2, None)]
    assert "capped-not-tested" not in still_open(said)


def test_a_photo_of_the_room_from_before_it_was_covered_counts() -> None:
    said = facts("hot run done", "hot cover done")
    before = Photo("p1", MONDAY + timedelta(hours=1, minutes=30), "Kitchen")
    for photo, missing in (
        (before, False),
        (before._replace(sharp=False), True),
        (before._replace(sure=False), True),
        (before._replace(room="Hall"), True),
        (before._replace(at=MONDAY + timedelta(days=2)), True),
    ):
        assert ("covered-no-photo" in still_open(said, photos=[photo])) is missing, photo


def test_taking_out_what_is_temporary_is_not_also_a_plan() -> None:
    said = facts("hot connect done temporary=1 memo=m1", "fitting remove to-do memo=m1 quote='it must come off'")
    assert still_open(said) == {"temporary"}


def test_a_test_in_the_same_breath_as_the_cap_counts() -> None:
    text = "Hot's been on test, ten bar, an hour, and capped. Cold's capped."
    said = [
        replace(fact("hot test done pressure_bar=10 duration_min=60"), start=0, end=15),
        replace(fact("hot cap done", 1), memo="m1", start=43, end=49),
        replace(fact("cold cap done", 2), memo="m1", start=51, end=65),
    ]
    told = {"m1": replace(memos(said)["m1"], text=text)}
    found = follow_ups(said, join(said, times(said)), told)
    assert {(f.check, f.subject) for f in found if f.check == "capped-not-tested"} == {("capped-not-tested", "cold")}


def test_reminders_come_once_a_job_and_judge_nothing() -> None:
    said = [fact("gas run done", 0, "Cellar"), fact("gas run done", 1, "Kitchen")]
    (found,) = (f for f in checked(said) if f.check == "registered-gas")
    assert (found.severity, found.room, found.memo) == (Severity.REMINDER, None, "m1")


def test_a_limit_that_is_only_remembered_reminds() -> None:
    (found,) = checked(facts("gas clip done size_mm=22 material=copper quote='clipped every four metres'"), Job("T"))[
        1:
    ]
    assert found.severity is Severity.REMINDER
    assert found.title.startswith("Reminder: ") and "verify" in found.source


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("by Thursday", "2026-03-05"),
        ("boiler's Monday", "2026-03-09"),
        ("tomorrow", "2026-03-03"),
        ("boards go over them this aft", "2026-03-02"),
        ("end of the week", "2026-03-06"),
        ("Friday for the tank", "2026-03-06"),
        ("I rang him on Thursday", None),
        ("since Friday", None),
        ("last Tuesday", None),
        ("soon", None),
    ],
)
def test_due(words: str, day: str | None) -> None:
    assert due(words, MONDAY.date()) == day


def test_the_due_day_is_taken_from_the_sentence_where_the_quote_is_too_short() -> None:
    said = [replace(fact("overflow remove to-do quote='that comes out'"), start=22, end=36)]
    told = {"m1": replace(memos(said)["m1"], text="Tank's gone. Overflow, that comes out by Thursday. Rain Friday.")}
    (found,) = follow_ups(said, join(said, times(said)), told)
    assert found.due == "2026-03-05"


def test_sentence() -> None:
    text = "Hot's in. Cold, 22.5 long, capped! Gas next?"
    assert sentence(text, 16, 20) == "Cold, 22.5 long, capped!"


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("twenty-two", 22),
        ("hundred and ten", 110),
        ("six hundred", 600),
        ("two and a half", 2.5),
        ("1.5", 1.5),
        ("half a", 0.5),
    ],
)
def test_number(words: str, value: float) -> None:
    assert number(words) == value


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ('severity = "high"', 'severty = "high"', ["severty", "nearest: severity", "allowed:"]),
        ('severity = "high"', 'severity = "hihg"', ["hihg", "nearest: high"]),
        ('opens = ["cap done"]', 'opens = ["kap done"]', ["kap", "nearest: cap"]),
        ('opens = ["cap done"]', 'opens = ["cap donne"]', ["donne", "nearest: done"]),
        ("{subject} capped", "{sbject} capped", ["sbject", "nearest: subject"]),
        ('subjects = ["pipes"]', 'subjects = ["pipe"]', ["pipe", "nearest: pipes"]),
        ('source = "a book"', "", ["lacks source"]),
    ],
)
def test_a_slip_in_the_catalogue_is_refused(before: str, after: str, told: list[str]) -> None:
    row = """[[check]]
id = "capped"
title = "{subject} capped"
severity = "high"
subjects = ["pipes"]
opens = ["cap done"]
settled = "A test."
source = "a book"
confidence = "found"
"""
    assert parse(row).checks
    with pytest.raises(VoidbookError) as caught:
        parse(row.replace(before, after))
    assert str(caught.value).startswith("checks.toml: check 'capped'")
    assert all(words in str(caught.value) for words in told)


def _keys(found: tuple[FollowUp, ...]) -> Counter[tuple[object, ...]]:
    return Counter((f.check, f.room, f.subject, f.memo, f.closed_by) for f in found)


_ROOMS = ("Kitchen", "Bathroom", "Cellar", None)
_SAID = st.lists(
    st.builds(
        lambda line, room, everywhere: (line, room, everywhere),
        st.sampled_from(
            [
                "hot cap done",
                "hot cap done to='the bath'",
                "hot leave done",
                "hot test done pressure_bar=6",
                "hot test failed",
                "hot cover done",
                "cold cap done size_mm=25 material=copper",
                "cold connect done to='the sink'",
                "cold insulate not-done",
                "cold insulate done",
                "valve order to-do",
                "valve fit done",
                "waste cap to-do",
                "waste cap done",
                "waste run unsure",
            ]
        ),
        st.sampled_from(_ROOMS),
        st.booleans(),
    ),
    max_size=30,
)


def _built(said: list[tuple[str, str | None, bool]]) -> list[Fact]:
    return [replace(fact(line, n, room), everywhere=wide and room is None) for n, (line, room, wide) in enumerate(said)]


@given(_SAID, _SAID)
def test_checking_only_the_rooms_that_new_facts_touch_gives_the_same(
    old: list[tuple[str, str | None, bool]], new: list[tuple[str, str | None, bool]]
) -> None:
    said = _built([*old, *new])
    fresh = said[len(old) :]
    rooms, services = touched(fresh)
    rooms |= {f.room for f in said if f.subject in services}
    needed = [f for f in said if concerns(f, rooms)]
    when = times(said)
    before, after = (checked_at(part, when) for part in (said[: len(old)], said))
    part = checked_at(needed, when)
    kept = tuple(f for f in before if f.room not in rooms)
    assert _keys((*kept, *(f for f in part if f.room in rooms))) == _keys(after)


def checked_at(said: list[Fact], when: dict) -> tuple[FollowUp, ...]:  # type: ignore[type-arg]
    return follow_ups(said, join(said, when), when)


@given(_SAID)
def test_a_fact_of_another_room_and_service_changes_nothing(said: list[tuple[str, str | None, bool]]) -> None:
    built = _built(said)
    other = fact("condensate cap done", 98, "Shed")
    with_other = tuple(f for f in checked([*built, other]) if f.room != "Shed")
    assert _keys(with_other) == _keys(checked(built))


def _seconds(many: int) -> float:
    """CPU time to join and check so many facts of one service in one room, the worst case there is."""
    lines = (
        "hot cap done size_mm=15",
        "hot leave done to='the bath'",
        "hot test done",
        "hot cover done",
        "hot run to-do",
    )
    said = [replace(fact(lines[n % 5], n), memo=f"m{n // 5}") for n in range(many)]
    start = process_time()
    checked(said)
    return process_time() - start


def test_four_times_the_facts_take_about_four_times_as_long() -> None:
    small = min(_seconds(1000) for _ in range(3))
    assert min(_seconds(4000) for _ in range(2)) < 9 * small


def test_labelled_scenarios_leave_open_what_they_should() -> None:
    """The follow-ups from labelled facts, by check, room and subject, each once; F1 over all scenarios."""
    have: Counter[tuple[object, ...]] = Counter()
    want: Counter[tuple[object, ...]] = Counter()
    for name in labelled.SCENARIOS:
        told = labelled.load(name)
        found = follow_ups(told.facts, join(told.facts, told.when, told.job.rooms), told.memos, told.photos, told.job)
        have.update((name, f.check, f.room, f.subject) for f in found if f.closed_by is None and f.check in GUIDE)
        want.update((name, row["check"], row["room"], row["subject"]) for row in told.open)
    assert 2 * (want & have).total() / (want.total() + have.total()) >= 0.99, (want - have, have - want)
