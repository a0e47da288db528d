"""A job to look at: two days, three rooms, a memo that was spoken, a photo; and driving the app through it."""

from __future__ import annotations

import asyncio
import io
import time
import wave
from collections.abc import Awaitable, Callable, Iterable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from notes import book, derive, filing, job, store
from notes.model import Fact, Job, Memo, Photo, Room, Status, Word
from notes.photos import NewPhoto
from notes.reading import Carry, Reading
from tui.app import Review
from tui.rows import Rows

ROOMS = (
    Room("House bathroom", "First", ("main bathroom", "family bathroom")),
    Room("Scullery", "Ground", ("back kitchen",)),
    Room("Boiler house", "Outside", ("the shed",)),
)
MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
FIRST = "In the bathroom. I've capped the hot and the circulation behind the basin, twenty-two mil. Cold wants lagging."
SECOND = "Back kitchen now. Left the waste open under the sink, inch and a half."

PATIENCE = 180.0
"""Seconds that anything may take on a machine that does much else."""

Script = Callable[[Pilot[None]], Awaitable[None]]


def new(root: Path, name: str = "Hollin Bank", rooms: Iterable[Room] = ROOMS) -> Job:
    """A job with an empty book."""
    made = Job(name, tuple(rooms), crew=("A", "B"))
    job.create(root, made)
    book.connect(root).close()
    return made


def filled(root: Path) -> Job:
    """A job with two memos, the first spoken, and a photo."""
    made = new(root)
    with closing(book.connect(root)) as db:
        both = {"quote": "capped the hot and the circulation behind the basin", "place": "behind the basin"}
        spoken = [
            fact("m01", 0, FIRST, **both, size_mm=22.0),
            fact("m01", 1, FIRST, **both, size_mm=22.0, subject="hot return", doubts=("size_mm",)),
            fact("m01", 2, FIRST, quote="Cold wants lagging", subject="cold", action="insulate", status=Status.TO_DO),
        ]
        put(db, made, "m01", FIRST, spoken, sound=tone(root), words=words(FIRST))
        waste = {"room": "Scullery", "subject": "waste", "action": "leave", "size_mm": 40.0, "place": "under the sink"}
        left = fact("m02", 0, SECOND, quote="Left the waste open under the sink", **waste)
        put(db, made, "m02", SECOND, [left], hours=26, speaker="B")
        photograph(db, made, root)
    return made


def fact(memo: str, n: int, text: str, *, quote: str, **values: Any) -> Fact:
    """A fact whose words stand in `text`."""
    start = text.index(quote)
    base = {"room": "House bathroom", "subject": "hot", "action": "cap", "status": Status.DONE, "second": start / 10}
    return Fact(**{**base, **values, "memo": memo, "n": n, "quote": quote, "start": start, "end": start + len(quote)})


def put(
    db: Any, made: Job, memo: str, text: str, facts: Iterable[Fact], *, hours: float = 0, speaker: str = "A",
    sound: str | None = None, words: tuple[Word, ...] = (),
) -> None:  # fmt: skip
    """File a memo with these facts as if the rules had read them."""
    at, said = MONDAY + timedelta(hours=hours), tuple(facts)
    with book.write(db):
        kind = "recording" if sound else "memos"
        db.execute("INSERT OR IGNORE INTO media VALUES (?, ?, 'm', 1, '2026')", (sound or "0", kind))
        row = int(db.execute("SELECT coalesce(max(row), 0) + 1 FROM memos").fetchone()[0])
        heard = Memo(memo, at, speaker, text, text, words, 12.0 if sound else None, order=row)
        new_memo = filing.NewMemo(heard, memo, "told", sound or "0")
        filing._put_memo(db, row, Reading(heard, said, Carry()), new_memo)
        changed = derive.settle(db, memo)
        derive.refresh(db, made, derive.rooms_of(db, changed))


def words(text: str) -> tuple[Word, ...]:
    """The words of a spoken text, ten letters a second; `circulation` was misheard, `lagging` badly heard."""
    found, here = [], 0
    for word in text.split():
        start = text.index(word, here)
        here = start + len(word)
        raw = "circle Asian" if word == "circulation" else None
        sure = 0.3 if word.startswith("lagging") else 0.9
        found.append(Word(word, start, here, start / 10, here / 10, sure, raw))
    return tuple(found)


def tone(root: Path, seconds: int = 12) -> str:
    """A recording in the store; its SHA-256."""
    out = io.BytesIO()
    with wave.open(out, "wb") as sound:
        sound.setparams((1, 2, 16_000, 0, "NONE", ""))
        sound.writeframes(b"\x00\x10\x00\xf0" * (8_000 * seconds))
    return store.Store(root / "media").put_bytes(out.getvalue(), ".wav").sha


def photograph(db: Any, made: Job, root: Path, *, turned: int = 6) -> None:
    """A photo that lies on its side, red at the end that belongs on top."""
    from PIL import Image

    picture, out = Image.new("RGB", (60, 40), "blue"), io.BytesIO()
    picture.paste("red", (0, 0, 20, 40))
    exif = picture.getexif()
    exif[0x0112] = turned
    picture.save(out, "JPEG", exif=exif)
    sha = store.Store(root / "media").put_bytes(out.getvalue(), ".jpg").sha
    photo = Photo("tails", MONDAY + timedelta(minutes=2), caption="tails behind the basin")
    with book.write(db):
        db.execute("INSERT INTO media VALUES (?, 'photo', 'tails.jpg', 1, '2026')", (sha,))
        filing.file_photo(db, made, NewPhoto(photo, sha, "told", sha))


def drive(root: Path, script: Script, size: tuple[int, int] = (80, 24)) -> Review:
    """Open the app on `root` and do `script`; the app as it was at the end."""

    async def main() -> Review:
        app = Review(root)
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            await script(pilot)
            await settle(pilot)
        return app

    return asyncio.run(main())


async def settle(pilot: Pilot[None]) -> None:
    """Wait until nothing is read, written or taken any more."""
    app = pilot.app
    assert isinstance(app, Review)
    stop = time.monotonic() + PATIENCE
    while True:
        await pilot.pause()
        await app.writes.join()
        if not any(w.group != "writes" and not w.is_finished for w in app.workers) and not app.taking.running:
            break
        assert time.monotonic() < stop, "it never came to rest"
        await asyncio.sleep(0.2 if app.taking.running else 0.01)  # the child needs the processor more than this loop
    await pilot.pause()


async def press(pilot: Pilot[None], *keys: str) -> None:
    """Press keys, each after what the one before began has ended; `text:...` types it."""
    for key in keys:
        if key.startswith("text:"):
            await pilot.press(*(_NAMES.get(letter, letter) for letter in key[5:]))
        else:
            await pilot.press(key)
        await settle(pilot)


_NAMES = {" ": "space", "/": "slash", ".": "full_stop", "-": "minus", "_": "underscore", "'": "apostrophe"}


def text(pilot: Pilot[None]) -> str:
    """All that is on the screen, as plain lines."""
    width, height = pilot.app.size
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join(strip.crop(0, width).text.rstrip() for strip in strips[:height])


def rows(pilot: Pilot[None]) -> Rows:
    """The list of the screen."""
    return pilot.app.screen.query_one(Rows)


def facts(root: Path, memo: str = "m01") -> list[Fact]:
    """The facts of a memo as they stand in the book."""
    from notes import search

    with search.opened(root) as db:
        return list(search.of_memo(db, memo))


def query(root: Path, sql: str) -> list[tuple[Any, ...]]:
    """What the book says."""
    with closing(book.connect(root)) as db:
        return [tuple(row) for row in db.execute(sql)]
