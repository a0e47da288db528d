"""The pane beside a list: keys scroll it, and what one goes to stays in sight."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from notes import book
from notes.model import Memo, Word
from notes.plain import clean
from tests.tui import desk
from tests.tui.desk import drive, press, rows, text
from tui.memo_pane import MemoPane
from tui.memo_words import Script, Words
from tui.pane import Pane

MANY = "Scullery. Cold is run. " + " ".join(f"word{n}" for n in range(300)) + " and Waste is run."


def long(root: Path) -> None:
    made = desk.new(root)
    said = [
        desk.fact("m01", 0, MANY, quote="Cold is run", room="Scullery", subject="cold", action="run"),
        desk.fact("m01", 1, MANY, quote="Waste is run", room="Scullery", subject="waste", action="run"),
    ]
    with closing(book.connect(root)) as db:
        desk.put(db, made, "m01", MANY, said)


def test_the_word_gone_to_stays_in_sight(tmp_path: Path) -> None:
    long(tmp_path / "job")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter")
        pane = pilot.app.screen.query_one(MemoPane)
        pane.step(150)
        await desk.settle(pilot)
        assert pane.word and pane.word.text.strip(".") in text(pilot)
        pane.step(-150)
        await desk.settle(pilot)
        assert pane.word and pane.word.text in text(pilot)

    drive(tmp_path / "job", script)


def test_tab_goes_to_the_pane_and_keys_scroll_it(tmp_path: Path) -> None:
    long(tmp_path / "job")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter")
        marked, pane = rows(pilot).cursor, pilot.app.screen.query_one(Pane)
        await press(pilot, "tab", "pagedown")
        assert pane.has_focus and pane.scroll_offset.y > 0 and rows(pilot).cursor == marked
        await press(pilot, "right")
        assert pilot.app.screen.query_one(MemoPane).cursor > 0
        await press(pilot, "tab", "down")
        assert rows(pilot).has_focus and rows(pilot).cursor != marked

    drive(tmp_path / "job", script)


def test_no_word_of_a_memo_is_lost_however_narrow_it_is_shown() -> None:
    said = "Bath. " + "longer" * 9 + " capped 浴室 hot,cold  then\n\x1b[31mred end"
    heard = [Word("Bath.", 0, 5, 0.0, 1.0, 0.2), Word(said[6:60], 6, 60, 1.0, 2.0, 0.9, "long girls")]
    memo = Memo("m01", desk.MONDAY, "A", said, said)
    for found in (memo, replace(memo, words=tuple(heard))):
        script = Script(found)
        for width in (7, 20, 80):
            lines = script.lines(width, (0, 1))
            assert [n for first, end, piece in lines if not piece for n in range(first, end)] == [
                *range(len(script.chunks))
            ]
    assert " ".join(chunk.text for chunk in Script(memo).chunks).split() == clean(said).split()
    shown = [chunk.text for chunk in Script(replace(memo, words=tuple(heard))).chunks]
    assert shown == ["Bath.", "longer" * 9 + clean(said[60:]), "[heard: long girls]"]


@pytest.mark.parametrize(
    ("word", "raw", "shown"),
    [("flow", "flow,", []), ("return's", "Returns", []), ("flow", "floor", ["[heard: floor]"])],
)
def test_a_comma_or_an_apostrophe_is_not_shown_as_misheard(word: str, raw: str, shown: list[str]) -> None:
    script = Script(Memo("m1", desk.MONDAY, "A", word, raw, (Word(word, 0, len(word), 0.0, 1.0, 0.9, raw),)))
    assert [chunk.text for chunk in script.chunks if chunk.heard] == shown


def test_a_key_costs_no_more_in_five_hours_of_speech(tmp_path: Path) -> None:
    """What is drawn of a memo of 40,000 words (common practice, no source: 130 words a minute) is what is in sight."""
    root, many = tmp_path / "job", 40_000
    spoken = "Bathroom. Capped the hot behind the basin. " + "and so on " * (many // 3)
    made, found = desk.new(root), [desk.fact("m01", 0, spoken, quote="Capped the hot behind the basin")]
    with closing(book.connect(root)) as db:
        desk.put(db, made, "m01", spoken, found, words=desk.words(spoken))
    drawn: list[int] = []

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "enter")
        words = pilot.app.screen.query_one(Words)
        assert words.script and len(words.script.words) > many
        content = words.content
        words.content = lambda y: (drawn.append(y), content(y))[1]  # type: ignore[method-assign]
        await press(pilot, "right", "right")

    drive(root, script)
    assert 0 < len(drawn) < 200
