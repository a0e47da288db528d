"""What several threads ask of a model is answered together, to each its own; and no tail is heard on its own."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes import together, transcribe, weights
from notes.together import Together
from notes.transcribe import Whisper

SAMPLES = Path(__file__).parent.parent / "sample_media"


class Model:
    """Answers each with what it was asked. `gate` holds up the first that is asked, until the others wait."""

    def __init__(self, gate: threading.Event | None = None) -> None:
        self.gate = gate
        self.groups: list[tuple[Any, ...]] = []
        self.at_once = self.most = 0
        self._lock = threading.Lock()

    def encode(self, features: Any) -> tuple[Any, ...]:
        return (f"encoded {features}",)

    def generate(self, sound: tuple[Any, ...], prompts: list[list[int]], **options: Any) -> list[Any]:
        with self._lock:
            self.at_once += 1
            self.most = max(self.most, self.at_once)
            first = not self.groups
            self.groups.append(tuple(options.items()))
        if self.gate and first:
            assert self.gate.wait(20)
        with self._lock:
            self.at_once -= 1
        if "encoded 13" in sound:
            raise MemoryError
        assert len(sound) == len(prompts)
        return [(one, tuple(prompt), tuple(options.items())) for one, prompt in zip(sound, prompts, strict=True)]

    def align(self, sound: Any, text: str) -> Any:
        return sound, text


def asked(model: Together, n: int, prompt: list[int], beam: int = 5) -> Any:
    window = model.encode(n)
    (answer,) = model.generate(window, [prompt], beam=beam)
    return answer, model.align(window, "text")


def joined(sounds: list[tuple[Any, ...]]) -> tuple[Any, ...]:
    return tuple(one for sound in sounds for one in sound)


@given(st.lists(st.tuples(st.sampled_from([[1], [2], [1, 2]]), st.sampled_from([1, 5])), max_size=8), st.integers(1, 3))
def test_each_gets_its_own_answer(questions: list[tuple[list[int], int]], workers: int) -> None:
    raw = Model()
    model = Together(raw, workers, joined)
    with ThreadPoolExecutor(8) as pool:
        got = list(pool.map(lambda n: asked(model, n, *questions[n]), range(len(questions))))
    assert got == [
        ((f"encoded {n}", tuple(prompt), (("beam", beam),)), ((f"encoded {n}",), "text"))
        for n, (prompt, beam) in enumerate(questions)
    ]
    assert raw.most <= workers


def test_those_who_wait_are_answered_together_and_only_with_their_like() -> None:
    gate = threading.Event()
    raw = Model(gate)
    model = Together(raw, 1, joined)
    with ThreadPoolExecutor(8) as pool:
        first = pool.submit(asked, model, 0, [1])
        while not raw.groups:
            pass
        others = [pool.submit(asked, model, n, [1, 2] if n == 5 else [1]) for n in range(1, 6)]
        while len(model._waiting) < 5:
            pass
        gate.set()
        assert [future.result()[0][0] for future in (first, *others)] == [f"encoded {n}" for n in range(6)]
    assert len(raw.groups) == 1 + 4 // together.MOST + 1  # the first alone, four by twos, the other one alone


def test_what_goes_wrong_is_told_to_those_it_concerns_and_the_others_go_on() -> None:
    model = Together(Model(), 2, joined)
    for n in (13, 14):
        if n == 13:
            with pytest.raises(MemoryError):
                asked(model, n, [1])
        else:
            assert asked(model, n, [1])[0][0] == "encoded 14"


class Counting:
    """A model that tells how many windows it encodes."""

    frames_per_second = 100

    def __init__(self) -> None:
        self.heard = 0

    def encode(self, features: Any) -> None:
        self.heard += 1


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
