"""Memos that were typed: .txt notes and .jsonl lines. Pure, but for reading the file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any

from notes.errors import MediaError
from notes.kinds import readable
from notes.model import Memo, Photo
from notes.photos import NewPhoto

MOST_BYTES = 64 << 20
"""A file of text memos; two hundred weeks of dictation are less."""
MOST_CHARACTERS = 200_000
"""One memo; an hour of fast speech is a quarter of that."""


@dataclass(frozen=True, slots=True)
class Typed:
    """One typed memo with its photos, and what tells it from every other."""

    memo: Memo
    digest: str
    photos: tuple[NewPhoto, ...] = ()


def text_of(path: Path) -> str:
    """The text of a file in UTF-8 or UTF-16. Raises MediaError."""
    with readable(path), path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise MediaError("it is too big for text", file=path, todo="cut it into parts")
    coding = "utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig"
    try:
        return data.decode(coding)
    except UnicodeDecodeError as wrong:
        raise MediaError(f"it holds no text ({wrong.reason})", file=path, todo="save it as UTF-8") from None


def note(path: Path) -> str:
    """The words of a .txt note. Raises MediaError where there are none."""
    return _said(text_of(path).strip(), str(path))


def lines(path: Path, zone: tzinfo, called: Path) -> Iterator[Typed | MediaError]:
    """Each line of a .jsonl file: the memo in it, or what is wrong with it. `called` is the name people know it by."""
    for number, line in enumerate(text_of(path).split("\n"), start=1):
        if line.strip():
            try:
                yield _memo(line, f"{called}:{number}", f"{called.stem}-{number}", zone)
            except MediaError as wrong:
                yield wrong


def one(line: str, zone: tzinfo) -> Typed:
    """The memo in one line, whatever its file is called. Raises MediaError."""
    return _memo(line, "", "memo", zone)


def _memo(line: str, where: str, fallback: str, zone: tzinfo) -> Typed:
    entry = _object(line, where)
    id, speaker = _text(entry, "id", where) or fallback, _text(entry, "speaker", where)
    text = _said(_text(entry, "text", where) or "", where)
    at = _time(entry.get("at"), where, zone)
    digest = hashlib.sha256(json.dumps([id, at.isoformat(), speaker, text]).encode()).hexdigest()
    photos = entry.get("photos", [])
    if not isinstance(photos, list):
        raise _wrong("photos must be a list", where)
    taken = tuple(_photo(photo, digest, where, zone) for photo in photos)
    return Typed(Memo(plain_id(id), at, speaker, text, text), digest, taken)


def _photo(entry: object, digest: str, where: str, zone: tzinfo) -> NewPhoto:
    if not isinstance(entry, dict):
        raise _wrong("a photo must be an object with id, at and caption", where)
    id, caption = _text(entry, "id", where) or "photo", _text(entry, "caption", where) or ""
    photo = Photo(plain_id(id), _time(entry.get("at"), where, zone), caption=caption)
    own = hashlib.sha256(json.dumps([digest, id, photo.at.isoformat(), caption]).encode()).hexdigest()
    return NewPhoto(photo, own, "told")


def plain_id(name: str) -> str:
    """`name` as an id: nothing in it that could drive a terminal or that no file system takes back."""
    kept = "".join(c if c.isprintable() else " " for c in name.encode("utf-8", "replace").decode())
    return " ".join(kept.split())[:120] or "memo"


def _object(line: str, where: str) -> dict[str, Any]:
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError) as wrong:
        raise _wrong(f"not valid JSON ({wrong})", where) from None
    if not isinstance(entry, dict):
        raise _wrong("not an object with id, at, speaker and text", where)
    return entry


def _text(entry: dict[str, Any], key: str, where: str) -> str | None:
    value = entry.get(key)
    if value is not None and not isinstance(value, str):
        raise _wrong(f"{key} must be text", where)
    return value.encode("utf-8", "replace").decode() if value else None  # half a surrogate pair can't be stored


def _said(text: str, where: str) -> str:
    if not text.strip():
        raise _wrong("there are no words in it", where)
    if len(text) > MOST_CHARACTERS:
        raise _wrong(f"it is longer than {MOST_CHARACTERS} characters", where)
    return text.replace("\0", " ")


def _time(value: object, where: str, zone: tzinfo) -> datetime:
    try:
        at = datetime.fromisoformat(str(value))
        placed = at if at.tzinfo else at.replace(tzinfo=zone)
        placed.timestamp()
    except (ValueError, OverflowError):
        raise _wrong(f"at must be a time like 2026-03-02T08:40:00+00:00, not {value!r}", where) from None
    return placed


def _wrong(what: str, where: str) -> MediaError:
    return MediaError(what, file=where, todo="put it right and take the file again")
