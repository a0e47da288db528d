"""What is written in a photo, where the extra `ocr` is installed; the only importer of rapidocr_onnxruntime, and late.

What is read with high confidence and names a room files the photo there. All else can only be searched: it is never a
fact.
"""

from __future__ import annotations

import re
import threading
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from notes import heap
from notes.lexicon import Lexicon
from notes.plain import clean

SURE = 0.85
"""Confidence from which a line may name a room; a chalked board of our rendered photos is read with 0.9 and more."""
KEPT = 0.5
"""Below this a line is noise."""
MOST_PIXELS = 1216
"""Of the longer side. More takes memory and reads the same; at 1000 the letters chalked beside pipes are lost."""
_GLUED = re.compile(r"(?<=[^\W\d])(?=\d)")
"""'BED2' on a board is bed 2."""
_one = threading.Lock()  # the reader is not made for two threads


@dataclass(frozen=True, slots=True)
class Written:
    """What was read, in the order that it stands there, and the room that one of them names for sure."""

    text: str = ""
    room: str | None = None


def ready() -> bool:
    """Whether the extra is installed."""
    return find_spec("rapidocr_onnxruntime") is not None


def read(path: Path, lexicon: Lexicon) -> Written:
    """What is written in the photo at `path`; nothing where the extra is not installed or the reader fails on it."""
    if not ready():
        return Written()
    from notes.probe import upright

    try:
        with _one:
            found, _seconds = _reader()(upright(path, MOST_PIXELS))
            heap.give_back()
    except Exception:  # a third party's network on a hostile picture: what it can't read is not worth a failed take
        return Written()
    return sorted_out([(str(line[1]), float(line[2])) for line in found or ()], lexicon)


def sorted_out(lines: list[tuple[str, float]], lexicon: Lexicon) -> Written:
    """What to keep of lines with their confidence."""
    kept = [(clean(text).strip(), sure) for text, sure in lines if sure >= KEPT]
    certain = " ".join(text for text, sure in kept if sure >= SURE)  # 'BED' and '2' on a board come as two
    spaced = _GLUED.sub(" ", certain)
    rooms = {hit.key for hit in lexicon.scan(spaced) if hit.kind == "room"}
    return Written(" ".join(text for text, _ in kept if text), rooms.pop() if len(rooms) == 1 else None)


@lru_cache(maxsize=1)
def _reader() -> Any:
    from rapidocr_onnxruntime import RapidOCR  # type: ignore[import-not-found, import-untyped, unused-ignore]

    heap.share()  # else what each layer leaves lies idle beside the next: half of all its memory
    # 'max', as it else blows a picture up until its shorter side has 736 pixels: 2.3 GB for a strip
    return RapidOCR(print_verbose=False, det_limit_type="max")
