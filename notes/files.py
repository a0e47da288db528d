"""Writing a file that a person named: whole or not at all."""

from __future__ import annotations

import glob
import os
import time
from contextlib import suppress
from pathlib import Path

from notes import points
from notes.errors import VoidbookError


def write(target: Path, data: bytes, *, private: bool = False) -> None:
    """Put `data` into `target`, in place of what stood there; `private` for its owner alone. Raises VoidbookError."""
    part = target.with_name(f".{target.name[:80]}.{os.getpid()}")
    _sweep(target)
    try:
        try:
            rights = 0o600 if private else 0o666  # less what the person's umask takes
            with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, rights), "wb") as out:
                out.write(data)
                out.flush()
                os.fsync(out.fileno())  # else a power cut may leave the new name on an empty file
            points.reach("file written")
            part.replace(target)
            points.reach("file named")
        finally:
            part.unlink(missing_ok=True)
    except OSError as wrong:
        raise VoidbookError(
            f"it can't be written ({wrong.strerror})", file=target, todo="choose another place"
        ) from wrong


_OLD = 3600.0
"""Seconds after which what lies beside a file was left by a program that was killed."""


def _sweep(target: Path) -> None:
    with suppress(OSError):
        for path in target.parent.glob(f".{glob.escape(target.name[:80])}.*"):
            if path.suffix[1:].isdigit() and path.stat().st_mtime < time.time() - _OLD:
                path.unlink()
