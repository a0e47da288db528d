"""What is measured in a book, in CPU seconds of this process."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import bigbook
import site_talk
import starting

from notes import answering, book, derive, filing, paging, rows, search, short, transcribe
from notes import job as jobs
from notes.filing import NewMemo
from notes.lexicon import load
from notes.model import Job, Memo
from notes.transcribe import Transcript

_TEXT = (
    "I'm in {room} now. I've run the hot and cold in fifteen copper under the sink. Capped the waste behind the basin, "
    "forty mil. Tested the gas at one and a half bar for ten minutes and it held. The flow and return is clipped in "
    "the riser. I've lagged the hot and cold over the window. I've not tested the soil yet."
)
_MEDIA = "be" * 32
VERBS = [words.split() for words in ("log", "find hot return", "trace hot return", "followups")]


def spent(do: Callable[[], Any]) -> float:
    """CPU seconds of `do`."""
    start = time.process_time()
    do()
    return time.process_time() - start


def reading(root: Path, questions: Sequence[str]) -> dict[str, float]:
    """The times of what is looked up, warm: the second of two goes counts. And the bytes that a fact takes."""
    job, lexicon = jobs.load(root), load(jobs.load(root))
    room = job.rooms[len(job.rooms) // 2].name
    with search.opened(root) as db:
        goes = [[spent(lambda q=q: search.find(db, q, lexicon)) for q in questions] for _ in range(2)]  # type: ignore[misc]
        finds = sorted(goes[1])
        facts = db.execute("SELECT count(*) FROM facts").fetchone()[0]
        return {
            "find": statistics.median(finds),
            "find, 95 of 100": finds[int(len(finds) * 0.95)],
            "find, worst": finds[-1],
            "room's log": _warm(lambda: list(search.said(db, room=room))),
            "room's follow-ups": _warm(lambda: search.followups(db, room=room)),
            "trace": _warm(lambda: answering.answers(db, job, f"where does the hot go in the {room.lower()}")),
            "first screen": _warm(lambda: paging.rooms(db, job, None, paging.Seen())),
            "bytes": (root / book.NAME).stat().st_size / facts,
        }


def _warm(do: Callable[[], Any]) -> float:
    return statistics.median(spent(do) for _ in range(5))


def recheck(root: Path) -> float:
    """All follow-ups worked out again."""
    job = jobs.load(root)
    with book.opened(root) as db, book.write(db):
        return spent(lambda: derive.refresh(db, job, None))


def take(root: Path, times: int = 7) -> float:
    """One more memo read and filed behind all others, with all that follows from it; each in another room."""
    job = jobs.load(root)
    with book.opened(root) as db:
        step = max(1, len(job.rooms) // (times + 1))
        found = [spent(lambda n=n: _file_one(db, job, job.rooms[n * step % len(job.rooms)].name)) for n in range(times)]  # type: ignore[misc]
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return statistics.median(found)


def _file_one(db: Any, job: Job, room: str) -> None:
    last = db.execute("SELECT max(moment), count(*) FROM memos").fetchone()
    at = site_talk.AT.fromtimestamp(last[0] + 60, site_talk.AT.tzinfo)
    text = _TEXT.format(room=room.lower())
    digest = f"bench {last[1]}"
    db.execute("INSERT OR IGNORE INTO media VALUES (?, 'memos', 'memos.jsonl', 1, '2025-01-06')", (_MEDIA,))
    filing.file_memos(db, job, [NewMemo(Memo(digest, at, "Mate 1", text, text), digest, "told", _MEDIA)], lambda: None)


def startup(demo: Path) -> dict[str, float]:
    """The CPU of a whole command to that of starting Python with click and sqlite3."""
    return starting.ratios(demo, VERBS, times=7)


def made_and_filed(room: Path, facts: int) -> tuple[float, float]:
    """Bytes a fact of a book made by bigbook, and of one in which the same recordings were read and filed."""
    made = room / "made"
    job = bigbook.make(made, facts)
    filed = room / "filed"
    jobs.create(filed, job)
    with book.opened(made) as source, book.opened(filed) as db:
        for row in source.execute("SELECT * FROM memos ORDER BY row").fetchall():
            _as_heard(source, db, job, row)
        for row in source.execute("SELECT * FROM photos ORDER BY row").fetchall():
            bigbook._put(db, "photos", {name: row[name] for name in row.keys() if name != "row"})  # noqa: SIM118
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return _bytes(made), _bytes(filed)


def _as_heard(source: Any, db: Any, job: Job, row: Any) -> None:
    """One recording, as `intake` files it once it was heard."""
    kept = source.execute("SELECT * FROM transcripts WHERE key = ?", (row["transcript"],)).fetchone()
    heard: Transcript = transcribe.from_json(kept["transcript"])
    told = short.short(transcribe.to_json(heard))
    media = source.execute("SELECT * FROM media WHERE sha = ?", (row["media"],)).fetchone()

    def also() -> None:
        bigbook._put(db, "media", dict(media))
        bigbook._put(db, "transcripts", {**dict(kept), "transcript": told})

    memo = rows.memo({**dict(row), "text": row["raw"]})
    new = Memo(memo.id, memo.at, memo.speaker, memo.raw, memo.raw, heard.words, memo.seconds, memo.sure_of_time)
    filing.file_memos(db, job, [NewMemo(new, row["digest"], row["at_source"], row["media"], row["transcript"])], also)


def _bytes(root: Path) -> float:
    with closing(book.connect(root)) as db:
        return (root / book.NAME).stat().st_size / db.execute("SELECT count(*) FROM facts").fetchone()[0]
