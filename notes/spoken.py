"""What of a model's output was spoken: pure rules against words made up from noise, and joining of what is left.

A model trained on subtitles says 'thank you' to silence, repeats itself, or says its hotwords back. The limits lie
between what was measured on 131 stretches of our recordings (log probability at least -0.73, no-speech at most 0.41,
compression at most 1.9) and on noise without speech (log probability -1.2 to -3.4).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from operator import eq
from typing import Any

from notes.model import Word

UNLIKELY = -1.0
WEAK = -0.8
NO_SPEECH = 0.45
REPEATS = 2.4
INSTANT = 0.03
"""Seconds that no word is short enough for."""
MADE_UP = frozenset(
    (
        "you", "thank you", "thank you very much", "thank you so much", "thanks", "thanks for watching",
        "thank you for watching", "thanks for listening", "thank you for listening", "please subscribe",
        "like and subscribe", "see you next time", "see you in the next video", "bye", "bye bye", "the end",
        "subtitles by the community", "i'm sorry", "okay", "oh", "so", "hmm",
    )
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Token:
    """A word as the model gives it: with its leading space, seconds, probability."""

    text: str
    at: float
    until: float
    sure: float


@dataclass(frozen=True, slots=True)
class Said:
    """A stretch of speech with what the model thinks of it."""

    tokens: tuple[Token, ...]
    logprob: float
    no_speech: float
    compression: float

    @classmethod
    def of(cls, segment: Any) -> Said:
        """From a segment of faster-whisper."""
        tokens = tuple(Token(w.word, float(w.start), float(w.end), float(w.probability)) for w in segment.words or ())
        return cls(tokens, segment.avg_logprob, segment.no_speech_prob, segment.compression_ratio)

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(re.findall(r"[\w']+", "".join(t.text for t in self.tokens).lower().replace("’", "'")))

    @property
    def sure(self) -> float:
        return sum(t.sure for t in self.tokens) / len(self.tokens) if self.tokens else 0.0


def spoken(said: Iterable[Said], hotwords: str = "") -> list[Said]:
    """Without what was made up. A sentence said three times on end is a loop, and stays once."""
    prompt = " " + " ".join(re.findall(r"[\w']+", hotwords.lower())) + " "
    real = [s for s in said if s.words and not _made_up(s, prompt)]
    kept: list[Said] = []
    for _, same in groupby(real, key=lambda s: s.words):
        run = list(same)
        kept += run if len(run) < 3 else run[:1]
    return kept


def _made_up(s: Said, prompt: str) -> bool:
    phrase = " ".join(s.words)
    weak = s.logprob < WEAK or s.no_speech > NO_SPEECH
    return (
        (s.logprob < UNLIKELY and (s.sure < 0.5 or s.no_speech > NO_SPEECH))
        or (s.compression > REPEATS and _loops(s.words))
        or (weak and (phrase in MADE_UP or f" {phrase} " in prompt))
    )


def _loops(words: tuple[str, ...]) -> bool:
    """Whether up to six words repeat four times or more, through nearly all of it: a loop is cut off in mid-word."""
    return any(len(words) >= 4 * n and sum(map(eq, words[n:], words)) >= 0.85 * (len(words) - n) for n in range(1, 7))


def _plain(token: Token) -> str:
    return re.sub(r"\W", "", token.text.lower())


def _thrice(plain: list[str], i: int, n: int) -> bool:
    first = plain[i : i + n]
    return len(first) == n and plain[i + n : i + 2 * n] == first == plain[i + 2 * n : i + 3 * n]


def fluent(said: Iterable[Said]) -> list[Said]:
    """Without the stretches in which the model got stuck: what was spoken there is not known, and heard again."""
    stretches = list(said)
    left = {id(t) for t in unstuck([t for s in stretches for t in s.tokens])}
    return [s for s in stretches if s.compression <= REPEATS and all(id(t) in left for t in s.tokens)]


def unstuck(tokens: list[Token]) -> list[Token]:
    """Tokens without what the model said again and again: three to twelve words, thrice on end or more, stay once."""
    plain = list(map(_plain, tokens))
    out: list[Token] = []
    i = 0
    while i < len(tokens):
        size = next((n for n in range(12, 2, -1) if _thrice(plain, i, n)), 0)
        out += tokens[i : i + max(size, 1)]
        again = i + size
        while size and plain[again : again + size] == plain[i : i + size]:
            again += size
        i = again if size else i + 1
    return out


def once(tokens: list[Token]) -> list[Token]:
    """Tokens without what can't have been said: words that begin before the same words before them have ended, as
    where a stretch was heard again, and words in no time at all, two or more."""
    out: list[Token] = []
    for token in (t for same in _at_one_instant(tokens) if len(same) < 2 for t in same):
        out.append(token)
        for n in (1, 2, 3):
            a, b = out[-2 * n : -n], out[-n:]
            if len(a) == n and list(map(_plain, a)) == list(map(_plain, b)) and b[0].at < a[-1].until:
                del out[-n:]
                break
    return out


def _at_one_instant(tokens: list[Token]) -> list[list[Token]]:
    """Tokens in their order, those together that begin and end where the one before them ended."""
    groups: list[list[Token]] = []
    for token in tokens:
        still = token.until - token.at < INSTANT
        if groups and still and groups[-1][-1].until - groups[-1][-1].at < INSTANT:
            groups[-1].append(token)
        else:
            groups.append([token])
    return groups


def join(said: Iterable[Said]) -> tuple[tuple[Word, ...], str]:
    """Words with their place in the text. 'thirty' and '-five' become one word, as sure as its less sure part.

    Times to the hundredth of a second and probabilities to four places: the model knows no better.
    """
    words: list[Word] = []
    text = ""
    for token in once(unstuck([t for s in said for t in s.tokens if t.text.strip(" _")])):
        bare = token.text.strip()
        if words and not token.text[0].isspace():
            last = words.pop()
            text += bare
            sure = min(last.sure or 0.0, round(token.sure, 4))
            words.append(Word(last.text + bare, last.start, len(text), last.at, round(token.until, 2), sure))
        else:
            start = len(text) + bool(text)
            text += " " * bool(text) + bare
            times = round(token.at, 2), round(token.until, 2), round(token.sure, 4)
            words.append(Word(bare, start, len(text), *times))
    return tuple(words), text
