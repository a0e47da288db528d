"""voidbook dictate: record a memo with this machine's microphone."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from notes import dictations, intake
from notes.book import opened
from notes.cli import common, out
from notes.cli.progress import Progress
from notes.errors import MediaError
from notes.wording import second

if TYPE_CHECKING:
    from tui.sound import Recorder

TICK = 0.1


@click.command("dictate")
@click.option("--seconds", metavar="N", type=click.FloatRange(min=0.1), help="Stop by itself after so long.")
@click.option("--speaker", metavar="NAME", help="Who speaks; else who is logged in.")
@common.in_job
def command(seconds: float | None, speaker: str | None, folder: Path | None) -> int:
    """Record a memo and file it. Enter stops, space pauses and goes on.

    The sound is on disk as it is spoken: what was said is kept if the microphone is lost or the program is killed, and
    is filed by the next dictation.
    """
    root, job = common.here(folder)
    cut_off = dictations.leftovers(root, time.time())
    if cut_off:
        out.say(f"{len(cut_off)} from before that was cut off is filed too")
    spoken = _record(dictations.new(root, job), seconds)
    talk = Progress(as_json=False, live=sys.stderr.isatty())
    with opened(root) as db:
        files = [*cut_off, *spoken]
        wrong = intake.take(db, root, job, files, talk, speaker=speaker or common.me(), move=True)
    return wrong[0].exit_code if wrong else 0


def _record(file: Path, seconds: float | None) -> list[Path]:
    """Record until told to stop; the file, or none where nothing was heard."""
    from tui.sound import NoSound, Recorder, quiet

    recorder = Recorder(file)
    try:
        with quiet():
            recorder.start()
    except NoSound as wrong:
        raise MediaError(str(wrong), todo="record with a phone, and: voidbook take RECORDING") from wrong
    out.say("recording; enter stops, space pauses")
    try:
        _listen(recorder, seconds)
    except KeyboardInterrupt:
        pass  # as good a way to stop as any
    finally:
        recorder.stop()
        _moving("")
    if recorder.lost:
        out.say("the microphone is gone; what was said so far is kept")
    if not recorder.seconds:
        file.unlink(missing_ok=True)
    return [file] if recorder.seconds else []


def _listen(recorder: Recorder, seconds: float | None) -> None:
    from tui.sound import bar

    with _keys() as pressed:
        while not (recorder.lost or (seconds and recorder.seconds >= seconds)):
            key = pressed(TICK)
            if key in ("\r", "\n"):
                return
            if key == " ":
                recorder.pause()
            state = "paused   " if recorder.paused else "recording"
            _moving(f"{state} {second(recorder.seconds)}  {bar(recorder.level)}")


def _moving(text: str) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\r\x1b[K{text}")
        sys.stderr.flush()


@contextmanager
def _keys() -> Iterator[Callable[[float], str]]:
    """Single keys as they are pressed: a function that waits so many seconds for one."""
    if not sys.stdin.isatty():
        yield _nobody
    elif sys.platform == "win32":
        yield _windows
    else:
        import termios
        import tty

        kept = termios.tcgetattr(sys.stdin)
        tty.setcbreak(sys.stdin)
        try:
            yield _unix
        finally:
            termios.tcsetattr(sys.stdin, termios.TCSADRAIN, kept)


def _nobody(wait: float) -> str:
    time.sleep(wait)
    return ""


def _windows(wait: float) -> str:
    import msvcrt

    time.sleep(wait)
    return str(msvcrt.getwch()) if msvcrt.kbhit() else ""  # type: ignore[attr-defined]


def _unix(wait: float) -> str:
    import select

    ready, _, _ = select.select([sys.stdin], [], [], wait)
    return sys.stdin.read(1) if ready else ""
