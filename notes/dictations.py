"""Dictations that lie in the job until they are filed: JOB/dictated/<when>.wav."""

from __future__ import annotations

import wave
from contextlib import suppress
from datetime import datetime
from itertools import count
from pathlib import Path

from notes import clock
from notes.model import Job

STILL = 5.0
"""Seconds after which a file that nobody writes to was cut off: one that is being recorded is touched every 1/4 s."""


def folder(root: Path) -> Path:
    """Where they lie."""
    return root / "dictated"


def new(root: Path, job: Job) -> Path:
    """The file for a dictation begun now; its name tells when, on the clock of the job."""
    stamp = f"{datetime.now(clock.zone_of(job.zone)):%Y-%m-%d-%H%M%S}"
    names = (f"dictated-{stamp}{f'-{n}' if n > 1 else ''}.wav" for n in count(1))
    return next(file for name in names if not (file := folder(root) / name).exists())


def leftovers(root: Path, now: float) -> list[Path]:
    """Those that were cut off before they were filed, without those that nothing was said in."""
    found = []
    for file in sorted(folder(root).glob("*.wav")):
        with suppress(OSError, EOFError, wave.Error):
            if now - file.stat().st_mtime > STILL and _seconds(file) > 0:
                found.append(file)
    return found


def _seconds(file: Path) -> float:
    with wave.open(str(file)) as sound:
        return float(sound.getnframes() / sound.getframerate())
