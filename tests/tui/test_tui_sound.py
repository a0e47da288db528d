"""Listening and dictating: what is heard, what is on disk when, and a machine without sound."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import wave
from pathlib import Path

import pytest
from textual.pilot import Pilot

from notes import dictations
from tests.tui.desk import drive, press, query, settle, text
from tui import sound
from tui.app import Review
from tui.memo_pane import MemoPane
from tui.memo_words import Script
from tui.room import RoomView
from tui.sound import NoSound, Player, Recorder
from tui.view import View

BATH = ("a", "home", "enter")


def seconds_of(file: Path) -> float:
    with wave.open(str(file)) as heard:
        return heard.getnframes() / heard.getframerate()


def until(true, limit: float = 5.0) -> None:  # type: ignore[no-untyped-def]
    stop = time.monotonic() + limit
    while not true():
        assert time.monotonic() < stop
        time.sleep(0.02)


def the_app(pilot: Pilot[None]) -> Review:
    assert isinstance(pilot.app, Review)
    return pilot.app


def test_the_seconds_around_a_fact_are_heard(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    played: list[tuple[float, float | None]] = []
    monkeypatch.setattr(Player, "play", lambda self, samples, start, until: played.append((start, until)))

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "space")

    drive(root, script)
    # "capped ... basin," is said from 2.6 to 7.8 seconds
    ((start, end),) = played
    assert (start, end) == (pytest.approx(2.3 - 2, abs=0.8), pytest.approx(7.8 + 1, abs=0.5))


def test_a_second_press_pauses_and_a_third_goes_on(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        player = the_app(pilot).player
        await press(pilot, *BATH, "w")
        assert player.playing and not player.paused
        await press(pilot, "w")
        assert player.paused and "paused" in text(pilot)
        here = player.second
        await press(pilot, "w")
        assert not player.paused
        until(lambda: player.second > here)
        await press(pilot, "escape")
        assert not player.playing

    drive(root, script)


def test_going_by_words_goes_to_them_in_the_sound_paused_or_not(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        player = the_app(pilot).player
        await press(pilot, *BATH, "right")
        assert not player.playing  # words are gone through without any sound as well
        await press(pilot, "w", "w")
        assert player.paused
        for key in ("right", "right", "left", "right"):
            await press(pilot, key)
            word = pilot.app.screen.query_one(MemoPane).word
            assert word and word.at is not None
            assert player.paused and player.second == pytest.approx(word.at, abs=0.01)
        await press(pilot, "w")
        until(lambda: player.second > word.at + 0.05)

    drive(root, script)


def test_a_word_behind_the_piece_that_is_heard_goes_on_to_the_end() -> None:
    player = Player()
    player.play(b"\0\0" * sound.RATE * 4, 0.0, 1.0)
    player.pause()
    player.seek(0.5)
    assert player.playing and player.second == 0.5 and player._end == sound.RATE * 2
    player.seek(3.0)
    assert player.playing and player.second == 3.0 and player._end == sound.RATE * 8
    player.seek(9.0)
    assert not player.playing and player.second == 4.0
    player.stop()


def test_the_cursor_follows_only_the_memo_that_is_heard(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "w")
        screen = pilot.app.screen
        assert isinstance(screen, RoomView)
        pane = screen.query_one(MemoPane)
        pane.show(Script(screen.desk.memo("m02")))
        player, here = the_app(pilot).player, pane.cursor
        player.pause()
        second = player.second
        screen._follow(pane)
        await press(pilot, "right")
        assert pane.cursor == here + 1 and player.second == second

    drive(root, script)


def test_a_typed_memo_says_that_there_is_nothing_to_hear(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter", "space")
        assert "typed: there is nothing to hear" in text(pilot)

    drive(root, script)


def test_a_machine_without_sound_says_so_and_goes_on(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object, **__: object) -> None:
        raise NoSound("there is no loudspeaker on this machine that can be used")

    monkeypatch.setattr(sound, "_device", none)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, *BATH, "space")
        assert "no loudspeaker" in text(pilot)
        await press(pilot, "down", "x")
        assert len(query(root, "SELECT * FROM decisions")) == 1
        await press(pilot, "d", "enter")
        assert "no loudspeaker" in text(pilot) and "press t" in text(pilot)

    drive(root, script)


def test_what_goes_wrong_while_something_is_read_stays_told(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        screen = pilot.app.screen
        assert isinstance(screen, View)
        screen.load()
        screen.trouble("there is no microphone")
        await settle(pilot)
        assert "! there is no microphone" in text(pilot)
        screen.load()
        await settle(pilot)
        assert "there is no microphone" not in text(pilot)

    drive(root, script)


def test_the_player_stops_at_the_end() -> None:
    player = Player()
    player.play(b"\0" * 32_000, 0.5, 0.9)
    assert player.playing
    until(lambda: not player.playing)
    assert player.second == pytest.approx(0.9)
    player.stop()


def test_a_recording_is_whole_on_disk_while_it_is_made(tmp_path: Path) -> None:
    recorder = Recorder(tmp_path / "new" / "a.wav")
    recorder.start()
    until(lambda: recorder.seconds > 0.4)
    assert seconds_of(recorder.file) >= 0.4
    recorder.pause()
    time.sleep(sound.EVERY * 1.5)
    at_pause = recorder.seconds
    time.sleep(sound.EVERY * 2)
    assert recorder.seconds == at_pause
    recorder.pause()
    until(lambda: recorder.seconds > at_pause)
    recorder.stop()
    assert seconds_of(recorder.file) == pytest.approx(recorder.seconds)


def test_a_kill_keeps_what_was_said_and_the_next_dictation_finds_it(root: Path) -> None:
    file = dictations.folder(root) / "dictated-2026-03-02-180511.wav"
    run = "import sys, time; from pathlib import Path; from tui.sound import Recorder; "
    run += "Recorder(Path(sys.argv[1])).start(); time.sleep(60)"
    child = subprocess.Popen([sys.executable, "-c", run, str(file)], env={**os.environ, "VOIDBOOK_SOUND": "none"})
    until(lambda: file.exists() and file.stat().st_size > 20_000, limit=20)
    child.send_signal(signal.SIGKILL)
    child.wait()
    assert seconds_of(file) > 0.5
    assert dictations.leftovers(root, time.time()) == []  # it may still be spoken into
    assert dictations.leftovers(root, time.time() + dictations.STILL + 1) == [file]


def test_a_lost_microphone_keeps_what_was_said(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[list[str]] = []
    monkeypatch.setattr(sound, "SILENT", 0.3)
    monkeypatch.setattr(Review, "take", lambda self, paths, **_: taken.append(paths))

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "d", "enter")
        recorder = pilot.app.screen.recorder  # type: ignore[attr-defined]
        until(lambda: recorder.seconds > 0.2)
        recorder._device.stop()
        until(lambda: recorder.lost)
        pilot.app.screen._draw()  # type: ignore[attr-defined]
        await pilot.pause()
        assert "the microphone is gone" in text(pilot)

    drive(root, script)
    ((file,),) = taken
    assert seconds_of(Path(file)) > 0.2


def test_one_key_starts_and_stops_and_the_sound_is_on_disk_before_it_is_taken(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[tuple[float, dict[str, object]]] = []
    monkeypatch.setattr(Review, "take", lambda self, paths, **how: taken.append((seconds_of(Path(paths[0])), how)))

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "d", "enter")
        assert "recording" in text(pilot) and "level" in text(pilot)
        recorder = pilot.app.screen.recorder  # type: ignore[attr-defined]
        until(lambda: recorder.seconds > 0.3)
        await press(pilot, "space")
        assert "paused" in text(pilot)
        await press(pilot, "enter")
        assert "Start (enter)" in text(pilot)

    drive(root, script)
    ((seconds, how),) = taken
    assert seconds > 0.3 and how == {"speaker": "Kay", "move": True}


def test_leaving_the_screen_files_what_was_said(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[list[str]] = []
    monkeypatch.setattr(Review, "take", lambda self, paths, **_: taken.append(paths))

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "d", "enter")
        recorder = pilot.app.screen.recorder  # type: ignore[attr-defined]
        until(lambda: recorder.seconds > 0.2)
        await press(pilot, "escape")

    drive(root, script)
    assert len(taken) == 1


def test_a_level_is_told_by_length() -> None:
    assert sound.bar(0.0) == "·" * 20
    assert sound.bar(1.0) == "█" * 20
    assert sound.bar(0.1).count("█") == 10
    assert sound.loudest(b"\x00\x40\x00\x00") == 0.5
