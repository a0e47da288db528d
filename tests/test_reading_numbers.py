"""Numbers as they are spoken and written, and which of them are sizes."""

from __future__ import annotations

import pytest
from dictation import row

from notes.reading.counting import count_before
from notes.reading.nominal import inches, is_gap, is_size, joist_depth, unit_value
from notes.reading.numbers import quantities

SPOKEN = {
    "fifteen": (15, None),
    "twenty two mil": (22, "mm"),
    "twenty - two": (22, None),
    "22 mm": (22, "mm"),
    "two two mil": (22, "mm"),
    "a hundred and ten": (110, None),
    "one seventy - five": (175, None),
    "two twenty - five": (225, None),
    "two hundred": (200, None),
    "inch and a half": (1.5, "inch"),
    "half inch": (0.5, "inch"),
    "three - quarter": (0.75, "inch"),
    "three quarters of an inch": (0.75, "inch"),
    "an inch and a quarter": (1.25, "inch"),
    "3/4 inch": (0.75, "inch"),
    "half an hour": (0.5, "hour"),
    "an hour and a half": (1.5, "hour"),
    "three quarters of an hour": (0.75, "hour"),
    "ten bar": (10, "bar"),
    "a bar and a half": (1.5, "bar"),
    "one point five bar": (1.5, "bar"),
    "twenty millibar": (20, "millibar"),
    "one metre fifty": (1.5, "m"),
    "six metres": (6, "m"),
    "twenty minutes": (20, "min"),
    "three pounds": (3, "other"),
    "1.5 bar": (1.5, "bar"),
}


@pytest.mark.parametrize(("text", "wanted"), SPOKEN.items(), ids=str)
def test_numbers_as_spoken(text: str, wanted: tuple[float, str | None]) -> None:
    found = quantities(text.split())
    assert [(q.value, q.unit) for q in found][:1] == [wanted]
    assert len(found) == 1


def test_plural_sizes_are_marked() -> None:
    assert [(q.value, q.plural) for q in quantities(["six", "fifteens"])] == [(6, False), (15, True)]
    assert [(q.value, q.plural) for q in quantities(["two", "twenty", "-", "twos"])][-1] == (22, True)
    assert [(q.value, q.end, q.plural) for q in quantities(["of", "15", "s"])] == [(15, 3, True)]
    assert [(q.value, q.plural) for q in quantities(["bag", "of", "22"])] == [(22, True)]


def test_a_clock_is_no_size() -> None:
    assert [q.unit for q in quantities(["at", "10:30"])] == ["other"]


@pytest.mark.parametrize("words", ["", "the hot is capped", "- - -", "and a half", "½ ½", "1/0", "9" * 400])
def test_anything_may_be_said(words: str) -> None:
    quantities(words.split())


def _sizes(text: str) -> list[float]:
    nodes = row(text)
    return [n.qty.value for i, n in enumerate(nodes) if n.qty and is_size(nodes, i)]


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ("the cold in fifteen copper", [15]),
        ("twenty-two mil hot", [22]),
        ("ten brackets on the cold", []),
        ("a joist two hundred deep", []),
        ("flat fifteen", []),
        ("room twenty-two", []),
        ("three hundred from the wall", []),
        ("fifteen mil off the wall", []),
        ("inch and a half waste", [1.5]),
        ("an inch off the wall", []),
        ("ten bar for fifteen minutes", []),
        ("twenty-two down to fifteen", [22, 15]),
        ("seven of them", []),
    ],
)
def test_sizes_apart_from_other_numbers(text: str, sizes: list[float]) -> None:
    assert _sizes(text) == sizes


@pytest.mark.parametrize(
    ("inch", "subject", "material", "mm"),
    [
        (0.75, "cold", None, 22),
        (0.75, "gas", None, 20),
        (0.75, "heating flow", "steel", 20),
        (0.75, "valve", None, 20),
        (1.5, "waste", None, 40),
        (1.25, "waste", None, 32),
        (4, "soil", None, 110),
        (4, "soil", "cast iron", 110),
        (1, "mains", None, 32),
        (1, "mains", "copper", 28),
        (0.5, "cold", "mdpe", 20),
        (7, "cold", None, 178),
    ],
)
def test_inches_by_trade_name(inch: float, subject: str, material: str | None, mm: float) -> None:
    assert inches(inch, subject, material) == mm


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("ten bar", ("pressure_bar", 10)),
        ("twenty millibar", ("pressure_bar", 0.02)),
        ("half an hour", ("duration_min", 30)),
        ("twenty minutes", ("duration_min", 20)),
        ("six metres", ("length_m", 6)),
        ("three pounds", None),
    ],
)
def test_units_to_fields(text: str, wanted: tuple[str, float] | None) -> None:
    assert unit_value(row(text)[0]) == wanted


@pytest.mark.parametrize(
    ("text", "depth"),
    [
        ("eight inch joists", 8 * 25.4),
        ("seven by two", 175),
        ("two hundred deep", 200),
        ("two hundred from the end", None),
        ("fifteen copper", None),
    ],
)
def test_depth_of_a_joist(text: str, depth: float | None) -> None:
    found = joist_depth(row(text), 0)
    assert found == (pytest.approx(depth) if depth else None)


def test_a_length_or_a_gap() -> None:
    assert is_gap(row("two metres off the wall"), 0)
    assert not is_gap(row("two metres along the wall"), 0)


@pytest.mark.parametrize(
    ("text", "many"),
    [("six blending valves", 6), ("ten fifteen equal tees", 10), ("the valves", None), ("fifteen valves", None)],
)
def test_how_many(text: str, many: int | None) -> None:
    nodes = row(text)
    at = next(i for i, n in enumerate(nodes) if n.kind == "item")
    assert count_before(nodes, at, 0) == many
