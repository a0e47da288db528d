"""Text in letters that the PDF's faces can draw; what none of them has is told by its name or number. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from unicodedata import bidirectional, category, name, normalize

FACE, SPARE = "Roboto", "Symbols"
"""The face of the record, and the one that has the arrows, ticks and boxes that the first lacks."""


@dataclass(frozen=True, slots=True)
class Letters:
    """The code points that each face can draw."""

    face: frozenset[int]
    spare: frozenset[int]

    def drawn(self, text: str) -> str:
        """`text` as it can be drawn: '漢字' as '[U+6F22 U+5B57]', a flame as '[fire]'."""
        return "".join(
            "".join(same) if able else _told("".join(same)) for able, same in groupby(_one_each(text), key=self._has)
        )

    def parts(self, text: str) -> Iterator[tuple[str, str]]:
        """`text`, which can be drawn, cut into pieces of one face: (face, piece)."""
        for first, same in groupby(text, key=lambda c: ord(c) in self.face):
            yield FACE if first else SPARE, "".join(same)

    def _has(self, letter: str) -> bool:
        if ord(letter) in self.face:
            return True
        # letters that run to the left, or hang on others, would come out as another word
        return ord(letter) in self.spare and bidirectional(letter) not in ("R", "AL") and category(letter)[0] != "M"


def _one_each(text: str) -> str:
    """Letters with their accents as one, as phones and laptops write file names apart; and no hints how to colour."""
    return "".join(c for c in normalize("NFC", text) if not "\ufe00" <= c <= "\ufe0f")


def _told(text: str) -> str:
    """Symbols by name, all else by number."""
    named = [name(c, "").lower() if category(c)[0] == "S" else "" for c in text]
    return f"[{' '.join(told or f'U+{ord(c):04X}' for told, c in zip(named, text, strict=True))}]"
