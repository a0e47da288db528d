"""Going through the house, a room's log, photos, the search and the runs, by keys alone."""

from __future__ import annotations

import asyncio
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from textual.app import App, ComposeResult
from textual.pilot import Pilot

from notes import answering, book, forget, job, search
from notes.looked import looked
from tests.tui import desk
from tests.tui.desk import drive, press, rows, text
from tui import picture
from tui.app import Review
from tui.ask import run_told
from tui.boards import BoardsView
from tui.memo_pane import MemoPane
from tui.memo_words import Words
from tui.photos import PhotosView
from tui.room import RoomView
from tui.rows import Rows


def test_the_house_opens_on_the_last_day_and_steps_through_days(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        assert "[Tue 3 Mar, 1 memo]" in text(pilot)
        assert "Left the waste" not in text(pilot)
        await press(pilot, "left")
        assert "[Mon 2 Mar, 1 memo]" in text(pilot)
        await press(pilot, "right")
        assert "[Tue 3 Mar, 1 memo]" in text(pilot)
        await press(pilot, "a", "home")
        assert "[All days]" in text(pilot)

    drive(root, script)


def test_rooms_stand_by_floor_with_what_is_filed_of_each(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home")
        shown = text(pilot).splitlines()
        bath = next(line for line in shown if line[1:].strip().startswith("House bathroom"))
        assert bath.split("House bathroom")[1].split()[0] == "3"
        assert shown.index(next(s for s in shown if s.startswith(" First"))) < shown.index(bath)
        assert "Still open" in text(pilot) and "capped" in text(pilot)

    drive(root, script)


def test_the_first_room_of_which_the_day_tells_is_marked(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        assert "▌ Scullery" in text(pilot) and "+ waste left open" in " ".join(text(pilot).split())
        await press(pilot, "left")
        assert "▌ Scullery" in text(pilot)  # it stays where one is

    drive(root, script)


def test_a_list_is_not_called_empty_before_it_was_read() -> None:
    class Bare(App[None]):
        def compose(self) -> ComposeResult:
            yield Rows(empty="Nothing is open here.")

    async def main() -> None:
        app = Bare()
        async with app.run_test(size=(40, 5)) as pilot:
            await pilot.pause()
            assert "Nothing" not in text(pilot)
            rows(pilot).show([])
            await pilot.pause()
            assert "Nothing is open here." in text(pilot)

    asyncio.run(main())


def test_a_run_passes_other_rooms_than_its_own(root: Path) -> None:
    with search.opened(root) as db:
        first = answering.runs(db, desk.job.load(root))[0]
    run = replace(first, room="Yard", rooms=("Boiler house", "Yard"))
    assert "passes    Boiler house" in [line.plain for line in run_told(run)]


def test_what_came_since_the_last_review_is_marked_new(root: Path) -> None:
    async def leave(pilot: Pilot[None]) -> None:
        assert "new memos" not in text(pilot)
        await press(pilot, "q")

    drive(root, leave)
    assert looked(root).memo == 2
    with closing(book.connect(root)) as db:
        later = "Back kitchen. Cold is run."
        new = desk.fact("m03", 0, later, quote="Cold is run", room="Scullery", subject="cold", action="run")
        desk.put(db, desk.job.load(root), "m03", later, [new], hours=30)

    async def again(pilot: Pilot[None]) -> None:
        assert "1 new memo ·" in f"{text(pilot).splitlines()[0]} ·"
        await press(pilot, "enter")
        assert "m03 · A  new" in text(pilot)

    drive(root, again)


def test_the_memo_stands_beside_the_log_with_its_words_marked(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "enter")
        shown = _memo(pilot)
        assert "lagging.(?)" in shown
        assert "circulation [heard: circle Asian]" in shown
        assert "‹capped the hot and the circulation [heard: circle Asian] behind the basin,›" in shown
        await press(pilot, "down", "down")
        assert "‹Cold wants lagging.(?)›" in _memo(pilot)

    drive(root, script)


def _memo(pilot: Pilot[None]) -> str:
    words = pilot.app.screen.query_one(Words)
    return " ".join(words.content(y).plain for y in range(words.size.height))


def test_words_are_gone_through_by_keys(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "enter")
        pane = pilot.app.screen.query_one(MemoPane)
        assert pane.word and pane.word.text == "capped"
        await press(pilot, "right", "right")
        assert pane.word.text == "hot"
        await press(pilot, "left")
        assert pane.word.text == "the"

    drive(root, script)


def test_a_room_steps_through_days_and_back(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "enter", "right_square_bracket")
        assert "Tuesday 3 March" in text(pilot) and "Nothing was said here that day" in text(pilot)
        await press(pilot, "left_square_bracket")
        assert "Monday 2 March" in text(pilot) and "cold to insulate" in text(pilot)
        await press(pilot, "escape")
        assert pilot.app.screen.query("#rooms")

    drive(root, script)


def test_photos_are_turned_the_right_way_and_opened_as_a_copy(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[Path] = []
    monkeypatch.setattr(picture, "view", lambda file: bool(opened.append(file)) or True)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "p")
        assert "1 of 1" in text(pilot) and "tails behind the basin" in text(pilot)
        lines = pilot.app.screen.query_one(picture.Blocks).lines
        width = sum(1 for segment in lines[0] if segment.text == "▀")
        assert len(lines) * 2 > width  # it lies on its side in the file
        top, bottom = lines[0]._segments[-1].style, lines[-1]._segments[-1].style
        assert top and bottom and top.color and bottom.color
        assert (
            top.color.triplet
            and top.color.triplet.red > 200
            and bottom.color.triplet
            and bottom.color.triplet.blue > 200
        )
        await press(pilot, "v")

    drive(root, script)
    assert opened[0].exists() and root not in opened[0].parents


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="asks for xdg-open")
@pytest.mark.parametrize(("ends", "told"), [("exit 3", True), ("exit 0", False), ("exec sleep 5", False)])
def test_a_machine_without_a_viewer_says_so(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ends: str, told: bool
) -> None:
    """xdg-open is there on many a machine without a display, and ends with 3 or 4 (its manual, from memory)."""
    (tmp_path / "bin").mkdir()
    opener = tmp_path / "bin" / "xdg-open"
    opener.write_text(f"#!/bin/sh\n{ends}\n")
    opener.chmod(0o755)
    monkeypatch.setenv("PATH", str(opener.parent), prepend=":")
    monkeypatch.setattr(picture, "PATIENCE", 1.0)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "p", "v")
        assert ("no program is here that shows pictures; the copy is" in text(pilot)) == told

    drive(root, script, (120, 40))


def test_a_photo_leads_to_its_memo(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "p", "enter")
        assert isinstance(pilot.app.screen, RoomView) and "circulation" in text(pilot)
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, PhotosView)

    drive(root, script)


def test_before_the_boards_go_up_pipes_without_a_clear_photo_come_first(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "p", "b")
        shown = text(pilot)
        assert "Before the boards · all rooms" in shown and "1 of 4 pipes without a clear photo" in shown
        assert shown.index("photograph it before it is covered (1)") < shown.index("Scullery: no photo")
        assert shown.index("Scullery: no photo") < shown.index("Shown by a clear photo (3)")
        assert "behind the basin · House bathroom: tails" in shown
        await press(pilot, "f", "down", "enter")
        assert "Before the boards · House bathroom" in text(pilot) and "0 of 3" in text(pilot)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, RoomView) and pilot.app.screen.where.room == "House bathroom"
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, BoardsView)

    drive(root, script, (120, 30))


def test_a_memo_that_was_forgotten_leaves_its_gap_in_the_log(root: Path) -> None:
    with closing(book.connect(root)) as db:
        forget.forget(db, root, desk.job.load(root), "m02", "Kay")

    async def script(pilot: Pilot[None]) -> None:
        shown = " ".join(text(pilot).split())
        assert "Tue 3 Mar, 0 memos" in shown  # the only memo of that day
        gap = "Tuesday 3 March 2026, 10:00 · a memo by B was removed for good by Kay"
        await press(pilot, "enter")
        assert gap in " ".join(text(pilot).split())

    drive(root, script, (160, 40))


def test_true_pixels_are_drawn_where_the_terminal_can(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from textual_image.widget import TGPImage

    monkeypatch.setattr(picture, "PIXELS", TGPImage)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "p")
        assert pilot.app.screen.query(TGPImage)

    drive(root, script)


def test_one_prompt_finds_words_and_traces_pipes_while_one_types(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "slash", "text:secondary return bath")
        shown = text(pilot)
        assert "Pipes (1)" in shown and "hot return" in shown
        assert "[circulation]" in shown
        await press(pilot, "down", "enter")
        assert isinstance(pilot.app.screen, RoomView)
        fact = pilot.app.screen.fact
        assert fact and fact.subject == "hot return"

    drive(root, script, (120, 40))


def test_what_nobody_said_is_not_found(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "slash", "text:zebra")
        assert "nothing on record says that" in text(pilot)
        await press(pilot, "enter")
        assert not rows(pilot).items

    drive(root, script)


def test_a_pipe_that_is_not_quite_what_was_asked_for_is_told_so(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "slash", "text:54 mm hot")
        assert "nothing on record speaks of 54 mm; the nearest to it" in text(pilot)
        await press(pilot, *["backspace"] * 9, "text:22 mm hot")
        assert "the nearest to it" not in text(pilot)

    drive(root, script)


def test_runs_show_their_state_and_steps(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "home", "r", "f", "down", "enter")
        assert "Pipe runs · Scullery" in text(pilot)
        assert "waste" in text(pilot) and "open" in text(pilot)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, RoomView)

    drive(root, script)


def test_what_another_program_files_is_shown(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter")
        assert len(rows(pilot).items) == 3
        with closing(book.connect(root)) as db:
            later = "Back kitchen. Cold is run."
            new = desk.fact("m03", 0, later, quote="Cold is run", room="Scullery", subject="cold", action="run")
            desk.put(db, desk.job.load(root), "m03", later, [new], hours=26.5)
        assert isinstance(pilot.app, Review)
        pilot.app._look()
        await desk.settle(pilot)
        assert "cold run" in text(pilot)

    drive(root, script)


def test_what_another_program_writes_into_the_job_is_known(root: Path) -> None:
    file = root / job.NAME
    told = file.read_text()

    async def script(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, Review)
        file.write_text(f'{told}\n[[rooms]]\nname = "Pump hut"\n\n[words]\n"tails" = "trails"\n')
        app._look()
        await desk.settle(pilot)
        assert "Pump hut" in text(pilot) and app.desk.job.words == {"tails": "trails"}
        file.write_text("no toml")
        app._look()
        await desk.settle(pilot)
        assert "job.toml: not valid TOML" in " ".join(text(pilot).split()) and "Pump hut" in text(pilot)

    drive(root, script)


def test_more_of_a_log_comes_as_one_goes_down_and_headings_stand_once(root: Path) -> None:
    many = " ".join(f"Cold {n} is run." for n in range(40))
    with closing(book.connect(root)) as db:
        for n in range(3, 9):
            said = [desk.fact(f"m{n:02}", i, many, quote=f"Cold {i} is run", subject="cold", action="run",
                              place=f"place {i}") for i in range(40)]  # fmt: skip
            desk.put(db, desk.job.load(root), f"m{n:02}", many, said, hours=n)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "enter")
        shown = rows(pilot)
        assert sum(row.item is not None for row in shown.items) == 100
        kept = shown.marked
        await press(pilot, "end", "end", "end")
        assert sum(row.item is not None for row in shown.items) == 243
        assert shown.cursor == len(shown.items) - 1 and kept in shown.items
        headings = [row.text.plain for row in shown.items if row.item is None]  # type: ignore[union-attr]
        assert len(headings) == len(set(headings)) == 8  # one day, seven memos
        assert shown._tops[-1] == shown.virtual_size.height

    drive(root, script)


def test_all_answers_are_read_once_one_goes_to_them(root: Path) -> None:
    with closing(book.connect(root)) as db:
        for n in range(3, 40):
            words = f"Back kitchen. Cold is run, number {n}."
            said = desk.fact(f"m{n:02}", 0, words, quote="Cold is run", room="Scullery", subject="cold", action="run")
            desk.put(db, desk.job.load(root), f"m{n:02}", words, [said], hours=n)

    def memos(pilot: Pilot[None]) -> int:
        return sum(isinstance(row.key, str) and row.key.startswith("m") for row in rows(pilot).items)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "slash", "text:number")
        assert memos(pilot) == 8 and "Said (the first 8)" in text(pilot)
        await press(pilot, "down")
        assert memos(pilot) == 37
        assert "Said (37)" in text(pilot)

    drive(root, script)


def test_the_best_answer_is_marked_while_one_types(root: Path) -> None:
    from tui.ask import AskView
    from tui.bridge import Run

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "slash", "text:hot bathroom")
        screen = pilot.app.screen
        assert isinstance(screen, AskView)
        runs, found = screen._answer.runs, (screen._answer.found, True)
        screen._traced(([], ""))
        assert not isinstance(rows(pilot).marked.item, Run)  # type: ignore[union-attr]
        screen._found(found)
        screen._traced((runs, ""))  # the pipes may come after the words
        assert isinstance(rows(pilot).marked.item, Run)  # type: ignore[union-attr]

    drive(root, script)
