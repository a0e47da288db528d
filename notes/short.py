"""Text kept short in the book: what is read rarely and would fill most of it. Pure.

Exports and older books hold the same text plainly; both are read alike.
"""

from __future__ import annotations

import zlib

COLUMNS = {"transcripts": ("transcript",), "memos": ("words", "said", "carry")}
"""What is kept short, by table."""


def short(text: str) -> bytes:
    """`text` in fewer bytes, with a checksum; the same text always gives the same bytes."""
    return zlib.compress(text.encode("utf-8", "surrogatepass"), 9)


def full(kept: str | bytes) -> str:
    """The text that `short` was given, or the text itself where it was kept plainly. Raises ValueError."""
    if isinstance(kept, str):
        return kept
    try:
        return zlib.decompress(kept).decode("utf-8", "surrogatepass")
    except zlib.error as wrong:
        raise ValueError(str(wrong)) from None
