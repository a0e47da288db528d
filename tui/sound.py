"""Playing and recording with miniaudio. A machine without sound says so, in a NoSound, and nothing else breaks.

A recording is on disk, whole and playable, four times a second while it is made: its WAV header is brought up to date
with each piece. So a kill or a lost device costs a quarter of a second.
"""

from __future__ import annotations

import array
import os
import queue
import struct
import threading
import time
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

RATE = 16_000
"""Samples a second, one channel, 16 bits."""
EVERY = 0.25
"""Seconds of speech that a kill may cost."""
SILENT = 3.0
"""Seconds without a sample after which the microphone is taken to be gone."""


class NoSound(Exception):
    """This machine can't play or record now; says why."""


@contextmanager
def quiet() -> Iterator[None]:
    """Sound libraries mutter on stderr while they look for devices: not here."""
    kept, nothing = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 2)
    os.close(nothing)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def _backends() -> list[Any]:
    """The system's own; VOIDBOOK_SOUND=none takes one that plays to nobody and hears silence, for tests."""
    import miniaudio  # type: ignore[import-untyped]

    return [miniaudio.Backend.NULL] if os.environ.get("VOIDBOOK_SOUND") == "none" else []


def _device(kind: str, **options: Any) -> Any:
    try:
        import miniaudio

        wanted = _backends()
        device = getattr(miniaudio, kind)(nchannels=1, sample_rate=RATE, backends=wanted, **options)
    except ImportError as error:
        raise NoSound("this machine can't use sound: miniaudio is not installed") from error
    except miniaudio.MiniaudioError as error:
        what = "loudspeaker" if kind == "PlaybackDevice" else "microphone"
        raise NoSound(f"there is no {what} on this machine that can be used") from error
    if device.backend == "Null" and not wanted:
        device.close()
        raise NoSound("there is no sound on this machine")
    return device


class Player:
    """Plays a piece of a recording (16-bit samples at RATE)."""

    def __init__(self) -> None:
        self._device: Any = None
        self._samples = b""
        self._at = self._end = 0
        self._moving = threading.Lock()
        self.paused = False

    @property
    def second(self) -> float:
        """Where in the recording one is."""
        return self._at / 2 / RATE

    @property
    def playing(self) -> bool:
        return self._device is not None and self._at < self._end

    def play(self, samples: bytes, start: float = 0.0, until: float | None = None) -> None:
        """Play from second `start` to second `until` (the end, where None). Raises NoSound."""
        self.stop()
        self._samples = samples
        self._at = min(max(0, int(start * RATE)) * 2, len(samples))
        self._end = len(samples) if until is None else min(int(until * RATE) * 2, len(samples))
        self._start()

    def seek(self, second: float) -> None:
        """Go to `second`; from behind the end of a piece it goes on to the end of the whole."""
        with self._moving:
            self._at = min(max(0, int(second * RATE)) * 2, len(self._samples))
            if self._at >= self._end:
                self._end = len(self._samples)

    def pause(self) -> None:
        """Pause, or go on."""
        self.paused = not self.paused

    def stop(self) -> None:
        """Stop, and let go of the loudspeaker."""
        device, self._device, self.paused = self._device, None, False
        if device is not None:
            device.close()

    def _start(self) -> None:
        device = _device("PlaybackDevice", buffersize_msec=100)
        self._device = device
        feed = self._feed()
        next(feed)
        device.start(feed)

    def _feed(self) -> Generator[bytes, int, None]:
        frames = yield b""
        while True:
            with self._moving:
                piece = b"" if self.paused else self._samples[self._at : min(self._at + 2 * frames, self._end)]
                self._at += len(piece)
            frames = yield piece.ljust(2 * frames, b"\0")


class Recorder:
    """Records the microphone into a WAV file that is whole at any time."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.level = 0.0
        """The loudest sample just heard, 0..1."""
        self.paused = False
        self.lost = False
        """Whether the microphone is gone."""
        self._heard: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._bytes = 0
        self._stopping = threading.Event()
        self._device: Any = None
        self._writer = threading.Thread(target=self._write, name="dictation", daemon=True)

    @property
    def seconds(self) -> float:
        """How much is on disk."""
        return self._bytes / 2 / RATE

    def start(self) -> None:
        """Begin. Raises NoSound."""
        self._device = _device("CaptureDevice", buffersize_msec=100)
        self.file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._writer.start()
        hear = self._hear()
        next(hear)
        self._device.start(hear)

    def pause(self) -> None:
        """Pause, or go on."""
        self.paused = not self.paused
        self.level = 0.0

    def stop(self) -> None:
        """Stop; all that was heard is on disk then."""
        if self._device is not None:
            self._device.close()
            self._device = None
        self._stopping.set()
        if self._writer.is_alive():
            self._writer.join()

    def _hear(self) -> Generator[None, bytes, None]:
        while True:
            self._heard.put(bytes((yield)))

    def _write(self) -> None:
        last = time.monotonic()
        with _Wav(self.file) as wav:
            while not self._stopping.wait(EVERY):
                if self._drain(wav):
                    last = time.monotonic()
                self.lost = time.monotonic() - last > SILENT
            self._drain(wav)

    def _drain(self, wav: _Wav) -> bool:
        pieces = []
        while not self._heard.empty():
            pieces.append(self._heard.get())
        if pieces and not self.paused:
            sound = b"".join(pieces)
            self.level = loudest(sound)
            self._bytes += len(sound)
            wav.add(sound)
        else:
            wav.touch()
        return bool(pieces)


class _Wav:
    """A WAV file (16 bits, one channel) that is whole after every piece."""

    def __init__(self, file: Path) -> None:
        self._out = os.fdopen(os.open(file, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "r+b")
        self._size = 0
        self._head()

    def __enter__(self) -> _Wav:
        return self

    def __exit__(self, *_: object) -> None:
        self._out.close()

    def add(self, sound: bytes) -> None:
        self._out.seek(0, os.SEEK_END)
        self._out.write(sound)
        self._size += len(sound)
        self._head()

    def touch(self) -> None:
        """Say that it is still being made, though nothing comes in."""
        self._head()

    def _head(self) -> None:
        self._out.seek(0)
        form = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, 1, RATE, RATE * 2, 2, 16)
        riff = struct.pack("<4sI4s", b"RIFF", 36 + self._size, b"WAVE")
        self._out.write(riff + form + struct.pack("<4sI", b"data", self._size))
        self._out.flush()
        os.fsync(self._out.fileno())


def loudest(sound: bytes) -> float:
    """The loudest of 16-bit samples, 0..1."""
    samples = array.array("h", sound[: len(sound) // 2 * 2])
    return max((abs(s) for s in samples), default=0) / 32768


def bar(level: float, width: int = 20) -> str:
    """A level as a bar: half of it is -20 dB, where a voice at arm's length stands."""
    from math import log10

    share = max(0.0, 1 + log10(max(level, 1e-4)) / 2)
    return "█" * round(share * width) + "·" * (width - round(share * width))
