"""Words put in while speaking change nothing; words put right leave only what was meant."""

from __future__ import annotations

import pytest
from dictation import row, told

from notes.reading.asides import without_asides
from notes.reading.repair import repaired

# words as people put them in: common practice, no source
PUT_IN = [
    "er", ", er,", ", you know,", ", as it were,", ", like I say,", ", basically,", ", believe it or not,",
    ", bless him,", ", the one by the door that is,", "(don't ask)", ", as promised,",
]  # fmt: skip
CUT = [
    ("I've ordered", "the cylinder.", ["cylinder order done"]),
    ("The radiator isn't", "hung yet.", ["radiator fit not done"]),
    ("The cold still wants", "capping off.", ["cold cap to do"]),
    ("We need to order", "a pump.", ["pump order to do"]),
    ("The basin's", "in.", ["basin fit done"]),
    ("The pump", "is on.", ["pump fit done"]),
    ("They've plastered over", "the flow and return.", ["heating flow cover done", "heating return cover done"]),
]


@pytest.mark.parametrize("words", PUT_IN)
@pytest.mark.parametrize(("ahead", "after", "facts"), CUT)
def test_what_is_put_into_a_clause_changes_nothing(words: str, ahead: str, after: str, facts: list[str]) -> None:
    said = f"{ahead} {words} {after}".replace(" ,", ",")
    assert sorted(told(said)) == facts


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("the hot, er, the cold", "the hot , the cold"),
        ("I've I've capped the the hot", "i have capped the hot"),
        ("the hot the hot return is in", "the hot_return is in"),
        ("I had had enough", "i had had enough"),
        ("it's wide open, it's wet", "it 's wide open , it 's wet"),
        ("the boiler's, the boiler's come", "the boiler 's come"),
        ("capped it, I'd say, on Monday", "capped it , i 'd say , on monday"),
        ("the hot, I think, is capped", "the hot , i think , is capped"),
        ("the hot is (don't ask) open", "the hot is open"),
        ("it's sort of capped, what sort of valve", "it 's capped , what sort of valve"),
    ],
)
def test_what_tells_nothing_leaves_the_row(said: str, read: str) -> None:
    assert " ".join(n.norm for n in without_asides(row(said))) == read


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("I've capped, no, tested the hot", "i have tested the hot"),
        ("I've lagged the hot, no, clipped it", "i have clipped the hot"),
        ("capped the hot, cold I mean", "capped the cold"),
        ("capped the hot. Scrap that, the cold.", "capped the cold ."),
        ("capped the hot and cold, no, just the hot", "capped the hot"),
        ("capped the hot and cold, sorry, the hot and the waste", "capped the hot and the waste"),
        ("the basin, no, the sink's in", "the sink 's in"),
        ("the hot's capped, no cold in here", "the hot 's capped , no cold in here"),
        ("the hot's capped, no, the cold is lagged", "the hot 's capped , no , the cold is lagged"),
        ("in the hall, no, the kitchen, it's open", "in the kitchen , it 's open"),
    ],
)
def test_what_is_put_right_stands_in_place_of_what_was_wrong(said: str, read: str) -> None:
    assert " ".join(n.norm for n in repaired(row(said))) == read
