"""Originals kept for ever under their SHA-256: MEDIA/aa/bb/<sha256><ext>.

A file is copied to a temporary name in the same file system, made durable, then renamed: it is there whole or not at
all. A crash leaves only litter that `sweep` finds. The original is read and never changed.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from io import BufferedIOBase, BufferedReader, BytesIO
from pathlib import Path
from typing import BinaryIO, NamedTuple

from notes import points
from notes.errors import MediaError, VoidbookError

ASIDE = "aside"
"""The folder of a job, beside its media, that suspect files are put into."""
_CHUNK = 1 << 20
_LITTER = ".part-"
_BLOB = re.compile(r"([0-9a-f]{64})(\.[a-z0-9]{1,8})?")
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


class Put(NamedTuple):
    """What became of a file: its SHA-256, its size in bytes, and whether it was there before."""

    sha: str
    size: int
    already: bool


class Store:
    """The media of one job. `root` is the media folder itself (JOB/media); it is made on the first put."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def put(self, path: Path) -> Put:
        """Keep the bytes of the file at `path`. Raises MediaError where it can't be read or is still changing."""
        with _opened(path) as source:
            before = _state(source)
            return self._keep(source, path.suffix, path.name, lambda size: _unchanged(path, before, source, size))

    def put_bytes(self, data: bytes, ext: str = "") -> Put:
        """Keep `data` under the ending `ext` ('.txt')."""
        return self._keep(BytesIO(data), ext, f"{len(data)} bytes", lambda _size: None)

    def path(self, sha: str) -> Path:
        """Where the file of this SHA-256 lies. Raises MediaError if it is not there."""
        found = self._find(sha)
        if found is None:
            raise MediaError("this original is not in the media folder", file=sha, todo="restore it from a backup")
        return found

    def open(self, sha: str) -> BinaryIO:
        """The file of this SHA-256, open for reading bytes."""
        return self.path(sha).open("rb")

    def walk(self) -> Iterator[tuple[str, Path]]:
        """Every kept file as (sha, path), in order of its SHA-256."""
        for path in sorted(self.root.glob("??/??/*")):
            if named := _BLOB.fullmatch(path.name):
                yield named[1], path

    def verify(self, sha: str) -> None:
        """Read the file of this SHA-256 again. Raises MediaError if it is gone or its bytes are not what they were."""
        path = self.path(sha)
        if sha_of(path) != sha:
            raise MediaError("its bytes have changed on the disk", file=path, todo="restore it from a backup")

    def release(self, path: Path, sha: str) -> None:
        """Remove the original at `path`, once the kept copy was read back and both still have this SHA-256."""
        self.verify(sha)
        points.reach("move read back")
        if sha_of(path) != sha:
            raise MediaError("it was changed after it was filed", file=path, todo="take it again")
        with _worded(path.name):
            path.unlink()
        points.reach("move removed")

    def sweep(self, older_than: float, now: float | None = None) -> list[Path]:
        """Remove temporary files last written more than `older_than` seconds before `now`; give those removed."""
        limit = (time.time() if now is None else now) - older_than
        swept = []
        for path in self.root.glob(f"{_LITTER}*"):
            with suppress(FileNotFoundError):  # another sweep was faster, or its owner has just filed it
                if path.stat().st_mtime < limit:
                    path.unlink()
                    swept.append(path)
        return swept

    def _find(self, sha: str) -> Path | None:
        if not _BLOB.fullmatch(sha):
            return None
        folder = self.root / sha[:2] / sha[2:4]
        return next((p for p in sorted(folder.glob(f"{sha}*")) if _BLOB.fullmatch(p.name)), None)

    def _keep(self, source: BufferedIOBase, ext: str, name: str, check: Callable[[int], None]) -> Put:
        with _worded(name):
            make_folder(self.root)
            handle, temporary = tempfile.mkstemp(prefix=_LITTER, dir=self.root)
            try:
                with os.fdopen(handle, "wb") as target:
                    sha, size = _copy(source, target)
                check(size)
                return Put(sha, size, self._settle(Path(temporary), sha, size, ext))
            finally:
                Path(temporary).unlink(missing_ok=True)

    def _settle(self, temporary: Path, sha: str, size: int, ext: str) -> bool:
        """Give the durable copy its name, unless it is there already in full."""
        found = self._find(sha)
        if found is not None and _holds(found, sha):
            os.utime(found)  # wanted anew: what goes by age leaves it
            return True
        if temporary.stat().st_size != size:
            raise VoidbookError("the disk did not keep all of it", file=temporary.name, todo="check the disk")
        target = found or self.root / sha[:2] / sha[2:4] / f"{sha}{_ending(ext)}"
        make_folder(target.parent)
        points.reach("store copied")
        temporary.replace(target)
        points.reach("store named")
        _sync_folder(target.parent)
        return False


def sha_of(path: Path) -> str:
    """The SHA-256 of the file at `path`. Raises MediaError where it can't be read."""
    with _opened(path) as source:
        try:
            return hashlib.file_digest(source, "sha256").hexdigest()
        except OSError as error:
            raise MediaError(f"it can't be read ({error.strerror})", file=path, todo="check the disk") from error


def _holds(path: Path, sha: str) -> bool:
    """Whether the kept file still has its bytes; if not, the copy at hand heals it."""
    try:
        return sha_of(path) == sha
    except MediaError:
        return False


def _ending(ext: str) -> str:
    """The ending in small letters, or none where it is not plain: file names are not to be trusted."""
    return ext.lower() if re.fullmatch(r"\.[A-Za-z0-9]{1,8}", ext) else ""


def _copy(source: BufferedIOBase, target: BinaryIO) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    while chunk := source.read(_CHUNK):
        digest.update(chunk)
        target.write(chunk)
        size += len(chunk)
    target.flush()
    os.fsync(target.fileno())
    return digest.hexdigest(), size


@contextmanager
def _opened(path: Path) -> Iterator[BufferedReader]:
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe would block for ever
            raise MediaError("this is not a plain file", file=path, todo="name a recording, photo or note")
        source = path.open("rb")
    except FileNotFoundError:
        raise MediaError("there is no such file any more", file=path, todo="check the name and take it again") from None
    except PermissionError:
        raise MediaError("you have no right to read this", file=path, todo="change its rights") from None
    except OSError as error:
        raise MediaError(f"it can't be opened ({error.strerror})", file=path, todo="check the disk") from error
    with source:
        yield source


def _state(source: BufferedReader) -> tuple[int, int]:
    state = os.fstat(source.fileno())
    return state.st_size, state.st_mtime_ns


def _unchanged(path: Path, before: tuple[int, int], source: BufferedReader, size: int) -> None:
    if _state(source) != before or size != before[0]:
        raise MediaError("it is still being written", file=path, todo="wait until it is finished and take it again")


@contextmanager
def _worded(name: str) -> Iterator[None]:
    """Trouble with the disk, in a person's words."""
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            raise VoidbookError("the disk is full, nothing of it was filed", file=name, todo="make room") from error
        raise VoidbookError(f"it can't be filed ({error.strerror})", file=name, todo="check the disk") from error


def make_folder(folder: Path) -> None:
    """Make `folder` and what is missing above it, each for its owner alone and durable."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(mode=0o700, exist_ok=True)
    _sync_folder(folder.parent)


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # folders can't be synced there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
