"""Recordings heard side by side give the words that each gives alone; and no tail of one is heard on its own."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from notes import transcribe, weights
from notes.transcribe import Whisper

SAMPLES = Path(__file__).parent.parent / "sample_media"


class Counting:
    """A model that tells how many windows it encodes."""

    frames_per_second = 100

    def __init__(self) -> None:
        self.heard = 0
        self.frames: list[int] = []

    def encode(self, features: Any) -> None:
        self.heard += 1
        self.frames.append(features.shape[1])


def window(seconds: float) -> Any:
    """A window of faster_whisper: 30 seconds, what is behind the sound is nought."""
    features = np.zeros((80, 3000), np.float32)
    features[:, : int(seconds * 100)] = -0.5
    return features


def test_a_tail_is_not_heard_on_its_own_but_a_short_recording_is() -> None:
    for first in (0.3, 30.0):
        model = Counting()
        one: Any = transcribe._to_the_end(model)
        one.encode(window(first))
        one.encode(window(1.2))
        with pytest.raises(transcribe._End):
            one.encode(window(0.9))
        assert model.heard == 2
        assert model.encode.__func__ is Counting.encode  # another sound begins anew


def test_of_the_padding_of_a_window_two_seconds_are_heard() -> None:
    model = Counting()
    one: Any = transcribe._to_the_end(model)
    for seconds in (4.0, 29.0, 30.0):
        one.encode(window(seconds))
    assert model.frames == [600, 3000, 3000]


def test_the_padding_of_the_library_is_nought() -> None:
    from faster_whisper.transcribe import pad_or_trim

    assert not pad_or_trim(np.ones((80, 50), np.float32))[:, 50:].any()


def test_several_at_once_give_the_words_that_each_gives_alone() -> None:
    """The real model: one by one on all cores, and side by side."""
    chosen = weights._named("base")
    files = [SAMPLES / "m08.ogg", SAMPLES / "m04.ogg", SAMPLES / "m12.ogg"]
    several = Whisper(chosen, several=True)
    with ThreadPoolExecutor(several.at_once) as pool:
        together_ = list(pool.map(several.transcribe, files))
    alone = Whisper(chosen)
    assert [heard.text for heard in together_] == [alone.transcribe(file).text for file in files]
