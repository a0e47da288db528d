"""Words with times out of sound: rules on made output, then the real model on real and made sound."""

from __future__ import annotations

import json
import re
import socket
import wave
from collections.abc import Iterator
from dataclasses import asdict, replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NoReturn

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes import probe, transcribe, weights
from notes.errors import MediaError, SpeechError
from notes.model import Word
from notes.spoken import Said, Token, join, once, spoken, unstuck
from notes.transcribe import Canned, Settings, Transcriber, Transcript, Whisper

SAMPLES = Path(__file__).parent.parent / "sample_media"
RATE = probe.RATE


def said(
    text: str, *, logprob: float = -0.3, no_speech: float = 0.05, compression: float = 1.3, sure: float = 0.9
) -> Said:
    words = text.replace(" ", "\n ").split("\n")
    tokens = tuple(Token(word, n * 0.5, n * 0.5 + 0.4, sure) for n, word in enumerate(words) if word)
    return Said(tokens, logprob, no_speech, compression)


# --- what was spoken and what was made up

KEPT = [
    said(" I've capped the hot return."),
    said(" Thank you."),
    said(" nd in twenty-two, right, clips,", logprob=-0.73, sure=0.46),  # the worst of our own recordings
    said(" No, no, no, no, that's hot.", compression=1.9),
    said(" Capped.", no_speech=0.4),
    said(" Right, and in the boiler house, flow and return.", logprob=-0.9),
]
MADE_UP = [
    said(""),
    said(" . . . .", logprob=-1.19, no_speech=0.58, sure=0.67),  # loud white noise
    said(" nd,", logprob=-1.8, no_speech=0.57, sure=0.02),  # white noise
    said(" again,", logprob=-2.61, no_speech=0.36, sure=0.0),  # clicks like a hammer's
    said(" tv,", logprob=-2.36, no_speech=0.46, sure=0.0),
    said(" oxidized,", logprob=-3.42, no_speech=0.59, sure=0.06),  # beeps
    said(" huff," * 100 + " h", logprob=-0.05, no_speech=0.64, compression=23.4, sure=0.97),  # a siren
    said(" I'm going to go to the" * 6, compression=6.0),
    said(" Thank you.", no_speech=0.7),
    said(" Thanks for watching!", logprob=-0.95),
    said(" hot return, flow and return,", no_speech=0.6),  # the hotwords said back
]
PROMPT = "multilayer, hot return, flow and return, Boiler house"


@pytest.mark.parametrize("one", KEPT)
def test_speech_is_kept(one: Said) -> None:
    assert spoken([one], PROMPT) == [one]


@pytest.mark.parametrize("one", MADE_UP)
def test_what_was_made_up_is_left_out(one: Said) -> None:
    assert spoken([KEPT[0], one], PROMPT) == [KEPT[0]]


def test_a_sentence_that_loops_stays_once_and_one_said_twice_stays() -> None:
    again, other = said(" And the cold."), said(" Lagged.")
    assert spoken([again] * 7 + [other] * 2 + [again]) == [again, other, other, again]


def test_parts_of_a_word_are_joined_as_sure_as_the_least() -> None:
    thirty, five, mil = Token(" thirty", 1.0, 1.3, 0.9), Token("-five", 1.3, 1.6, 0.5), Token(" mil.", 1.6, 1.9, 0.8)
    words, text = join([Said((thirty, five, mil, Token(" ", 2, 2, 1)), -0.3, 0.0, 1.0)])
    assert text == "thirty-five mil."
    assert words == (Word("thirty-five", 0, 11, 1.0, 1.6, 0.5), Word("mil.", 12, 16, 1.6, 1.9, 0.8))


SPELT = st.builds(str.__add__, st.sampled_from(["", " "]), st.text("ab-'é. ", max_size=6))
PIECE = st.builds(Token, SPELT, st.floats(0, 9), st.floats(0, 9), st.floats(0, 1))


@given(st.lists(st.lists(PIECE, max_size=6), max_size=4))
def test_words_stand_where_they_say(parts: list[list[Token]]) -> None:
    words, text = join(Said(tuple(tokens), 0, 0, 1) for tokens in parts)
    assert [text[word.start : word.end] for word in words] == [word.text for word in words]
    kept = once(unstuck([t for tokens in parts for t in tokens if t.text.strip(" _")]))
    assert "".join(text.split()) == "".join("".join(t.text.split()) for t in kept)
    assert all(a.end <= b.start for a, b in pairwise(words))


# --- keys, JSON, hotwords


def test_the_key_changes_with_all_that_changes_the_words() -> None:
    base = Settings(hotwords="hot", library="1")
    others = [
        replace(base, hotwords="cold"), replace(base, library="2"), replace(base, compute="float32"),
        replace(base, hygiene=base.hygiene + 1), replace(base, options={**base.options, "beam_size": 1}),
    ]  # fmt: skip
    keys = {transcribe.cache_key("sha", "base@1", settings) for settings in [base, *others]}
    keys |= {transcribe.cache_key("ahs", "base@1", base), transcribe.cache_key("sha", "base@2", base)}
    assert len(keys) == 8
    again = Settings(hotwords="hot", library="1", options=dict(reversed(base.options.items())))
    assert transcribe.cache_key("sha", "base@1", again) in keys


@given(st.text(max_size=60))
def test_a_transcript_comes_back_from_json(text: str) -> None:
    made = Canned({"m01": text}).transcribe(Path("m01.m4a"))
    assert transcribe.from_json(transcribe.to_json(made)) == made
    assert transcribe.from_json(json.dumps(asdict(made))) == made


def test_the_twin_says_what_it_was_given() -> None:
    twin: Transcriber = Canned({"m01": "hot and cold"}, otherwise="nothing")
    seen: list[tuple[float, float]] = []
    made = twin.transcribe(Path("/x/m01.m4a"), lambda done, total: seen.append((done, total)))
    assert (made.text, made.seconds, seen) == ("hot and cold", 1.5, [(1.5, 1.5)])
    assert made.words[2] == Word("cold", 8, 12, 1.0, 1.5, 1.0)
    assert twin.transcribe(Path("/x/m02.m4a")).text == "nothing"


def _names(written: str) -> list[str]:
    return re.split(r", the | and the ", written.removeprefix("I was in the ").removesuffix(".").lower())


@given(st.lists(st.text("abc ", max_size=5), max_size=12), st.integers(0, 80))
def test_hotwords_keep_to_the_budget_and_the_first_come_first(words: list[str], budget: int) -> None:
    fitted = transcribe.fitted(words, len, budget)
    kept = _names(fitted) if fitted else []
    plain = [" ".join(word.split()) for word in words]
    assert len(fitted) <= budget
    assert len(set(kept)) == len(kept)
    assert kept == sorted(kept, key=plain.index)
    first = next((word for word in plain if word), None)
    assert first is None or len(f"I was in the {first}.") > budget or kept[0] == first


def test_hotwords_are_written_as_somebody_would_say_them() -> None:
    words = ["I've run the flow and return.", "scullery", "boot room", "parlour"]
    told = "I've run the flow and return. I was in the scullery, the boot room and the parlour."
    assert transcribe.fitted(words, len, 200) == told
    assert transcribe.fitted(words[:2], len, 200) == "I've run the flow and return. I was in the scullery."
    assert transcribe.fitted([], len, 200) == ""


@pytest.fixture(scope="session")
def base() -> weights.Weights:
    return weights._named("base")


def test_all_hotwords_that_fit_reach_the_model(base: weights.Weights) -> None:
    """faster-whisper cuts hotwords without a word; ours arrive whole, and one more word would not."""
    model = transcribe._loaded(base.folder)
    tokenizer = model_tokenizer(model)
    words = [f"{term} {number}" for number in range(60) for term in ("tundish", "multilayer")]
    fitted = transcribe.fit_hotwords(words, base.folder)
    prompt = model.get_prompt(tokenizer, [], hotwords=fitted)
    assert fitted in tokenizer.decode(prompt)
    longer = transcribe._as_said(words[: len(_names(fitted)) + 1])
    assert longer not in tokenizer.decode(model.get_prompt(tokenizer, [], hotwords=longer))


def model_tokenizer(model: Any) -> Any:
    from faster_whisper.tokenizer import Tokenizer

    return Tokenizer(model.hf_tokenizer, True, task="transcribe", language="en")


# --- the real model


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    def refuse(*_: Any, **__: Any) -> NoReturn:
        pytest.fail("something went to the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    yield


@pytest.fixture(scope="module")
def whisper(base: weights.Weights) -> Whisper:
    sentence = "I've run the flow and return in sixteen multilayer, capped it at the joists and lagged it."
    return Whisper(base, transcribe.fit_hotwords([sentence, "boiler house", "scullery"], base.folder))


@pytest.mark.usefixtures("no_network")
def test_a_memo_from_the_boiler_house(whisper: Whisper, capfd: pytest.CaptureFixture[str]) -> None:
    seen: list[tuple[float, float]] = []
    heard = whisper.transcribe(SAMPLES / "m01.m4a", lambda done, total: seen.append((done, total)))
    plain = heard.text.lower().replace("-", " ")
    for words in ("boiler", "copper", "back wall", "open", "flow and return", "oil line", "fire valve", "flask"):
        assert words in plain
    assert heard.seconds == pytest.approx(42.26, abs=0.1)
    assert len(heard.words) > 90
    assert [heard.text[word.start : word.end] for word in heard.words] == [word.text for word in heard.words]
    times = [(word.at or 0.0, word.until or 0.0) for word in heard.words]
    assert times == sorted(times)
    assert all(0 <= at <= until <= heard.seconds + 0.5 for at, until in times)
    assert all(0 < (word.sure or 0) <= 1 for word in heard.words)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert seen[-1] == (pytest.approx(heard.seconds, abs=0.01),) * 2
    assert heard.model == "base@d01c3014881c9c6f"
    assert transcribe.from_json(transcribe.to_json(heard)) == heard
    assert capfd.readouterr() == ("", "")


def noises() -> dict[str, Any]:
    """Eight seconds each of what a site sounds like with nobody talking."""
    n, rng = 8 * RATE, np.random.default_rng(7)
    t = np.arange(n) / RATE
    white = rng.standard_normal(n)
    spectrum = np.fft.rfft(white)
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    pink = np.fft.irfft(spectrum, n)
    blow = np.exp(-np.arange(2000) / RATE * 60) * np.sin(2 * np.pi * 800 * np.arange(2000) / RATE)
    hammer = np.zeros(n)
    for start in range(0, n - 2000, int(0.6 * RATE)):
        hammer[start : start + 2000] += blow * rng.uniform(0.5, 1)
    return {
        "silence": np.zeros(n),
        "a breath of silence": np.zeros(600),
        "white": white / 5,
        "loud white": white,
        "pink": pink / np.abs(pink).max(),
        "hum": sum(np.sin(2 * np.pi * 50 * k * t) / k for k in range(1, 8)) / 3,
        "hammer": hammer,
        "hammer in a hall": hammer * 0.6 + pink / np.abs(pink).max() * 0.3,
    }


@pytest.mark.parametrize("name", noises())
def test_noise_alone_gives_no_words(whisper: Whisper, tmp_path: Path, name: str) -> None:
    path = tmp_path / "noise.wav"
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes((np.clip(noises()[name], -1, 1) * 32767).astype("<i2").tobytes())
    heard = whisper.transcribe(path)
    assert (heard.words, heard.text) == ((), "")


def test_nothing_is_loaded_before_the_first_recording(tmp_path: Path) -> None:
    nowhere = weights.Weights("own", tmp_path, "0" * 64)
    lazy = Whisper(nowhere)
    assert (lazy.model, lazy.settings.hotwords) == ("own@0000000000000000", "")
    with pytest.raises(MediaError, match="no such file"):
        lazy.transcribe(tmp_path / "gone.m4a")
    with pytest.raises(SpeechError, match="the model can't be loaded"):
        lazy.transcribe(SAMPLES / "m04.ogg")


def test_a_model_is_loaded_once(whisper: Whisper, base: weights.Weights) -> None:
    assert transcribe._loaded(base.folder) is transcribe._loaded(base.folder)


def test_a_download_without_network_is_one_line(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    import faster_whisper

    def unreachable(*_: Any, **__: Any) -> NoReturn:
        raise ConnectionError("name resolution failed\nin many lines")

    monkeypatch.setattr(faster_whisper, "download_model", unreachable)
    with pytest.raises(SpeechError) as error:
        transcribe.download("small", tmp_path)
    assert str(error.value).startswith("the model 'small' could not be fetched; connect to the network")
    assert "\n" not in str(error.value)


def test_the_names_that_can_be_fetched_are_known_to_the_library() -> None:
    from faster_whisper import available_models

    assert set(weights.KNOWN) <= set(available_models())


def test_a_segment_becomes_said() -> None:
    word = SimpleNamespace(word=" hot", start=1.0, end=1.2, probability=np.float64(0.5))
    segment = SimpleNamespace(words=[word], avg_logprob=-0.2, no_speech_prob=0.1, compression_ratio=1.1)
    assert Said.of(segment) == Said((Token(" hot", 1.0, 1.2, 0.5),), -0.2, 0.1, 1.1)
    assert Said.of(SimpleNamespace(**{**vars(segment), "words": None})).words == ()


def test_a_transcript_is_a_value() -> None:
    assert Canned({}).transcribe(Path("x")) == Transcript((), "", 0.0, "canned", Settings(library="none"))
