"""What is written in a photo, where the extra `ocr` is installed; the only importer of rapidocr_onnxruntime, and late.

What is read with high confidence and names a room files the photo there. All else can only be searched: it is never a
fact.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from notes.lexicon import Lexicon
from notes.plain import clean

SURE = 0.85
"""Confidence from which a line may name a room; a chalked board of our rendered photos is read with 0.9 and more."""
KEPT = 0.5
"""Below this a line is noise."""
MOST_PIXELS = 1600
_one = threading.Lock()  # the reader is not made for two threads


@dataclass(frozen=True, slots=True)
class Written:
    """Lines that were read, best first, and the room that one of them names for sure."""

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
    except Exception:  # a third party's network on a hostile picture: what it can't read is not worth a failed take
        return Written()
    return sorted_out([(str(line[1]), float(line[2])) for line in found or ()], lexicon)


def sorted_out(lines: list[tuple[str, float]], lexicon: Lexicon) -> Written:
    """What to keep of lines with their confidence."""
    kept = sorted(((clean(text).strip(), sure) for text, sure in lines if sure >= KEPT), key=lambda line: -line[1])
    certain = " ".join(text for text, sure in kept if sure >= SURE)
    rooms = {hit.key for hit in lexicon.scan(certain) if hit.kind == "room"}
    return Written("; ".join(text for text, _ in kept if text), rooms.pop() if len(rooms) == 1 else None)


@lru_cache(maxsize=1)
def _reader() -> Any:
    from rapidocr_onnxruntime import RapidOCR  # type: ignore[import-not-found, import-untyped, unused-ignore]

    return RapidOCR(print_verbose=False)
