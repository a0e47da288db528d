"""Starting the app in a terminal that nothing else writes to."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def run(root: Path) -> None:
    """Open the app on the job in `root` until the person leaves."""
    with _alone():
        from tui import picture
        from tui.app import Review

        picture.ask_terminal()
        Review(root).run()


@contextmanager
def _alone() -> Iterator[None]:
    """Textual paints on stderr, and sound libraries mutter there: it gets the terminal for itself, they nothing."""
    was = sys.__stderr__
    screen, nothing = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 2)
    os.close(nothing)
    sys.__stderr__ = os.fdopen(os.dup(screen), "w", encoding="utf-8")  # type: ignore[misc]
    try:
        yield
    finally:
        sys.__stderr__.close()
        sys.__stderr__ = was  # type: ignore[misc]
        os.dup2(screen, 2)
        os.close(screen)
