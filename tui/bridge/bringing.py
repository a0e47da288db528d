"""Bringing in: the child that takes files, and dictations on their way to it."""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from pathlib import Path

from notes import dictations
from tui.bridge.looking import Looking


class Bringing:
    """How files come into a job."""

    def __init__(self, desk: Looking) -> None:
        self.desk = desk

    def take(self, paths: Sequence[str], *, speaker: str = "", again: bool = False, move: bool = False) -> list[str]:
        """The command that takes files and tells of it in JSON."""
        start = "from notes.cli import main; main()"
        run = [sys.executable, "-c", start, "take", "--json", "--job", str(self.desk.root)]
        run += [flag for flag, wanted in (("--again", again), ("--move", move)) if wanted]
        return [*run, *(["--speaker", speaker] if speaker else []), "--", *paths]

    def new_dictation(self) -> Path:
        """The file that a dictation begun now is recorded into."""
        return dictations.new(self.desk.root, self.desk.job)

    def leftovers(self) -> list[Path]:
        """Dictations that were cut off before they were filed."""
        return dictations.leftovers(self.desk.root, time.time())
