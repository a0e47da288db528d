"""Where the CPU time of hearing goes: all sample recordings one after the other, the model on one core. Run by hand:

uv run python tests/bench/take_profile.py
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable
from time import process_time
from typing import Any

from take_speed import RECORDINGS, same

from notes import transcribe, weights

_PARTS = {"encode": "encoder", "generate": "decoder", "align": "placing words"}


def main() -> None:
    os.environ["OMP_NUM_THREADS"] = "1"  # read when the library is loaded
    import ctranslate2  # type: ignore[import-untyped]
    import faster_whisper.vad as vad  # type: ignore[import-untyped]
    from faster_whisper.feature_extractor import FeatureExtractor  # type: ignore[import-untyped]

    spent: dict[str, float] = defaultdict(float)
    calls: dict[str, int] = defaultdict(int)
    inner, again = [0.0], [False]

    def timed(name: str, do: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **options: Any) -> Any:
            key, began = name + (", again" if again[0] else ""), process_time()
            inner.append(0.0)
            try:
                return do(*args, **options)
            finally:
                took = process_time() - began
                spent[key] += took - inner.pop()
                calls[key] += 1
                inner[-1] += took

        return run

    once = transcribe.Whisper._once

    def told(self: Any, sound: Any, speech: Any, said: Any, progress: Any) -> Any:
        again[0] = said is None
        try:
            return timed("rest of a pass", once)(self, sound, speech, said, progress)
        finally:
            again[0] = False

    class Timed:
        def __init__(self, model: Any) -> None:
            self.model = model

        def __getattr__(self, name: str) -> Any:
            found = getattr(self.model, name)
            return timed(_PARTS[name], found) if name in _PARTS else found

    ask, chosen = same(), weights.active()
    speech = transcribe.Whisper(chosen, ask["options"]["hotwords"])
    model = timed("loading", transcribe._loaded)(chosen.folder)
    assert isinstance(model.model, ctranslate2.models.Whisper)
    model.model = Timed(model.model)
    transcribe.Whisper._once = told  # type: ignore[method-assign]
    vad.get_speech_timestamps = timed("voice detection", vad.get_speech_timestamps)
    FeatureExtractor.__call__ = timed("spectrum", FeatureExtractor.__call__)
    for file in RECORDINGS:
        timed("decoding and the rest", speech.transcribe)(file)
    for name, seconds in sorted(spent.items(), key=lambda item: -item[1]):
        print(f"{name:25} {seconds:7.2f} s  {calls[name]:3} times")
    print(f"{'in all':25} {sum(spent.values()):7.2f} s")


if __name__ == "__main__":
    main()
