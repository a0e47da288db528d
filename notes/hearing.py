"""Long recordings, heard slice by slice: what was heard of each is kept, so that a stop costs one slice only."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from notes import points, probe, short
from notes.book import write
from notes.spoken import Said, Token

if TYPE_CHECKING:
    import numpy as np

SLICE = 300
"""Seconds heard at a time: five minutes take 20 MB, and some 0.2 GB while the model makes its spectrum of them."""

Progress = Callable[[float, float], None]
"""Called with the seconds done and the seconds in all."""


class Kept(Protocol):
    """Where slices that were heard are kept, by their number."""

    def get(self, n: int) -> str | None: ...
    def put(self, n: int, heard: str) -> None: ...


@dataclass(frozen=True, slots=True)
class Slices:
    """The slices of one recording in the book, beside the transcript that they become: KEY/0, KEY/1, ...

    `original` files the row of the recording they are of.
    """

    db: sqlite3.Connection
    key: str
    media: str
    original: Callable[[], None]

    def get(self, n: int) -> str | None:
        found = self.db.execute("SELECT transcript FROM transcripts WHERE key = ?", (f"{self.key}/{n}",)).fetchone()
        return short.full(found["transcript"]) if found else None

    def put(self, n: int, heard: str) -> None:
        with write(self.db):
            self._keep(f"{self.key}/{n}", heard)
        points.reach("take slice heard")

    def whole(self, transcript: str) -> None:
        """Keep the transcript at once, in place of its slices: a later failure must not cost the hearing again."""
        with write(self.db):
            self._keep(self.key, transcript)
            between = (f"{self.key}/", f"{self.key}0")  # '0' follows '/'
            self.db.execute("DELETE FROM transcripts WHERE key > ? AND key < ?", between)

    def _keep(self, key: str, heard: str) -> None:
        self.original()
        now = datetime.now(UTC).isoformat(timespec="seconds")
        row = (key, self.media, short.short(heard), now)
        self.db.execute("INSERT OR IGNORE INTO transcripts VALUES (?, ?, ?, ?)", row)


class Slice(NamedTuple):
    """Some of a recording's sound at probe.RATE, the seconds that its file promises in all, whether it is the end."""

    sound: np.ndarray[Any, np.dtype[np.float32]]
    promised: float
    last: bool


def slices(path: Path) -> Iterator[Slice]:
    """The sound in parts of at most `SLICE` seconds. Raises MediaError where it can't be decoded.

    Each is cut where it is quietest, so that no word is; the same file is always cut alike.
    """
    import numpy as np

    parts: list[np.ndarray[Any, np.dtype[np.float32]]] = []
    count, promised, most = 0, 0.0, SLICE * probe.RATE
    for piece, promised in probe.pieces(path):
        parts.append(piece)
        count += piece.size
        while count > most:
            sound = np.concatenate(parts)
            cut = _quietest(sound[:most])
            yield Slice(sound[:cut], promised, last=False)
            parts, count = [sound[cut:].copy()], count - cut
    yield Slice(np.concatenate(parts), promised, last=True)


def _quietest(sound: np.ndarray[Any, Any]) -> int:
    """The middle of the quietest third of a second in the last half minute of `sound`; the last one of equals."""
    import numpy as np

    step = probe.RATE // 3
    tail = sound[len(sound) - 90 * step :].reshape(90, step)
    loudness = np.square(tail).mean(axis=1)
    return len(sound) - int(loudness[::-1].argmin()) * step - step // 2


def in_slices(
    path: Path,
    hear: Callable[[np.ndarray[Any, Any], Progress], list[Said]],
    kept: Kept | None = None,
    progress: Progress | None = None,
) -> tuple[list[Said], float]:
    """All that `hear` hears in the recording, on its clock, and how many seconds of sound there are.

    Raises MediaError where it can't be decoded.
    """
    found: list[Said] = []
    done = 0.0
    for n, slice in enumerate(slices(path)):
        at, done = done, done + len(slice.sound) / probe.RATE
        tell = _told(progress, at, done, max(slice.promised, done))
        heard = kept.get(n) if kept and not slice.last else None  # the last one is kept as part of the whole
        if heard is None:
            heard = _to_json(hear(slice.sound, tell))
            if kept and not slice.last:
                kept.put(n, heard)
        found += later(from_json(heard), at)
        tell(done - at, done)
    if progress:
        progress(done, done)
    return found, done


def _told(progress: Progress | None, at: float, until: float, total: float) -> Progress:
    """Progress within the slice `at:until`, told as progress through the whole."""

    def tell(seconds: float, _of: float) -> None:
        if progress:
            progress(min(at + seconds, until), total)

    return tell


def _to_json(said: list[Said]) -> str:
    return json.dumps([asdict(one) for one in said], ensure_ascii=False)


def from_json(kept: str | bytes) -> list[Said]:
    text = short.full(kept)
    return [Said(**{**one, "tokens": tuple(Token(**token) for token in one["tokens"])}) for one in json.loads(text)]


def later(said: list[Said], seconds: float) -> list[Said]:
    """Stretches of a slice that begins at `seconds`, on the clock of the recording."""
    return [
        replace(one, tokens=tuple(replace(t, at=t.at + seconds, until=t.until + seconds) for t in one.tokens))
        for one in said
    ]
