"""How a take goes, told to a person: one line a file, a moving one on a terminal; or to a program as JSON."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from notes import wording
from notes.cli import out
from notes.errors import VoidbookError
from notes.intake import Outcome
from notes.kinds import Kind

STEP = 5.0
"""Seconds between two plain lines about one file: a log should not fill with them."""


class Progress:
    """Tells what is being done with each file and how long is left."""

    def __init__(self, *, as_json: bool, live: bool) -> None:
        self._as_json, self._live = as_json, live
        self._path: Path | None = None
        self._files = self._number = 0
        self._told = 0.0
        self._from = (0.0, 0.0)
        self._counts = {"filed": 0, "filed before": 0, "failed": 0}

    def begin(self, files: int) -> None:
        self._files = files

    def doing(self, path: Path, what: str, share: float | None = None) -> None:
        if path != self._path:
            self._path, self._number = path, self._number + 1
        now = time.monotonic()
        left = self._seconds_left(now, share)
        if self._as_json:
            out.records([{"file": str(path), "doing": what, "share": share, "seconds_left": left and round(left)}])
        elif self._live:
            self._overwrite(f"{self._name(path)}: {what}{_left(share, left)}")
        elif share and now - self._told > STEP:
            self._told = now
            out.say(f"{self._name(path)}: {what}{_left(share, left)}")

    def _seconds_left(self, now: float, share: float | None) -> float | None:
        """From when this file began, or, if some of it was heard before its turn, from when it was told of that."""
        since, before = self._from
        if not share or (not before and now - since < 1.0):
            self._from = now, share or 0.0
            return 0.0 if share == 1 else None
        return (now - since) * (1 - share) / (share - before) if share > before else None

    def filed(self, path: Path, outcome: Outcome) -> None:
        before = not outcome.ids and not outcome.wrong
        self._counts["filed before" if before else "filed"] += 1
        if self._as_json:
            state = "filed before" if before else "filed"
            out.records(
                [
                    {
                        "file": str(path),
                        "done": state,
                        "ids": outcome.ids,
                        "facts": outcome.facts,
                        "warnings": outcome.warned,
                    }
                ]
            )
        else:
            self._line(f"{self._name(path)}: {'filed before, nothing to do' if before else _result(outcome)}")

    def failed(self, path: Path, wrong: VoidbookError) -> None:
        self._counts["failed"] += 1
        if self._as_json:
            out.records([{"file": str(path), "done": "failed", "reason": str(wrong)}])
        else:
            self._line(str(wrong))

    def end(self) -> None:
        """One line to close with, where there was more than one file."""
        if not self._as_json and sum(self._counts.values()) > 1:
            self._line(", ".join(f"{count} {what}" for what, count in self._counts.items() if count))
        if not self._as_json and self._counts["failed"]:
            out.say("see what failed with: voidbook problems")

    def _name(self, path: Path) -> str:
        name = out.clean(path.name)  # on one line, whatever is in it
        return f"{self._number}/{self._files} {name}" if self._files > 1 else name

    def _line(self, text: str) -> None:
        self._overwrite("")
        out.say(out.clean(text))

    def _overwrite(self, text: str) -> None:
        if self._live:
            sys.stderr.write("\r\x1b[K" + out.clean(text)[: out.width() - 1])
            sys.stderr.flush()


def _left(share: float | None, left: float | None) -> str:
    if share is None or left is None:
        return ""
    return f", {share:.0%} done, about {left // 60:.0f} min {left % 60:.0f} s left"


def _result(outcome: Outcome) -> str:
    if outcome.kind is Kind.PHOTO:
        warned = f"; LOOK AT IT NOW: {', '.join(outcome.warned)}" if outcome.warned else ""
        return f"filed as photo {', '.join(outcome.ids)}{warned}"
    what = f"filed as {outcome.ids[0]}" if len(outcome.ids) == 1 else f"{len(outcome.ids)} memos filed"
    return f"{what}, {wording.count(outcome.facts, 'fact')}"
