"""The size table against figures from outside, each with where it comes from."""

from __future__ import annotations

import pytest
from fluids.piping import nearest_pipe

from notes import sizes

# EN 1057:2010 Table 3, as the pipe records of RWTH Aachen's AixLib (BSD-3) cite it: outside, wall, bore.
EN_1057 = [
    (10, 0.6, 8.8),
    (12, 0.6, 10.8),
    (15, 0.7, 13.6),
    (15, 1.0, 13.0),
    (22, 0.9, 20.2),
    (28, 0.9, 26.2),
    (35, 1.2, 32.6),
    (42, 1.2, 39.6),
    (54, 1.2, 51.6),
    (66.7, 1.2, 64.3),
    (76.1, 1.5, 73.1),
    (108, 1.5, 105.0),
]
# EN 10255 Table 4, medium series, by the same records: DN, outside, bore (rounded there by up to 0.1).
EN_10255 = [
    (15, 21.3, 16.0),
    (20, 26.9, 21.6),
    (25, 33.7, 27.2),
    (32, 42.4, 35.9),
    (40, 48.3, 41.8),
    (50, 60.3, 53.1),
    (65, 76.1, 68.8),
    (80, 88.9, 80.8),
    (100, 114.3, 105.3),
]


@pytest.mark.parametrize(("outside", "wall", "bore"), EN_1057)
def test_copper_is_that_of_en_1057(outside: float, wall: float, bore: float) -> None:
    row = next(r for r in sizes.rows("copper", outside) if r.wall_mm == wall)
    assert (row.od_mm, row.bore_mm) == (outside, bore)


@pytest.mark.parametrize(("dn", "outside", "bore"), EN_10255)
def test_steel_is_that_of_en_10255(dn: int, outside: float, bore: float) -> None:
    row = next(r for r in sizes.rows("steel", dn) if r.series == "medium")
    assert row.od_mm == outside
    assert row.bore_mm == pytest.approx(bore, abs=0.15)


@pytest.mark.parametrize("dn", [8, 10, 15, 20, 25, 32, 40, 50, 65, 80, 100])
@pytest.mark.parametrize("series", ["medium", "heavy"])
def test_steel_agrees_with_the_fluids_package(dn: int, series: str) -> None:
    """`fluids` holds BS 1387, the forerunner, with its largest outside diameters: 0.3 to 0.6 mm above nominal."""
    _, _, outside, wall = nearest_pipe(NPS=dn, schedule=f"BS1387{series.upper()}")
    row = next(r for r in sizes.rows("steel", dn) if r.series == series)
    assert row.od_mm == pytest.approx(outside * 1000, abs=0.7)
    assert row.wall_mm == pytest.approx(wall * 1000)


def test_american_steel_is_another_table() -> None:
    """ASME B36.10 names 2 1/2 inch 73.0 mm outside (fluids, schedule 40); EN 10255 says 76.1."""
    outside = nearest_pipe(NPS=2.5, schedule="40")[2] * 1000  # type: ignore[arg-type]
    assert outside == pytest.approx(73.0, abs=0.05)
    assert sizes.rows("steel", 65)[0].od_mm == 76.1


def test_half_inch_steel_is_no_15_mm_copper() -> None:
    assert sizes.rows("steel", 15)[0].od_mm == 21.3 != sizes.rows("copper", 15)[0].od_mm


def test_25_multilayer_is_about_22_copper() -> None:
    """Makers' tables that cite EN ISO 21003-2 print 25 x 2.5, bore 20.0; EN 1057 gives 22 x 0.9, bore 20.2."""
    (multilayer,), copper = sizes.rows("multilayer", 25), sizes.rows("copper", 22)[0]
    assert (multilayer.bore_mm, copper.bore_mm) == (20.0, 20.2)


def test_every_bore_is_the_outside_less_two_walls() -> None:
    measured = [r for r in sizes.table() if r.wall_mm is not None]
    assert len(measured) > 70
    for row in measured:
        assert row.od_mm is not None and row.wall_mm is not None
        assert row.bore_mm == pytest.approx(row.od_mm - 2 * row.wall_mm, abs=0.01), row


@pytest.mark.parametrize(
    ("material", "size", "made"),
    [
        ("copper", 22, True),
        ("copper", 67, True),
        ("copper", 25, False),
        ("copper", 16, False),
        ("copper", 200, None),
        ("multilayer", 16, True),
        ("multilayer", 22, False),
        ("multilayer", 26, True),
        ("plastic", 15, True),
        ("plastic", 16, True),
        ("plastic", 42, False),
        ("pex", 40, True),
        ("polybutylene", 20, False),
        ("mdpe", 25, True),
        ("mdpe", 28, False),
        ("mdpe", 110, None),
        ("steel", 25, True),
        ("steel", 22, False),
        ("upvc", 68, None),
        ("cast iron", 110, None),
        (None, 22, None),
        ("copper", None, None),
    ],
)
def test_exists(material: str | None, size: float | None, made: bool | None) -> None:
    assert sizes.exists(material, size) is made


def test_nearest_names_the_size_below_and_above() -> None:
    assert sizes.nearest("copper", 25) == (22, 28)
    assert sizes.nearest("multilayer", 22) == (20, 25)


def test_every_row_says_where_it_comes_from_and_how_sure_we_are() -> None:
    assert all(r.source and r.standard for r in sizes.table())
    assert {r.confidence for r in sizes.table()} <= {"quoted", "found", "derived", "memory", "common practice"}
    assert all("verify" in r.source for r in sizes.table() if r.confidence == "memory" and r.wall_mm)
