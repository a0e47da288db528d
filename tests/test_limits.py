"""The limits table against worked cases from outside, each with where it comes from."""

from __future__ import annotations

import pytest

from notes import limits


# Case A: Hertfordshire Building Control and a lecturer's article: 3.0 m span, 150 deep: notch 18.75, 210 to 750 mm.
# Case B: a maker's guide: 3.5 m span, 225 deep: notch 28, 245 to 875; hole 56, 875 to 1400 mm.
# Case D, E: arithmetic on BS 5268-2's and on NHBC's rules for 4.0 m, 200 deep.
@pytest.mark.parametrize(
    ("depth", "span", "notch", "notch_zone", "hole", "hole_zone"),
    [
        (150, 3.0, 18, (210, 750), 37, (750, 1200)),
        (225, 3.5, 28, (245, 875), 56, (875, 1400)),
        (200, 4.0, 25, (280, 1000), 50, (1000, 1600)),
    ],
)
def test_joists_cases_a_b_d(
    depth: float, span: float, notch: float, notch_zone: tuple[int, int], hole: float, hole_zone: tuple[int, int]
) -> None:
    assert (limits.notch_mm(depth), limits.zone_mm("notch", span)) == (notch, notch_zone)
    assert (limits.hole_mm(depth), limits.zone_mm("hole", span)) == (hole, hole_zone)


@pytest.mark.parametrize(("depth", "notch"), [(125, 15), (150, 18), (175, 21), (200, 25), (225, 28)])
def test_joists_case_c(depth: float, notch: float) -> None:
    """A council-style leaflet prints the notch for each depth, rounded down."""
    assert limits.notch_mm(depth) == notch


def test_joists_case_e_nhbc() -> None:
    """NHBC Standards 2020 6.4.18 Table 6: 0.15 of the depth within 0.1 to 0.2 of the span."""
    assert limits.notch_mm(200, "joist-notch-nhbc") == 30
    assert limits.zone_mm("notch", 4.0, "-nhbc") == (400, 800)


def test_a_22_mm_pipe_fits_no_notch_in_a_150_mm_joist() -> None:
    """A lecturer's article on common oversights makes the point."""
    assert limits.notch_mm(150) < 22


def test_shallow_joists_are_not_cut_at_all() -> None:
    """City & Guilds plumbing textbook, p.336: joists of 100 mm or less."""
    assert limits.notch_mm(100) == limits.hole_mm(100) == 0


def test_no_notch_is_deeper_than_35_mm() -> None:
    """Hertfordshire Building Control: whatever the depth."""
    assert limits.notch_mm(250, "joist-notch-nhbc") == 35


def test_six_bar_is_enough_up_to_four_bar_working() -> None:
    """Water Fittings Regulations 1999, Sch. 2 para 12: 1.5 x the highest working pressure, an hour."""
    row = limits.one("test-pressure")
    assert row.value * 4.0 <= 6 < row.value * 4.1
    assert limits.one("test-time-metal").value == 60


def test_five_bar_working_by_the_regulations_and_by_en_806() -> None:
    """Water Regs UK: 5 bar working is tested at 7.5 by the regulations, at 8.25 by EN 806-4."""
    assert limits.one("test-pressure").value * 5 == 7.5
    assert limits.one("test-pressure-en806").value * 5 == pytest.approx(8.25)


@pytest.mark.parametrize(("size", "metres"), [(10, 20), (12, 20), (15, 12), (22, 12), (28, 8), (35, 3)])
def test_dead_legs(size: float, metres: float) -> None:
    """Water Regulations guidance table; a maker's page says 12 m for 15 mm too."""
    (row,) = limits.of("dead-leg", "hot", None, size)
    assert row.value == metres


# Approved Document G Table 3.1. Worked test 1 is a maker's (7 m, 4 elbows), 2 the City & Guilds textbook's p.416.
@pytest.mark.parametrize(
    ("metres", "elbows", "in_22", "in_28"), [(7, 4, False, True), (6, 6, False, True), (5, 1, True, True)]
)
def test_discharge_pipes(metres: float, elbows: int, in_22: bool, in_28: bool) -> None:
    for size, fits in ((22, in_22), (28, in_28)):
        found = limits.discharge_length_m(15, size, elbows)
        assert found is not None
        assert (metres <= found[0]) is fits


def test_underfloor_before_the_screed() -> None:
    """EN 1264-4:2021 4.2.3: water at 4 to 6 bar."""
    assert (limits.one("ufh-test-from").value, limits.one("ufh-test-to").value) == (4, 6)


def test_clips_of_gas_and_water_differ() -> None:
    """15 mm copper: 1.2 m for water, 1.5 m for gas (BS 6891); both remembered, so only reminders."""
    (water,), (gas,) = (limits.of("clip-horizontal", s, "copper", 15) for s in ("water", "gas"))
    assert (water.value, gas.value, water.weak, gas.weak) == (1.2, 1.5, True, True)


def test_the_strictest_row_is_the_least_maximum_and_the_greatest_minimum() -> None:
    most, least = limits.of("clip-horizontal", "water", None, 22), limits.of("fall", "waste", None, 40)
    assert limits.strictest(most).value == min(r.value for r in most)  # type: ignore[union-attr]
    assert limits.strictest([r for r in least if r.min_or_max == "min"]).value == 18  # type: ignore[union-attr]


def test_rows_from_memory_ask_to_be_verified() -> None:
    for row in limits.table():
        assert row.source and row.confidence in {"quoted", "found", "derived", "memory", "common practice"}
        assert ("verify" in row.cited) is row.weak
