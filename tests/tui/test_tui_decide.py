"""Putting right, closing, signing and undoing, by keys alone: what is decided is appended, and stays."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select

from tests.tui.desk import drive, facts, press, query, text
from tui.room import RoomView

BATH = ("a", "home", "enter")


def choose(pilot: Pilot[None], name: str, value: object) -> None:
    pilot.app.screen.query_one(f"#{name}", Select).value = value


def test_a_size_is_put_right_and_what_the_machine_read_stays(root: Path) -> None:
    said = query(root, "SELECT said FROM memos WHERE id = 'm01'")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "down", "enter")
        assert "Heard badly: size" in text(pilot)
        await press(pilot, "tab", "tab", "tab", "tab", "enter", "text:28", "enter", "ctrl+s")
        assert isinstance(pilot.app.screen, RoomView)
        assert "hot return capped, 28 mm" in " ".join(text(pilot).split())

    drive(root, script, (120, 40))
    hot, circulation, _ = facts(root)
    assert (hot.size_mm, circulation.size_mm) == (22, 28)
    assert circulation.by == "Kay" and not circulation.doubts
    assert query(root, "SELECT said FROM memos WHERE id = 'm01'") == said


def test_a_form_offers_only_what_is_valid_and_says_what_is_not(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "enter")
        rooms = pilot.app.screen.query_one("#room", Select)
        assert [value for _, value in rooms._options][1:] == ["House bathroom", "Scullery", "Boiler house"]
        pilot.app.screen.query_one("#place", Input).value = "under the bath"
        choose(pilot, "status", "to do")
        await press(pilot, "ctrl+s")

    drive(root, script)
    assert facts(root)[0].place == "under the bath"
    assert facts(root)[0].status == "to do"


def test_leaving_a_form_changes_nothing(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "enter")
        choose(pilot, "status", "to do")
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, RoomView)

    drive(root, script)
    assert not query(root, "SELECT * FROM decisions")


def test_a_fact_is_taken_out_and_brought_back_by_undo_without_limit(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "x", "x")
        assert [fact.subject for fact in facts(root)] == ["cold"]
        await press(pilot, "u")
        assert [fact.subject for fact in facts(root)] == ["hot return", "cold"]
        await press(pilot, "u")
        assert "hot capped" in text(pilot)
        await press(pilot, "u")
        assert "nothing to undo" in text(pilot)

    drive(root, script, (120, 40))
    assert len(facts(root)) == 3
    assert len(query(root, "SELECT * FROM decisions")) == 4


def test_a_doubtful_fact_is_kept_as_right(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "down")
        assert "heard badly" in text(pilot)
        await press(pilot, "y")
        assert "heard badly:" not in text(pilot)

    drive(root, script, (120, 40))
    assert not facts(root)[1].doubts


def test_an_entry_is_added_by_hand(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "n")
        choose(pilot, "subject", "waste")
        choose(pilot, "action", "connect")
        pilot.app.screen.query_one("#place", Input).value = "behind the basin"
        await press(pilot, "ctrl+s")
        assert "waste connected" in text(pilot)

    drive(root, script, (120, 40))
    added = facts(root)[-1]
    assert (added.subject, added.action, added.place, added.by) == ("waste", "connect", "behind the basin", "Kay")
    assert added.room == "House bathroom"


def test_a_word_is_put_right_for_this_job_and_what_was_heard_is_kept(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "c", "text:plugged", "tab", "space", "ctrl+s")

    drive(root, script)
    ((now, raw),) = query(root, "SELECT text, raw FROM memos WHERE id = 'm01'")
    assert "I've plugged the hot" in now and "I've capped the hot" in raw
    assert tomllib.loads((root / "job.toml").read_text())["words"] == {"capped": "plugged"}


def test_a_follow_up_is_closed_with_a_reason_and_opened_again(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "o")
        assert "What would close it" in text(pilot)
        await press(pilot, "c", "enter")
        assert "say what settled it" in text(pilot)
        await press(pilot, "text:seen it myself", "enter")
        (closed,) = query(root, "SELECT id, closed_by FROM followups WHERE closed_by IS NOT NULL")
        assert closed[1] == "Kay: seen it myself"
        await press(pilot, "f", "shift+tab", "shift+tab", "shift+tab", "space", "ctrl+s")
        assert "closed ones too" in text(pilot)
        await press(pilot, "end", "c")

    drive(root, script, (120, 40))
    assert not query(root, "SELECT * FROM followups WHERE closed_by IS NOT NULL")


def test_a_follow_up_is_given_to_somebody_with_a_day(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "o", "g", "text:Tommo", "tab", "text:someday", "ctrl+s")
        assert "is no day" in text(pilot)
        pilot.app.screen.query_one("#due", Input).value = "2026-03-09"
        await press(pilot, "ctrl+s")
        assert "for Tommo · due Mon 9 Mar" in " ".join(text(pilot).split())

    drive(root, script, (160, 40))
    assert query(root, "SELECT assignee, due FROM followups WHERE assignee IS NOT NULL") == [("Tommo", "2026-03-09")]


def test_follow_ups_are_filtered_by_room_check_person_and_due(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "o", "g", "text:Tommo", "ctrl+s", "f")
        choose(pilot, "room", "Scullery")
        await press(pilot, "ctrl+s")
        assert "Showing Scullery" in text(pilot)
        assert "House bathroom" not in text(pilot)
        await press(pilot, "f")
        choose(pilot, "room", Select.NULL)
        choose(pilot, "who", "Tommo")
        await press(pilot, "ctrl+s")
        assert "for Tommo" in text(pilot)
        assert len([row for row in pilot.app.screen.query_one("#open").items if row.item]) == 1  # type: ignore[attr-defined]

    drive(root, script, (120, 40))


def test_a_follow_up_leads_to_the_words_it_rests_on(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "o", "enter")
        assert isinstance(pilot.app.screen, RoomView)
        assert "‹" in text(pilot)
        await press(pilot, "escape")
        assert "Still open" in text(pilot)

    drive(root, script)


def test_who_signs_in_a_room_signs_that_room_and_not_the_day_everywhere(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "enter", "s", "ctrl+s")
        room = pilot.app.screen
        assert isinstance(room, RoomView) and room.where.day
        ((about,),) = query(root, "SELECT about FROM decisions WHERE kind = 'sign off'")
        assert json.loads(about) == {"day": room.where.day, "room": room.where.room, "anywhere": False}
        await press(pilot, "escape", "s", "ctrl+s")
        _, (about,) = query(root, "SELECT about FROM decisions WHERE kind = 'sign off' ORDER BY id")
        assert json.loads(about)["anywhere"] is True

    drive(root, script)


def test_a_day_is_signed_off_and_an_entry_changed_later_is_marked(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "s", "ctrl+s")
        assert "signed Kay" in text(pilot)
        assert "changed since" not in text(pilot)
        await press(pilot, "enter")
        choose(pilot, "status", "unsure")
        await press(pilot, "ctrl+s")
        assert "1 changed since" in text(pilot) and "‹changed since signed›" in text(pilot)
        await press(pilot, "u")
        assert "changed since" not in text(pilot)

    drive(root, script, (160, 40))
    ((value,),) = query(root, "SELECT value FROM decisions WHERE kind = 'sign off'")
    assert '"open": [' in str(value)


def test_two_runs_are_made_one_and_parted_again(root: Path) -> None:
    from contextlib import closing

    from notes import book, job
    from tests.tui import desk

    more = "Bathroom. Run the hot to the bath. Run the hot to the shower."
    ends = [("Run the hot to the bath", "bath"), ("Run the hot to the shower", "shower")]
    with closing(book.connect(root)) as db:
        found = [desk.fact("m03", n, more, quote=q, action="run", to=to) for n, (q, to) in enumerate(ends)]
        desk.put(db, job.load(root), "m03", more, found, hours=2)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "home", "r")
        runs = pilot.app.screen._runs  # type: ignore[attr-defined]
        before = [key for key, run in runs.items() if run.subject == "hot"]
        assert len(before) > 1
        await press(pilot, "down", "m", "enter")
        assert len([run for run in pilot.app.screen._runs.values() if run.subject == "hot"]) == len(before) - 1  # type: ignore[attr-defined]
        assert "one pipe from now on; u takes it back" in text(pilot)
        await press(pilot, "b", "enter")
        assert [k for k, run in pilot.app.screen._runs.items() if run.subject == "hot"] == before  # type: ignore[attr-defined]

    drive(root, script, (120, 40))


def test_any_decision_is_taken_back_from_the_list(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "x", "y", "h")
        assert "accept" in text(pilot) and "reject" in text(pilot)
        await press(pilot, "down", "enter")
        assert "(taken back)" in text(pilot)

    drive(root, script, (120, 40))
    assert len(facts(root)) == 3


def test_a_tick_stays_where_enter_keeps_the_form(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "right", "c", "text:tails", "tab", "space")
        assert "▐x▌ always in this job" in text(pilot)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, RoomView)

    drive(root, script, (120, 40))
    assert list(job_words(root).values()) == ["tails"]


def job_words(root: Path) -> dict[str, str]:
    from notes import job

    return dict(job.load(root).words)


def test_the_field_one_is_in_has_a_sign_before_it(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "enter")
        assert [line.count("▌") for line in text(pilot).splitlines() if " Room " in line] == [1]
        await press(pilot, "tab")
        lines = text(pilot).splitlines()
        assert ["▌" in line for line in lines if " Room " in line or " What " in line] == [False, True]

    drive(root, script, (120, 40))


def test_what_was_put_right_and_taken_back_is_told_in_words(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "enter")
        choose(pilot, "room", "Scullery")
        choose(pilot, "size_mm", 28.0)
        await press(pilot, "ctrl+s")
        assert "put right: room is Scullery, size is 28; u, 2 times, takes it back" in text(pilot)
        await press(pilot, "u")
        assert "taken back: correct size is 28 (m01 · hot)" in text(pilot)
        assert "takes it back" not in text(pilot)

    drive(root, script, (120, 40))


def test_states_are_offered_in_the_words_of_the_log(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "enter")
        states = pilot.app.screen.query_one("#status", Select)
        words = ["done", "not done", "to do", "not sure", "no longer wanted"]
        assert [str(label) for label, _ in states._options] == words
        await press(pilot, *["tab"] * 3, "enter", "text:no longer", "enter", "ctrl+s")

    drive(root, script)
    assert facts(root)[0].status == "dropped"


def test_an_entry_that_was_signed_and_is_gone_is_told(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "s", "ctrl+s", "x")
        assert "1 gone since" in text(pilot)
        await press(pilot, "escape")
        assert "signed off by Kay" in text(pilot) and "1 gone since" in " ".join(text(pilot).split())
        await press(pilot, "u")
        assert "gone since" not in text(pilot)

    drive(root, script, (160, 40))


def test_where_no_other_pipe_is_there_it_is_said_and_nothing_is_asked(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "home", "r", "m")
        assert "No other cold pipe is on record in this room" in text(pilot)
        await press(pilot, "b")
        assert "Nobody said that it is one with another" in text(pilot)
        assert pilot.app.screen.name_ == "runs"  # type: ignore[attr-defined]
        await press(pilot, "f")
        assert "▌ House bathroom" in text(pilot)  # the room one comes from is marked
        await press(pilot, "down", "down", "enter", "m")
        assert "no pipe is marked" in text(pilot)

    drive(root, script, (120, 40))


def test_a_photo_is_moved_to_the_room_that_it_shows(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "p", "m", "down", "enter")
        assert "tails shows Scullery; u takes it back" in text(pilot)
        assert "Scullery" in text(pilot).splitlines()[-3]
        await press(pilot, "f", "down", "enter")
        assert "Photos · House bathroom" in text(pilot) and "No photo is filed here" in text(pilot)
        await press(pilot, "m")
        assert "no photo is here to move" in text(pilot)
        await press(pilot, "u")
        assert "1 of 1" in text(pilot)

    drive(root, script, (120, 40))
    assert query(root, "SELECT room FROM photos") == [("House bathroom",)]


@pytest.mark.parametrize("key", ["x", "y", "c", "n", "space", "w"])
def test_a_key_that_finds_no_entry_says_so(root: Path, key: str) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "home", "enter", key)
        assert "no entry is marked here" in text(pilot) and isinstance(pilot.app.screen, RoomView)

    drive(root, script)
