"""A recording as samples to be played again."""

from __future__ import annotations

from pathlib import Path


def samples(file: Path) -> bytes:
    """The sound as 16-bit samples, one channel, at probe.RATE. Raises MediaError where it can't be decoded."""
    from notes import probe

    sound: bytes = (probe.samples(file).clip(-1, 1) * 32767).astype("<i2").tobytes()
    return sound
