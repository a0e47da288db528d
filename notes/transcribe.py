"""Sound to words with times and probabilities; the only importer of faster_whisper, and late."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from copy import copy
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, Protocol

from notes import heap, probe, short, timed
from notes.errors import SpeechError
from notes.gaps import shortened, unheard, widened
from notes.hearing import Kept, Progress, in_slices, later
from notes.model import Word
from notes.spoken import Said, fluent, join, spoken
from notes.weights import Weights, active

if TYPE_CHECKING:
    import numpy as np
    from faster_whisper import WhisperModel  # type: ignore[import-untyped]

    Sound = np.ndarray[Any, np.dtype[np.float32]]
    Spans = list[dict[str, int]]

MOST_WORKERS = 2
"""Recordings heard at the same time, sharing the cores: each takes some 200 MB meanwhile."""

TAIL = 1.0
"""Seconds. What is left of the sound after the last word was in the window of that word, and nothing was said in it:
heard on its own, with silence behind it, it gave '. . . .', the hotwords, or 'Don't worry about it'."""

PADDING = 2.0
"""Seconds of silence behind the sound of a window. The library fills each up to half a minute: a seventh of all work,
and no word is heard better for it (tests/bench/hearing.py has the figures)."""

HOTWORD_TOKENS = 223
"""faster-whisper 1.2 cuts hotwords to max_length // 2 - 1 tokens, and max_length is 448."""

OPTIONS: Mapping[str, Any] = {
    "language": "en",
    "beam_size": 3,  # of 3,243 words 0.5 % more are wrong than with 5, the same facts are right, a fifth less CPU
    "temperature": 0.0,  # where the model gets stuck we hear that stretch again; dice would give other words each time
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
    hygiene: int = 7
    """Raised when `spoken` has other rules, other padding is heard or heard again, or long ones are cut elsewhere."""


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

    @property
    def at_once(self) -> int:
        """How many recordings it can hear at the same time, from as many threads."""

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

    `hotwords` come from `fit_hotwords`; see there for how many there may be. Where there are several recordings to be
    heard they share the cores, each on one; a single one is given all of them.
    """

    def __init__(self, weights: Weights, hotwords: str = "", *, several: bool = False) -> None:
        self._weights = weights
        self.model = weights.id
        self.settings = Settings(hotwords=hotwords, library=_library())
        self.at_once = min(cores(), MOST_WORKERS) if several else 1

    def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
        """Raises MediaError for a recording that can't be decoded, SpeechError for a model that can't be loaded."""
        heard, total = in_slices(path, self._hear, kept, progress)
        words, text = join(spoken(heard, self.settings.hotwords))
        return Transcript(words, text, round(total, 3), self.model, self.settings)

    def _hear(self, sound: Sound, progress: Progress) -> list[Said]:
        """All that is heard; what was passed over, or where the model got stuck, is heard again on its own."""
        hotwords = self.settings.hotwords
        speech = _speech(sound)
        heard = fluent(spoken(self._once(sound, speech, hotwords or None, progress), hotwords))
        total = len(sound) / probe.RATE
        words = shortened([(t.at, t.until) for said in heard for t in said.tokens])
        for gap in unheard([(s["start"] / probe.RATE, s["end"] / probe.RATE) for s in speech], words):
            start, end = widened(gap, total)
            piece = sound[int(start * probe.RATE) : int(end * probe.RATE)]
            heard += later(self._once(piece, _speech(piece), None, lambda _done, _all: None), start)
        heap.give_back()
        return sorted(heard, key=lambda said: said.tokens[0].at if said.tokens else total)

    def _once(self, sound: Sound, speech: Spans, hotwords: str | None, progress: Progress) -> list[Said]:
        """What is heard in the stretches of speech, which are joined for it as faster_whisper itself would."""
        from faster_whisper.transcribe import restore_speech_timestamps  # type: ignore[import-untyped]
        from faster_whisper.vad import collect_chunks  # type: ignore[import-untyped]

        if not speech:
            return []
        model = _to_the_end(_loaded(self._weights.folder, self.at_once))
        options = {**self.settings.options, "vad_filter": False}  # it was done, and is needed for what is passed over
        with _MEMORY:
            segments, _ = model.transcribe(collect_chunks(sound, speech)[0][0], hotwords=hotwords, **options)
        heard: list[Said] = []
        with suppress(_End):
            for segment in restore_speech_timestamps(segments, speech, probe.RATE):
                heard.append(Said.of(segment))
                progress(segment.end, len(sound) / probe.RATE)
        return heard


class _End(Exception):
    """Only a tail is left."""


def _to_the_end(model: WhisperModel) -> WhisperModel:
    """The model for one sound: raises _End instead of hearing a tail on its own, and hears little of the padding."""
    one, encode, begun = copy(model), model.encode, False

    def unless_tail(features: np.ndarray[Any, Any]) -> Any:
        nonlocal begun
        frames = _frames(features)
        if begun and frames <= int(TAIL * model.frames_per_second):
            raise _End
        begun = True
        heap.give_back()  # what the window before left: most of 60 MB where two recordings are heard at once
        return encode(features[:, : frames + int(PADDING * model.frames_per_second)])

    one.encode = unless_tail
    return one


def _frames(features: np.ndarray[Any, Any]) -> int:
    """How many frames of a window are sound; what is behind them is padding, all nought."""
    sound = features.nonzero()[1]
    return int(sound.max()) + 1 if len(sound) else 0


def _speech(sound: Sound) -> Spans:
    """Where somebody speaks, in samples, by the voice detection that comes with faster_whisper."""
    from faster_whisper.vad import get_speech_timestamps

    with _MEMORY:
        found: Spans = get_speech_timestamps(sound)
    return found


class Canned:
    """A twin for tests: says what it was given for a recording's name without ending, else `otherwise`."""

    model = "canned"
    at_once = 2

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


_LOADING = Lock()
_MEMORY = Lock()
"""For what takes little time and much memory: the spectrum of five minutes 0.2 GB for a second."""


def _loaded(folder: Path, workers: int = 1) -> WhisperModel:
    """The model, for as many threads as `workers` to compute at the same time, loaded once."""
    with _LOADING:
        return _load(folder, workers)


@lru_cache(maxsize=1)
def _load(folder: Path, workers: int) -> WhisperModel:
    os.environ["HF_HUB_OFFLINE"] = "1"
    os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"
    heap.share()
    try:
        from faster_whisper import WhisperModel

        threads = cores() // workers if workers > 1 else 0  # 0: as CTranslate2 thinks best
        model = WhisperModel(
            str(folder), device="cpu", compute_type="int8", local_files_only=True, cpu_threads=threads,
            num_workers=workers,
        )  # fmt: skip
    except Exception as error:  # the loader raises nearly anything on a folder that holds something else
        raise SpeechError(
            "the model can't be loaded", file=folder, todo="choose another: `voidbook model list`"
        ) from error
    return model


def cores() -> int:
    """How many this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


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


def _counter(folder: Path) -> Callable[[str], int]:
    from tokenizers import Tokenizer

    tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
    return lambda text: len(tokenizer.encode(" " + text, add_special_tokens=False).ids)
