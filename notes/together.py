"""What a model is asked from several threads at the same time, answered together.

Reading its weights takes the decoder longer than computing with them. Recordings that are decoded side by side share
that, and each gets the words that it would have got alone: tests/bench/take_speed.py compares them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from threading import Condition
from typing import Any

MOST = 2
"""Recordings decoded side by side. More win little, and each takes 80 MB meanwhile."""


@dataclass(slots=True, eq=False)
class Window:
    """Half a minute of sound, encoded when its turn comes: the wait is then for both, and more come together."""

    features: Any
    encoded: Any = None


@dataclass(slots=True, eq=False)
class _Question:
    window: Window
    prompt: Sequence[int]
    options: Mapping[str, Any]
    answer: Any = None
    wrong: BaseException | None = None

    @property
    def open(self) -> bool:
        return self.answer is None and self.wrong is None

    def goes_with(self, other: _Question) -> bool:
        return len(self.prompt) == len(other.prompt) and self.options == other.options


class Together:
    """A Whisper model of CTranslate2 in which calls of `generate` for one window each are gathered.

    Whoever asks while one of its `workers` is free decodes for others with a like question too. `joined` makes one of
    the encoded sound of several.
    """

    def __init__(self, model: Any, workers: int, joined: Callable[[list[Any]], Any]) -> None:
        self._model, self._free, self._joined = model, workers, joined
        self._waiting: list[_Question] = []
        self._turn = Condition()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._model, name)

    def encode(self, features: Any, to_cpu: bool = False) -> Window:
        return Window(features)

    def align(self, window: Window, *args: Any, **options: Any) -> Any:
        return self._model.align(window.encoded, *args, **options)

    def generate(self, window: Window, prompts: Sequence[Sequence[int]], **options: Any) -> list[Any]:
        (prompt,) = prompts
        mine = _Question(window, prompt, options)
        with self._turn:
            self._waiting.append(mine)
            while mine.open and not (mine in self._waiting and self._free):
                self._turn.wait()
            group = self._taken(mine) if mine.open else []
        if group:
            self._answer(group)
        if mine.wrong:
            raise mine.wrong
        return [mine.answer]

    def _taken(self, mine: _Question) -> list[_Question]:
        group = [mine, *(q for q in self._waiting if q is not mine and mine.goes_with(q))][:MOST]
        for one in group:
            self._waiting.remove(one)
        self._free -= 1
        return group

    def _answer(self, group: list[_Question]) -> None:
        try:
            answers = self._asked(group)
            for one, answer in zip(group, answers, strict=True):
                one.answer = answer
        except BaseException as wrong:
            for one in group:
                one.wrong = wrong
        finally:
            with self._turn:
                self._free += 1
                self._turn.notify_all()

    def _asked(self, group: list[_Question]) -> Any:
        for one in group:
            one.window.encoded = one.window.encoded or self._model.encode(one.window.features)
        sounds = [one.window.encoded for one in group]
        sound = self._joined(sounds) if len(sounds) > 1 else sounds[0]
        return self._model.generate(sound, [one.prompt for one in group], **group[0].options)
