"""What a terminal says it can, in a pty that answers as one: true pixels there, half blocks everywhere else.

What the answers mean is from the terminals' own manuals: 4 in the device attributes stands for sixel (DEC VT340), OK to
a query is how the kitty graphics protocol is agreed on.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time

import pytest

ASK = """
import sys
from tui import picture
picture.ask_terminal()
shown = bool(picture.pixels(JPEG)) if picture.PIXELS else False
way = sys.modules["textual_image.renderable"].Image.__module__.rpartition(".")[2] if shown else "blocks"
print("DRAWN", way)
"""
JPEG = """
import io
from PIL import Image
_out = io.BytesIO()
Image.new("RGB", (8, 8), "red").save(_out, "JPEG")
JPEG = _out.getvalue()
"""
SIXEL, NO_SIXEL = b"\x1b[?62;4;22c", b"\x1b[?62;22c"
KITTY = b"\x1b_Gi=%s;OK\x1b\\"


def drawn(named: dict[str, str], attributes: bytes = b"", graphics: bytes = b"") -> tuple[str, bytes]:
    """What a photo is drawn with where the terminal is `named` and answers so; and all that it was sent."""
    end, theirs = pty.openpty()
    fcntl.ioctl(end, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 800, 480))
    env = {k: v for k, v in os.environ.items() if k not in ("TMUX", "TERM_PROGRAM")} | named
    child = subprocess.Popen(
        [sys.executable, "-c", JPEG + ASK], stdin=theirs, stdout=theirs, stderr=theirs, env=env, start_new_session=True
    )
    os.close(theirs)
    sent, asked, stop = b"", 0, time.monotonic() + 60
    try:
        while b"DRAWN" not in sent or not sent.endswith(b"\n"):
            assert time.monotonic() < stop, sent
            if select.select([end], [], [], 0.2)[0]:
                sent += os.read(end, 4096)
            if b"\x1b[c" in sent[asked:]:
                asked = len(sent)
                os.write(end, attributes)
            if query := re.search(rb"\x1b_G[^\x1b]*?i=(\d+)[^\x1b]*\x1b\\", sent[asked:]):
                asked = len(sent)
                os.write(end, graphics % query[1] if graphics else b"")
    finally:
        child.terminate()
        child.wait()
        os.close(end)
    return sent.decode("utf-8", "replace").rpartition("DRAWN ")[2].split()[0], sent


@pytest.mark.parametrize(
    ("named", "attributes", "graphics", "found"),
    [
        ({"TERM": "xterm-kitty"}, NO_SIXEL, KITTY, "tgp"),
        ({"TERM": "foot"}, SIXEL, b"", "sixel"),
        ({"TERM": "xterm-256color", "TERM_PROGRAM": "WezTerm"}, SIXEL, KITTY, "sixel"),
        ({"TERM": "foot"}, NO_SIXEL, b"", "blocks"),
        ({"TERM": "foot"}, b"", b"", "blocks"),
    ],
    ids=["kitty graphics", "sixel", "both", "neither", "no answer"],
)
def test_true_pixels_where_the_terminal_says_that_it_can(
    named: dict[str, str], attributes: bytes, graphics: bytes, found: str
) -> None:
    assert drawn(named, attributes, graphics)[0] == found


@pytest.mark.parametrize(
    "named",
    [{"TERM": "xterm-256color"}, {"TERM": "dumb"}, {"TERM": "xterm-kitty", "TMUX": "/tmp/tmux-0/default,1,0"}],
    ids=["plain", "dumb", "within tmux"],
)
def test_a_terminal_that_is_not_known_to_answer_is_not_asked(named: dict[str, str]) -> None:
    found, sent = drawn(named, SIXEL, KITTY)
    assert found == "blocks" and b"\x1b" not in sent
