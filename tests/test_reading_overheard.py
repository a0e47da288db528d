"""Where a pipe is, starts and ends, and which sizes it keeps, as the second reader hears it beside the rules."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from dictation import AT, GOLD, NO_JOB, heard, readings, row, scenario

import notes.reading.facts as told_facts
from notes.lexicon import data_rows
from notes.model import Fact, Memo
from notes.reading import Carry, read
from notes.reading.carried import SLOTS
from notes.reading.mentions import Node
from notes.reading.overheard import ENDS
from notes.reading.places import names_something
from notes.reading.second import Opinion, opinion

# our own sentences; that a foreman would write these words down is common practice, no source
ONLY_HEARD = {
    "Capped the cold, that's the one sat behind the pan.": ("place", "behind the pan"),
    "Flow and return for the towel rail, they pop up right by the skirting, capped.": ("place", "by the skirting"),
    "The hot's been taken round the back of the chimney to the vanity and stopped off there.": ("to", "the vanity"),
}


def told(text: str) -> list[Fact]:
    return list(read(Memo("m1", AT, "A", text, text), NO_JOB, Carry()).facts)


@pytest.mark.parametrize("text", ONLY_HEARD)
def test_words_that_no_rule_found_are_put_in(text: str) -> None:
    slot, words = ONLY_HEARD[text]
    by_rules, both = (
        [getattr(fact, slot) for fact in facts if fact.action == "cap"] for facts in (heard(text).facts, told(text))
    )
    assert words not in by_rules
    assert words in both


@pytest.mark.parametrize("name", ["harbour", "retold/mill"])
def test_places_and_ends_are_the_memos_own_words_and_say_something(name: str) -> None:
    count = 0
    for memo, reading in readings(scenario(GOLD / name)):
        for fact in reading.facts:
            for words in filter(None, (getattr(fact, slot) for slot in ENDS)):
                count += 1
                assert words in memo["text"]
                assert words.lower() not in ("the", "a", "in the", "to", "from")
    assert count > 50


def test_articles_alone_say_nothing() -> None:
    assert names_something(row("in the loft"))
    assert names_something(row("left of the door"))
    assert not names_something(row("in the"))
    assert not names_something(row(", and"))


@pytest.mark.parametrize(("odds", "size"), [(-9.0, None), (9.0, 22.0)])
def test_a_size_carried_along_is_told_where_the_second_reader_hears_one(
    monkeypatch: pytest.MonkeyPatch, odds: float, size: float | None
) -> None:
    def sure(text: str, nodes: Sequence[Node]) -> Opinion:
        told = opinion(text, nodes)
        told.odds[:, told.labels["with size_mm"]] = odds
        return told

    monkeypatch.setattr(told_facts, "opinion", sure)
    text = "Twenty-two copper flow and return along the joists, clipped every half metre, sleeved through the wall."
    sizes = {fact.action: fact.size_mm for fact in told(text)}
    assert sizes == {"run": 22, "clip": size, "sleeve": size}


@pytest.mark.parametrize(
    "text", ["The cold is capped in fifteen copper.", "Sleeved the twenty-two copper through the wall."]
)
def test_a_size_among_the_words_of_the_work_is_never_left_out(text: str) -> None:
    assert [(f.size_mm, f.material) for f in told(text)] == [(f.size_mm, f.material) for f in heard(text).facts]
    assert all(fact.size_mm for fact in told(text))


def test_every_weight_is_of_a_slot() -> None:
    rows = data_rows("carried.csv")
    assert len(rows) > 20
    assert all(row["name"].startswith(SLOTS) for row in rows)
    assert all(abs(float(row["weight"])) < 10 for row in rows)
