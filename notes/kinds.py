"""What kind of file it is, by its content first: a recording, a photo, a note, or text memos."""

from __future__ import annotations

import codecs
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path

from notes.errors import MediaError


class Kind(StrEnum):
    RECORDING = "recording"
    PHOTO = "photo"
    NOTE = "note"
    MEMOS = "memos"


_ENDINGS = {
    Kind.RECORDING: {".m4a", ".aac", ".mp3", ".wav", ".flac", ".ogg", ".oga", ".opus", ".3gp", ".amr", ".webm", ".mp4"},
    Kind.PHOTO: {".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp"},
    Kind.NOTE: {".txt"},
    Kind.MEMOS: {".jsonl"},
}
_KINDS = {ending: kind for kind, endings in _ENDINGS.items() for ending in endings}
_MAGIC = (
    (Kind.PHOTO, re.compile(rb"\xff\xd8\xff|\x89PNG\r\n\x1a\n|RIFF....WEBP", re.DOTALL)),
    (Kind.PHOTO, re.compile(rb"....ftyp(?:hei[cxms]|hev[cx]|mif1|msf1)", re.DOTALL)),
    (Kind.RECORDING, re.compile(rb"....(?:ftyp|moov|mdat|wide)", re.DOTALL)),
    (Kind.RECORDING, re.compile(rb"RIFF....WAVE|ID3|fLaC|OggS|#!AMR|\x1aE\xdf\xa3", re.DOTALL)),
    # frames of MPEG sound, layers II and III, and of ADTS; layer I would take UTF-16 text for sound
    (Kind.RECORDING, re.compile(rb"\xff[\xe2-\xe5\xf0-\xf5\xf8-\xfd]", re.DOTALL)),
)


def kind_of(path: Path) -> Kind:
    """What the file is, by its content first, then its ending. Raises MediaError if it is nothing we can file."""
    with readable(path):
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe would block for ever
            raise MediaError("this is not a plain file", file=path, todo="name a recording, photo or note")
        with path.open("rb") as file:
            head = file.read(4096)
    if not head:
        raise MediaError("the file is empty", file=path, todo="copy it from the phone again")
    if found := next((kind for kind, magic in _MAGIC if magic.match(head)), None):
        return found
    return _kind_by_ending(path, _is_text(head))


def by_name(path: Path) -> Kind | None:
    """What a file of this name should be; None if it is nothing we can file."""
    return _KINDS.get(path.suffix.lower())


def _kind_by_ending(path: Path, text: bool) -> Kind:
    ending = path.suffix.lower()
    kind = _KINDS.get(ending)
    if kind is None:
        raise MediaError(
            f"files ending in {ending or 'nothing'!r} can't be filed",
            file=path,
            todo="file recordings, photos, .txt notes or .jsonl memos",
        )
    if text == (kind in (Kind.NOTE, Kind.MEMOS)):
        return kind
    what = f"it holds text, no {kind}" if text else "it holds no text"
    raise MediaError(f"{what}, whatever its ending says", file=path, todo="check how it was exported")


@contextmanager
def readable(path: Path) -> Iterator[None]:
    """The errors that come from the disk, in a person's words."""
    try:
        yield
    except FileNotFoundError:
        raise MediaError("there is no such file any more", file=path, todo="check the name and take it again") from None
    except PermissionError:
        raise MediaError("you have no right to read this", file=path, todo="change its rights") from None
    except OSError as error:
        raise MediaError(f"it can't be read ({error.strerror or error})", file=path, todo="check the disk") from error


def _is_text(head: bytes) -> bool:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):  # UTF-16
        return True
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return False
    return b"\0" not in head
