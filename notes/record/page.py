"""A document to hand over, free of any file format."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from notes.sketching.drawing import Drawing


@dataclass(frozen=True, slots=True)
class Cell:
    """Words, and what they rest on: 'm03, Mon 2 Mar 2026 15:10, 0:41 in'."""

    text: str
    rests_on: tuple[str, ...] = ()
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """`columns` name the cells of every row; `widths` are their shares of the page."""

    columns: tuple[str, ...]
    widths: tuple[float, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; a `caution` stands in a frame."""

    text: str
    caution: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo: its file's SHA-256 (None where only its name is on record), and what is known of it."""

    id: str
    media: str | None
    caption: str
    rests_on: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Photos in a row."""

    shown: tuple[Picture, ...]


@dataclass(frozen=True, slots=True)
class Sketch:
    """A drawing, in pieces that each fit on a page."""

    pieces: tuple[Drawing, ...]


Block = Table | Words | Pictures | Sketch


@dataclass(frozen=True, slots=True)
class Section:
    """A heading of level 1 or 2 with what stands under it."""

    title: str
    blocks: tuple[Block, ...]
    level: int = 1


@dataclass(frozen=True, slots=True)
class Document:
    """`kind` is what the sheet is, `about` what it is of, `issued` when it was made."""

    job: str
    kind: str
    about: str
    issued: datetime
    sections: tuple[Section, ...] = field(default=())

    def tables(self) -> Iterator[tuple[str, Table]]:
        """Every table with the headings it stands under."""
        under = ""
        for section in self.sections:
            under = section.title if section.level == 1 else under
            title = section.title if section.level == 1 else f"{under}: {section.title}"
            for block in section.blocks:
                if isinstance(block, Table):
                    yield title, block


ABOUT = (
    "This is a memory of what was said and photographed on site, gathered by a program from dictation. It is no "
    "certificate, no test report, and no promise that anything was done well or may be put to use. Words may have been "
    "misheard: under each statement stand the memo and the time it rests on, and the recording decides.",
    "Gas, oil, unvented hot water, electrical bonding, cut joists, asbestos and fire stopping are for registered or "
    "otherwise competent people to check, under the rules of the place. Nothing here takes their place.",
)
