"""Originals, and what is shown and heard of them."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from notes import paging, search, store
from tui.bridge.looking import Looking


class Media:
    """The photos and recordings of a job."""

    def __init__(self, desk: Looking) -> None:
        self.desk = desk
        self._sound: tuple[str, bytes | None] = ("", None)

    def upright(self, sha: str, longest: int) -> bytes:
        """A photo as JPEG, turned the right way, its longer side at most `longest`."""
        from notes import probe

        return probe.upright(self.original(sha), longest)

    def copy_to_look_at(self, sha: str, name: str) -> Path:
        """A copy that another program may have: the original is never handed out."""
        folder = Path(tempfile.gettempdir()) / f"voidbook-{os.getpid()}"
        folder.mkdir(mode=0o700, exist_ok=True)
        file = folder / f"{name}.jpg"
        file.write_bytes(self.upright(sha, 4000))
        return file

    def original(self, sha: str) -> Path:
        return store.Store(self.desk.root / "media").path(sha)

    def sound(self, memo: str) -> Path | None:
        """The recording of a memo; None for what was typed."""
        with search.opened(self.desk.root) as db:
            sha = paging.recording(db, memo)
        return self.original(sha) if sha else None

    def samples(self, memo: str) -> bytes | None:
        """The sound of a memo, as 16-bit samples; the last one asked for is kept. None for what was typed."""
        if self._sound[0] != memo:
            from notes.heard_again import samples

            file = self.sound(memo)
            self._sound = (memo, samples(file) if file else None)
        return self._sound[1]
