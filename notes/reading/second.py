"""A second reader: a small network that was shown labelled dictation, and hears from every word what work is told.

It knows no rules and the rules know nothing of it, so they seldom err together: where rules find work in which it hears
none, that is mostly talk (`belief.py`); where it is sure of work that no rule found, that is mostly told
(`proposed.py`). It is made by tests/bench/second.py and kept in data/second.npz: vectors of word pieces, squeezed from
a published sentence encoder, the kinds of nodes, and a few layers of gated convolutions (Dauphin et al., Language
Modeling with Gated Convolutional Networks, 2017), each of which looks a few words left and right of a word.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from notes.lexicon import data_file
from notes.reading.mentions import Node

Floats = NDArray[np.float32]

_WORD = re.compile(r"[a-z]+|\d+|[^\sa-z\d]")
PIECES = 6
"""Pieces of a node's words that are looked at."""
_SAME = 1e-5
_SHUT = 60.0
"""A gate that is as good as shut: what lies beyond overflows."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the second reader hears in a row of n nodes: log odds, an n x labels array, and the labels by name.

    A label is 'run done' for work and its status, or 'hot' for what is worked on.
    """

    odds: Floats
    labels: dict[str, int]
    _means: dict[tuple[int, int], list[float]] = field(default_factory=dict, compare=False)
    """Kept, as the same nodes are asked for several labels."""

    def of(self, label: str, start: int, end: int) -> Floats:
        """The log odds of a label at nodes `start:end`."""
        odds: Floats = self.odds[start:end, self.labels[label]]
        return odds

    def peak(self, start: int, end: int) -> list[float]:
        """The highest log odds of every label at nodes `start:end`."""
        most: list[float] = self.odds[start:end].max(axis=0, initial=-np.inf).tolist()
        return most

    def mean(self, start: int, end: int) -> list[float]:
        """The mean log odds of every label at nodes `start:end`, of which there is one at least."""
        if (start, end) not in self._means:
            self._means[start, end] = self.odds[start:end].mean(axis=0).tolist()
        return self._means[start, end]


def above_even(odds: Sequence[float], first: int, missing: int = 0) -> Iterator[tuple[int, int]]:
    """Runs of nodes above even odds, counted from `first`, in which so many in a row may be `missing`."""
    start = end = -1
    for i, each in enumerate([*odds, *[-1.0] * (missing + 1)]):
        if each > 0:
            start, end = (i if start < 0 else start), i + 1
        elif start >= 0 and i - end >= missing:
            yield first + start, first + end
            start = -1


def opinion(text: str, row: Sequence[Node]) -> Opinion:
    """What is heard in a memo's row of nodes."""
    net = _net()
    if not row:
        return Opinion(np.zeros((0, len(net.labels)), np.float32), net.labels)
    x = _normed(np.stack([_vector(text[n.start : n.end].lower(), seen(n)) for n in row]), *net.first)
    for layer in net.layers:
        x = x + layer.of(x)
    return Opinion(_normed(x, *net.last) @ net.out + net.bias, net.labels)


def seen(node: Node) -> tuple[str, ...]:
    """What the lexicon knows of a node, by name: its kind, and what it names but for rooms, which each job has anew."""
    return (node.kind, *(() if node.kind == "room" else node.keys[:3]))


def spelled(words: str, known: dict[str, int]) -> list[int]:
    """The pieces of lower-case words: the longest that are known, as the encoder spells them ('multi', '##layer')."""
    out = [piece for word in words_of(words) for piece in _spelled(word, known)]
    return out[:PIECES] or [0]


def words_of(text: str) -> list[str]:
    """Lower-case words, numbers and marks."""
    return _WORD.findall(text)


def _spelled(word: str, known: dict[str, int]) -> list[int]:
    out, at = [], 0
    while at < len(word):
        lead = "##" if at else ""
        end = next((e for e in range(len(word), at, -1) if lead + word[at:e] in known), at)
        if end == at:
            return [0]
        out.append(known[lead + word[at:end]])
        at = end
    return out


def _normed(x: Floats, gain: Floats, shift: Floats) -> Floats:
    """Layer normalisation (Ba et al., 2016)."""
    x = x - x.mean(-1, keepdims=True)
    normed: Floats = x / np.sqrt((x * x).mean(-1, keepdims=True) + _SAME) * gain + shift
    return normed


@dataclass(frozen=True, slots=True)
class Layer:
    """A gated convolution over each word and those `apart` words left and right of it; `taps`: 3 x d x 2d."""

    gain: Floats
    shift: Floats
    taps: Floats
    bias: Floats
    apart: int

    def of(self, x: Floats) -> Floats:
        x = _normed(x, self.gain, self.shift)
        y = x @ self.taps[1] + self.bias
        if len(x) > self.apart:
            y[self.apart :] += x[: -self.apart] @ self.taps[0]
            y[: -self.apart] += x[self.apart :] @ self.taps[2]
        told, gate = np.split(y, 2, axis=1)
        gated: Floats = told / (1 + np.exp(-gate.clip(-_SHUT)))
        return gated


@dataclass(frozen=True)
class _Net:
    pieces: dict[str, int]
    vectors: NDArray[np.int8]
    scale: Floats
    kinds: dict[str, int]
    kind_vectors: Floats
    first: tuple[Floats, Floats]
    layers: tuple[Layer, ...]
    last: tuple[Floats, Floats]
    out: Floats
    bias: Floats
    labels: dict[str, int]


@lru_cache(maxsize=8192)
def _vector(words: str, names: tuple[str, ...]) -> Floats:
    """Of a node: the mean of its pieces' vectors and the sum of its kinds'."""
    net = _net()
    ids = spelled(words, net.pieces)
    kinds = [net.kinds[name] for name in names if name in net.kinds]
    pieces = net.vectors[ids].astype(np.float32) * net.scale[ids, None]
    vector: Floats = pieces.mean(0) + net.kind_vectors[kinds].sum(0)
    return vector


@lru_cache(maxsize=1)
def _net() -> _Net:
    with np.load(data_file("second.npz"), allow_pickle=False) as kept:
        file = {name: kept[name] for name in kept.files}

    def names(name: str) -> dict[str, int]:
        return {word: i for i, word in enumerate(bytes(file[name]).decode().split("\n"))}

    def floats(name: str) -> Floats:
        values: Floats = file[name].astype(np.float32)
        return values

    def layer(n: int, apart: int) -> Layer:
        return Layer(floats(f"{n}.gain"), floats(f"{n}.shift"), floats(f"{n}.taps"), floats(f"{n}.bias"), apart)

    layers = tuple(layer(n, int(apart)) for n, apart in enumerate(file["apart"]))
    return _Net(
        names("pieces"), file["vectors"], floats("scale"), names("kinds"), floats("kind_vectors"),
        (floats("first.gain"), floats("first.shift")), layers, (floats("last.gain"), floats("last.shift")),
        floats("out"), floats("out.bias"), names("labels"),
    )  # fmt: skip
