"""The second reader: what it computes, how far a word is heard, and what is made of it beside the rules."""

from __future__ import annotations

import numpy as np
import pytest
from dictation import AT, NO_JOB, heard, lexicon, row

from notes.model import ITEMS, PIPES, Memo, Room
from notes.reading import Carry, read, second
from notes.reading.carried import SLOTS
from notes.reading.facts import row_of
from notes.reading.overheard import ENDS
from notes.reading.proposed import CUE, WORK

PLAIN = "I've capped the hot and cold behind the bath and run the waste to the stack."
# our own sentences; what they tell is common practice, no source
HEARD = {
    "I've capped the hot behind the bath panel.": ("cap done", "hot"),
    "We tested the flow and return at six bar for an hour.": ("test done", "heating flow"),
    "The cold in the pantry is not lagged yet.": ("insulate not done", "cold"),
    "I need to order two elbows for the waste.": ("order to do", "fitting"),
    "I ran the gas across to the kitchen in twenty-two copper.": ("run done", "gas"),
}


def opinion(text: str) -> second.Opinion:
    return second.opinion(text, row(text))


def test_words_are_spelled_by_the_longest_pieces_known() -> None:
    known = {"multi": 1, "##layer": 2, "##lay": 3, "m": 4, "15": 5}
    assert second.spelled("multilayer 15", known) == [1, 2, 5]
    assert second.spelled("zzz", known) == [0]
    assert second.spelled("", known) == [0]
    assert len(second.spelled("m " * 40, known)) == second.PIECES


def test_a_value_for_every_node_and_label() -> None:
    told = opinion(PLAIN)
    assert told.odds.shape == (len(row(PLAIN)), len(told.labels))
    assert np.isfinite(told.odds).all()
    slots = {*ENDS, *(f"with {slot}" for slot in ENDS + SLOTS)}
    assert {label for label, _, _ in WORK} | {*PIPES, *ITEMS} | slots == set(told.labels)
    assert second.opinion("", []).odds.shape == (0, len(told.labels))


@pytest.mark.parametrize("text", HEARD)
def test_plain_work_is_heard_above_all_other(text: str) -> None:
    told, (work, subject) = opinion(text), HEARD[text]
    most = {label: float(told.of(label, 0, len(told.odds)).max()) for label in told.labels}
    assert most[work] > 0
    assert work == max((label for label, _, _ in WORK), key=most.__getitem__)
    assert most[subject] > 0


def test_chatter_is_heard_as_no_work() -> None:
    told = opinion("It's raining again and the kettle is broken, so no tea for anybody till Thursday, shocking it is.")
    assert max(told.of(label, 0, len(told.odds)).max() for label, _, _ in WORK) < 0


def test_a_word_is_heard_thirty_two_nodes_away_and_no_further() -> None:
    """Layers that look 1, 1, 2, 4, 8 and 16 nodes to each side see 32 together."""
    one, other = (opinion(f"{word} " + "and so on " * 16) for word in ("hot", "radiator"))
    differs = np.abs(one.odds - other.odds).max(1) > 1e-6
    assert differs[32]
    assert not differs[33:].any()


def test_a_layer_is_a_gated_convolution() -> None:
    """By plain loops: the sum of three taps, half gated by the logistic of the other half (Dauphin et al., 2017)."""
    rng = np.random.default_rng(1)
    width, apart, n = 4, 2, 7
    taps, bias = rng.normal(size=(3, width, 2 * width)), rng.normal(size=2 * width)
    x = rng.normal(size=(n, width))
    layer = second.Layer(np.ones(width), np.zeros(width), taps, bias, apart)
    normed = np.stack([(v - v.mean()) / np.sqrt(v.var() + 1e-5) for v in x])
    for i, told in enumerate(layer.of(x)):
        y = bias.copy()
        for tap, at in enumerate((i - apart, i, i + apart)):
            y += normed[at] @ taps[tap] if 0 <= at < n else 0
        assert told == pytest.approx(y[:width] / (1 + np.exp(-y[width:])))


def test_rooms_are_heard_as_rooms_whatever_a_job_calls_them() -> None:
    rooms = (Room("Kitchen", "Ground"), Room("Zanzibar suite", "First"))
    told = []
    for name in ("kitchen", "Zanzibar suite"):
        text = f"In the {name} the hot is capped."
        memo = Memo("m1", AT, "A", text, text)
        nodes = row_of(memo, lexicon(*rooms))
        assert [second.seen(n) for n in nodes if n.kind == "room"] == [("room",)]
        told.append(second.opinion(text, nodes).of("cap done", 0, len(nodes)).max())
    assert min(told) > 0


def test_single_sentences_are_tried_without_it() -> None:
    assert all(fact.cue != CUE for fact in heard(PLAIN).facts)


def test_any_words_have_an_opinion() -> None:
    for text in ("…", "½ ½", "\x00\x1b[31m", "مرحبا 🔥", "a" * 500, "hot " * 700):
        read(Memo("m1", AT, "A", text, text), NO_JOB, Carry())
        assert np.isfinite(opinion(text).odds).all()
