"""A photo in the terminal: true pixels where the terminal has said that it can, half blocks everywhere else.

The only file of the app that needs Pillow, and late.
"""

from __future__ import annotations

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

PIXELS: type[Widget] | None = None
"""The widget that draws true pixels, set before the app starts: later the terminal can't be asked any more."""

PATIENCE = 3.0
"""Seconds after which what opens pictures is taken to have found a program that shows them."""

_SIGNS = {"TERM": ("kitty", "foot", "mlterm", "contour"), "TERM_PROGRAM": ("ghostty", "wezterm", "iterm", "rio")}


def ask_terminal() -> None:
    """Find out whether the terminal draws true pixels; only those are asked that are known to answer."""
    global PIXELS
    named = any(word in os.environ.get(name, "").lower() for name, words in _SIGNS.items() for word in words)
    if not named or os.environ.get("TMUX"):
        return
    try:
        from textual_image.renderable import Image as Drawn
        from textual_image.renderable import SixelImage, TGPImage
        from textual_image.widget import Image

        PIXELS = Image if Drawn in (SixelImage, TGPImage) else None
    except Exception:  # it reads what a terminal answers, which may be anything
        PIXELS = None


def strips(jpeg: bytes, width: int, height: int) -> list[Strip]:
    """The picture in half blocks, as large as `width` columns and `height` lines allow."""
    from PIL import Image

    with Image.open(BytesIO(jpeg)) as picture:
        scale = min(width / picture.width, height * 2 / picture.height)
        size = max(1, round(picture.width * scale)), max(2, round(picture.height * scale) // 2 * 2)
        small = picture.convert("RGB").resize(size)
    data = small.tobytes()
    rows = [data[y * size[0] * 3 : (y + 1) * size[0] * 3] for y in range(size[1])]
    return [Strip(_cells(upper, lower), size[0]) for upper, lower in zip(rows[::2], rows[1::2], strict=True)]


def _cells(upper: bytes, lower: bytes) -> list[Segment]:
    pairs = zip(_colours(upper), _colours(lower), strict=True)
    return [Segment("▀", Style(color=top, bgcolor=bottom)) for top, bottom in pairs]


def _colours(row: bytes) -> list[str]:
    return [f"#{row[i : i + 3].hex()}" for i in range(0, len(row), 3)]


class Blocks(Widget):
    """A picture in half blocks."""

    lines: list[Strip] = []  # noqa: RUF012 - replaced, never changed

    def show(self, lines: list[Strip]) -> None:
        """Show other lines, in the middle."""
        self.lines = lines
        self.refresh()

    def render_line(self, y: int) -> Strip:
        top = max(0, (self.size.height - len(self.lines)) // 2)
        if not 0 <= y - top < len(self.lines):
            return Strip.blank(self.size.width, self.rich_style)
        line = self.lines[y - top]
        left = Strip.blank(max(0, (self.size.width - line.cell_length) // 2), self.rich_style)
        return Strip.join([left, line]).adjust_cell_length(self.size.width, self.rich_style)


def pixels(jpeg: bytes) -> Widget | None:
    """A widget with the picture in true pixels, where the terminal can."""
    make: Any = PIXELS
    return make(BytesIO(jpeg)) if make else None


def view(file: Path) -> bool:
    """Open a picture in the program that this machine shows pictures with; whether one is there, as far as that can be
    known within PATIENCE: what opens pictures may end at once or live as long as they are looked at."""
    try:
        if sys.platform == "win32":
            os.startfile(file)
        else:
            opener = "open" if sys.platform == "darwin" else "xdg-open"
            quiet = subprocess.DEVNULL
            child = subprocess.Popen(
                [opener, str(file)], stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=True
            )
            try:
                return child.wait(PATIENCE) == 0
            except subprocess.TimeoutExpired:
                child.returncode = 0  # it lives on its own; nobody waits for it
    except OSError:
        return False
    return True
