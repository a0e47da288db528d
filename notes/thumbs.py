"""Small copies of photos, made once and kept beside the originals, which are never changed. They carry no EXIF."""

from __future__ import annotations

from pathlib import Path

from notes import files
from notes.errors import VoidbookError
from notes.store import Store, make_folder

FOLDER = "thumbnails"
PIXELS = 360
"""The longer side; some 20 kB each."""


class Thumbs:
    """The small copies of one job. `root` is the job's folder."""

    def __init__(self, root: Path) -> None:
        self._root = root / FOLDER
        self._store = Store(root / "media")

    def jpeg(self, sha: str) -> bytes | None:
        """The small copy of the photo with this SHA-256, upright; None where the original can't be read."""
        kept = self._root / sha[:2] / f"{sha}.{PIXELS}.jpg"
        if kept.is_file():
            return kept.read_bytes()
        try:
            made = self._made(sha)
            make_folder(kept.parent)
            files.write(kept, made, private=True)
        except VoidbookError:
            return None
        return made

    def _made(self, sha: str) -> bytes:
        from notes.probe import upright

        return upright(self._store.path(sha), PIXELS)
