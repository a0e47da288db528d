"""Dictating a memo: the sound is on disk as it is spoken, in the store before anything is transcribed."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.content import Content
from textual.timer import Timer
from textual.widgets import Button, Static

from tui import drawing, keys
from tui.bridge import wording
from tui.sound import NoSound, Recorder, bar
from tui.view import View

TICK = 0.1


class DictateView(View):
    """A clock, a level, and two keys."""

    name_ = "dictate"
    title_ = "Dictate a memo"
    BINDINGS = keys.bindings("dictate")
    AUTO_FOCUS = ""

    recorder: Recorder | None = None
    _ticking: Timer | None = None

    def body(self) -> ComposeResult:
        yield Static("", id="clock", markup=False)
        yield Static("", id="level", classes="line", markup=False)
        yield Static("", id="said", classes="line", markup=False)
        yield Button("Start", id="start", variant="primary", compact=True)
        yield Static("", id="taken", classes="line", markup=False)

    def load(self) -> None:
        self.head("Dictate a memo")
        self._draw()
        self.read(self.desk.bring.leftovers, self._take_leftovers)

    def _take_leftovers(self, found: list[Path]) -> None:
        """What an earlier dictation left that was cut off."""
        if found:
            self.query_one("#said", Static).update(f"{len(found)} from before that was not filed yet is filed now.")
            self.review.take([str(file) for file in found], move=True)

    def action_start(self) -> None:
        if self.recorder:
            self._stop()
            return
        recorder = Recorder(self.desk.bring.new_dictation())
        try:
            recorder.start()
        except (NoSound, OSError) as wrong:
            self.trouble(f"{wrong}. You can take in a recording instead: press t")
            return
        self.trouble("")
        self.recorder = recorder
        self._ticking = self.set_interval(TICK, self._draw)
        self._draw()

    def action_pause(self) -> None:
        if self.recorder:
            self.recorder.pause()
            self._draw()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        event.stop()
        self.action_start()

    def _stop(self) -> None:
        recorder, self.recorder = self.recorder, None
        if self._ticking:
            self._ticking.stop()
        if recorder:
            recorder.stop()
            if recorder.seconds:
                self.review.take([str(recorder.file)], speaker=self.desk.who, move=True)
            else:
                recorder.file.unlink(missing_ok=True)
        self._draw()

    def on_screen_suspend(self) -> None:
        self._stop()

    def taking_changed(self) -> None:
        """Show how the filing goes."""
        taking = self.review.taking
        words = [f"{Path(file).name}: {line}" for file, line in list(taking.lines.items())[-3:]]
        self.query_one("#taken", Static).update(Content("\n").join(map(drawing.plain, words)))

    def _draw(self) -> None:
        recorder = self.recorder
        clock, level, button = (self.query_one(f"#{name}") for name in ("clock", "level", "start"))
        assert isinstance(clock, Static) and isinstance(level, Static) and isinstance(button, Button)
        if recorder is None:
            clock.update(Content("Press enter and speak. Say the room first, then what you did."))
            level.update(Content("The recording stays on this machine and is kept as it was spoken."))
            button.label = "Start (enter)"
            return
        if recorder.lost:
            self._stop()
            self.trouble("the microphone is gone; what was said so far is kept and filed")
            return
        state = "paused" if recorder.paused else "recording"
        clock.update(Content(f"{state}  {wording.second(recorder.seconds)}"))
        level.update(Content(f"level {bar(recorder.level)}"))
        button.label = "Stop and file (enter)"
