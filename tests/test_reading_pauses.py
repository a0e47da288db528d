"""Marks that a listener left out. What the memos tell with their marks is labelled by hand (tests/gold/GUIDE.md)."""

import pytest
from dictation import folders, heard, row, scenario, told

from notes.reading.pauses import paused

NO_COMMAS = (
    (
        "We're in the shower room upstairs. Toilet's in cold to the cistern fifteen connected soil not connected. "
        "Hot and cold for the basin fifteen copper both capped behind the pedestal not tested. Waste inch and a half "
        "runs to the stack.",
        {
            "toilet fit done", "cold connect done", "soil connect not done", "hot cap done", "cold cap done",
            "hot test not done", "cold test not done", "waste run done",
        },
    ),
)  # fmt: skip


@pytest.mark.parametrize(("text", "facts"), NO_COMMAS)
def test_a_memo_without_commas_tells_the_same(text: str, facts: set[str]) -> None:
    assert set(told(text)) == facts


def test_a_comma_put_back_takes_no_room_in_the_memo() -> None:
    text = NO_COMMAS[0][0]
    commas = [n for n in paused(row(text)) if n.norm == ","]
    assert len(commas) > 3
    assert all(n.start == n.end and text[n.start] == " " for n in commas)


@pytest.mark.parametrize("name", ["barn", "hotel", "lodge"])
def test_memos_with_their_marks_stay_as_they_are(name: str) -> None:
    for memo in scenario(next(f for f in folders("own") if f.name == name)).memos:
        written = row(memo["text"])
        if sum(n.norm == "," for n in written) * 24 > len(written):
            assert [n for n in paused(written) if n.norm == ","] == [n for n in written if n.norm == ","]


def test_a_long_memo_of_nothing_but_commas_is_parted() -> None:
    text = (
        "I'm in the utility, the washing machine cold's teed off in fifteen with a valve on it, the waste for it is "
        "forty and runs to the gully, I've not tested that, upstairs in the bathroom the bath's in, hot and cold are "
        "connected, the trap's on, there's no sleeve on the soil yet, and I need a bag of clips"
    )
    assert sum(n.norm == "." for n in paused(row(text))) > 1
    assert {"bath fit done", "waste test not done", "clips order to do"} <= set(told(text))


def test_a_short_note_gets_no_comma() -> None:
    assert all(n.norm != "," for n in paused(row("Hot and cold capped in here today.")))


def test_no_words_are_lost() -> None:
    text = NO_COMMAS[0][0]
    assert [n for n in paused(row(text)) if n.kind != "mark"] == [n for n in row(text) if n.kind != "mark"]
    assert heard("").facts == ()
