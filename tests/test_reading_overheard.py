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
    "The hot's been taken round the chimney to the vanity and stopped off there.": ("to", "the vanity"),
    "The rad tails, I've left them open, they come off the riser.": ("from_", "the riser"),
}


def told(text: str) -> list[Fact]:
    return list(read(Memo("m1", AT, "A", text, text), NO_JOB, Carry()).facts)


def hears(monkeypatch: pytest.MonkeyPatch, slot: str, words: str, odds: float) -> None:
    """From here on the second reader hears a slot in those words alone, and one in every fact by these log odds."""

    def so(text: str, nodes: Sequence[Node]) -> Opinion:
        heard_there = opinion(text, nodes)
        first = text.index(words)
        for i, node in enumerate(nodes):
            heard_there.odds[i, heard_there.labels[slot]] = 9 if first <= node.start < first + len(words) else -9
        heard_there.odds[:, heard_there.labels[f"with {slot}"]] = odds
        return heard_there

    monkeypatch.setattr(told_facts, "opinion", so)


@pytest.mark.parametrize("text", ONLY_HEARD)
def test_words_that_no_rule_found_are_put_in_where_one_is_heard(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    slot, words = ONLY_HEARD[text]
    ends = [fact for fact in heard(text).facts if fact.action in ("cap", "leave")]
    assert words not in [getattr(fact, slot) for fact in ends]
    hears(monkeypatch, slot, words, 9)
    assert {getattr(fact, slot) for fact in told(text) if fact.action in ("cap", "leave")} == {words}
    hears(monkeypatch, slot, words, -9)
    assert {getattr(fact, slot) for fact in told(text) if fact.action in ("cap", "leave")} == {None}


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


def test_what_is_told_of_a_hole_in_a_joist_is_never_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """A check of the joist rests on it (tests/test_limits.py names the sources)."""

    def none(text: str, nodes: Sequence[Node]) -> Opinion:
        hears_none = opinion(text, nodes)
        for label in ("with size_mm", "with place"):
            hears_none.odds[:, hears_none.labels[label]] = -9
        return hears_none

    monkeypatch.setattr(told_facts, "opinion", none)
    text = "I've drilled two joists for the basin, they're twenty-eight mil holes, dead centre."
    (hole,) = [fact for fact in told(text) if fact.action == "drill"]
    (by_rules,) = [fact for fact in heard(text).facts if fact.action == "drill"]
    assert (hole.size_mm, hole.place) == (by_rules.size_mm, by_rules.place) == (28, "dead centre")


def test_every_weight_is_of_a_slot() -> None:
    rows = data_rows("carried.csv")
    assert len(rows) > 20
    assert all(row["name"].startswith(SLOTS) for row in rows)
    assert all(abs(float(row["weight"])) < 10 for row in rows)
