"""Sound to words with times and probabilities; the only importer of faster_whisper, and late."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from notes import probe, short, timed
from notes.errors import SpeechError
from notes.gaps import unheard, widened
from notes.hearing import Kept, Progress, in_slices, later
from notes.model import Word
from notes.spoken import Said, fluent, join, spoken
from notes.weights import Weights, active

if TYPE_CHECKING:
    import numpy as np
    from faster_whisper import WhisperModel  # type: ignore[import-untyped]

HOTWORD_TOKENS = 223
"""faster-whisper 1.2 cuts hotwords to max_length // 2 - 1 tokens, and max_length is 448."""

OPTIONS: Mapping[str, Any] = {
    "language": "en",
    "beam_size": 5,
    "temperature": [0.0, 0.4],  # each try on a siren's howl takes seconds, and speech has not needed even the second
    "vad_filter": True,
    "word_timestamps": True,
    "condition_on_previous_text": False,
}


@dataclass(frozen=True, slots=True)
class Settings:
    """All that changes what is heard, but for the sound and the weights."""

    hotwords: str = ""
    options: Mapping[str, Any] = field(default_factory=lambda: dict(OPTIONS))
    compute: str = "int8"
    library: str = ""
    hygiene: int = 3
    """Raised when the rules of `spoken` change, or where long recordings are cut."""


@dataclass(frozen=True, slots=True)
class Transcript:
    """What was heard. The characters `start:end` of each word in `text`, its seconds in the sound, its probability."""

    words: tuple[Word, ...]
    text: str
    seconds: float
    model: str
    settings: Settings


class Transcriber(Protocol):
    """Anything that turns a recording into words."""

    @property
    def model(self) -> str: ...

    @property
    def settings(self) -> Settings: ...

    def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript: ...


def cache_key(sha: str, model: str, settings: Settings) -> str:
    """One key for a recording's SHA-256, the model with its hash, and the settings."""
    parts = json.dumps([sha, model, asdict(settings)], sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(parts.encode()).hexdigest()


def to_json(transcript: Transcript) -> str:
    """A transcript as short JSON, lossless for times in hundredths of a second, as `spoken.join` gives them."""
    told = {"text": transcript.text, "seconds": transcript.seconds, "model": transcript.model}
    told |= {"settings": asdict(transcript.settings), **timed.packed(transcript.words, transcript.text)}
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def from_json(kept: str | bytes) -> Transcript:
    """What `to_json` wrote, or a book of before, whose words had a name for each value."""
    data = json.loads(short.full(kept))
    old = data["words"] and isinstance(data["words"][0], dict)
    words = tuple(Word(**word) for word in data["words"]) if old else timed.unpacked(data, data["text"])
    return Transcript(words, data["text"], data["seconds"], data["model"], Settings(**data["settings"]))


class Whisper:
    """The real one. Nothing is loaded before the first recording, and then once in the process.

    `hotwords` come from `fit_hotwords`; see there for how many there may be.
    """

    def __init__(self, weights: Weights, hotwords: str = "") -> None:
        self._weights = weights
        self.model = weights.id
        self.settings = Settings(hotwords=hotwords, library=_library())

    def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
        """Raises MediaError for a recording that can't be decoded, SpeechError for a model that can't be loaded."""
        heard, total = in_slices(path, self._hear, kept, progress)
        words, text = join(spoken(heard, self.settings.hotwords))
        return Transcript(words, text, round(total, 3), self.model, self.settings)

    def _hear(self, sound: np.ndarray[Any, Any], progress: Progress) -> list[Said]:
        """All that is heard; what was passed over, or where the model got stuck, is heard again on its own."""
        hotwords = self.settings.hotwords
        heard = fluent(spoken(self._once(sound, hotwords or None, progress), hotwords))
        total = len(sound) / probe.RATE
        words = [(t.at, t.until) for said in heard for t in said.tokens]
        for gap in unheard(_speech(sound), words):
            start, end = widened(gap, total)
            piece = sound[int(start * probe.RATE) : int(end * probe.RATE)]
            heard += later(self._once(piece, None, lambda _done, _all: None), start)
        return sorted(heard, key=lambda said: said.tokens[0].at if said.tokens else total)

    def _once(self, sound: np.ndarray[Any, Any], hotwords: str | None, progress: Progress) -> list[Said]:
        segments, info = _loaded(self._weights.folder).transcribe(sound, hotwords=hotwords, **self.settings.options)
        heard: list[Said] = []
        for segment in segments:
            heard.append(Said.of(segment))
            progress(segment.end, info.duration)
        return heard


def _speech(sound: np.ndarray[Any, Any]) -> list[tuple[float, float]]:
    """Where somebody speaks, in seconds, by the voice detection that comes with faster_whisper."""
    from faster_whisper.vad import get_speech_timestamps  # type: ignore[import-untyped]

    return [(s["start"] / probe.RATE, s["end"] / probe.RATE) for s in get_speech_timestamps(sound)]


class Canned:
    """A twin for tests: says what it was given for a recording's name without ending, else `otherwise`."""

    model = "canned"

    def __init__(self, texts: Mapping[str, str], otherwise: str = "") -> None:
        self._texts, self._otherwise = texts, otherwise
        self.settings = Settings(library="none")

    def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
        """Words half a second long, one behind the other, all of them sure."""
        text = self._texts.get(path.stem, self._otherwise)
        found = list(re.finditer(r"\S+", text))
        words = tuple(
            Word(m.group(), m.start(), m.end(), at=n / 2, until=(n + 1) / 2, sure=1.0) for n, m in enumerate(found)
        )
        if progress:
            progress(len(words) / 2, len(words) / 2)
        return Transcript(words, text, len(words) / 2, self.model, self.settings)


def download(name: str, into: Path) -> Path:
    """Fetch a model over the network; the folder with its files. The one thing here that goes online."""
    os.environ["HF_HUB_OFFLINE"] = "0"  # read when the library is first imported
    os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"
    try:
        from faster_whisper import download_model

        return Path(download_model(name, cache_dir=str(into)))
    except Exception as error:  # the client lets errors of several libraries through
        todo = "connect to the network and try again, or use `voidbook model path DIR`"
        raise SpeechError(f"the model {name!r} could not be fetched", todo=todo) from error


@lru_cache(maxsize=1)
def _loaded(folder: Path) -> WhisperModel:
    os.environ["HF_HUB_OFFLINE"] = "1"
    os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"
    try:
        from faster_whisper import WhisperModel

        return WhisperModel(str(folder), device="cpu", compute_type="int8", local_files_only=True)
    except Exception as error:  # the loader raises nearly anything on a folder that holds something else
        raise SpeechError(
            "the model can't be loaded", file=folder, todo="choose another: `voidbook model list`"
        ) from error


def fit_hotwords(words: Sequence[str], folder: Path | None = None) -> str:
    """As many of the words as the model in `folder` (else the one in use) takes; the first are the most important."""
    return fitted(words, _counter(folder or active().folder), HOTWORD_TOKENS)


def fitted(words: Sequence[str], count: Callable[[str], int], budget: int) -> str:
    """The words in their order, each once, leaving out what would take more than `budget` tokens.

    They are written as somebody would say them: whole sentences as they are, names as the rooms one was in. The base
    model writes on in the style of its hotwords: a list with commas made it jump over ten seconds of speech at a time,
    names with full stops cut every memo into scraps ('15. No hang on. 16.'). tests/bench/hearing.py has the figures.
    """
    kept: dict[str, str] = {}
    for word in (" ".join(w.split()) for w in words):
        if word and word.lower() not in kept and count(_as_said([*kept.values(), word])) <= budget:
            kept[word.lower()] = word
    return _as_said(list(kept.values()))


def _as_said(words: Sequence[str]) -> str:
    sentences = [w for w in words if w.endswith(".")]
    names = [w for w in words if not w.endswith(".")]
    if names:
        head = "".join(f"{name}, the " for name in names[:-2])
        tail = f"{names[-2]} and the {names[-1]}" if len(names) > 1 else names[-1]
        sentences.append(f"I was in the {head}{tail}.")
    return " ".join(sentences)


def _library() -> str:
    return " ".join(f"{name} {metadata.version(name)}" for name in ("faster-whisper", "ctranslate2", "av"))


@lru_cache(maxsize=1)
def _counter(folder: Path) -> Callable[[str], int]:
    from tokenizers import Tokenizer

    tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
    return lambda text: len(tokenizer.encode(" " + text, add_special_tokens=False).ids)
