"""Taking files: put, probe, transcribe, read, and one commit a file. The thin shell around all of it."""

from __future__ import annotations

import os
import sqlite3
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from notes import book, clock, filing, forget, kinds, lexicon, points, problems, typed
from notes.ahead import Ahead, Ears, Threads
from notes.errors import ClusterError, MediaError, SpeechError, VoidbookError
from notes.filing import NewMemo, Reader
from notes.kinds import Kind
from notes.model import Job, Memo, Photo
from notes.photos import NewPhoto
from notes.reading import make_ready, read
from notes.store import Put, Store

if TYPE_CHECKING:
    from notes.probe import Sound
    from notes.transcribe import Transcriber, Transcript

MEDIA = "media"
MOST = 32
"""Files of any kind that are taken up before their turn, or more where so many can be heard; of recordings fewer."""


class Talk(Protocol):
    """Whoever tells a person how the taking goes: of how many files, and what share of one is done, 0..1."""

    def begin(self, files: int) -> None: ...
    def doing(self, path: Path, what: str, share: float | None = None) -> None: ...
    def filed(self, path: Path, outcome: Outcome) -> None: ...
    def failed(self, path: Path, wrong: VoidbookError) -> None: ...


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a file: the ids of memos and photos it gave, how many facts; none where it was filed before."""

    kind: Kind
    ids: tuple[str, ...] = ()
    facts: int = 0
    wrong: tuple[VoidbookError, ...] = ()
    """Lines of it that could not be filed."""
    warned: tuple[str, ...] = ()
    """What keeps a photo from proving anything, to be told while the wall is still open."""


def take(
    db: sqlite3.Connection,
    root: Path,
    job: Job,
    paths: Iterable[Path],
    talk: Talk,
    *,
    speaker: str | None = None,
    transcriber: Transcriber | None = None,
    move: bool = False,
    ears: Callable[[Transcriber], Ears] = Threads,
    reader: Reader = read,
) -> list[VoidbookError]:
    """File all of `paths`; what went wrong, each also in the book's problems. One bad file never stops the others.

    Recordings are heard by the `ears` made of the transcriber, several before their turn; files are filed in order,
    and what was recorded is read by the `reader`.
    With `move` an original is removed once all of it is filed and its kept copy was read back.
    """
    found = list(files_in(paths, root))
    several = sum(isinstance(file, Path) and kinds.by_name(file) is Kind.RECORDING for file in found) > 1
    zone = clock.zone_of(job.zone)
    taker = _Taker(db, Store(root / MEDIA), job, talk, zone, speaker, transcriber, move, ears, reader, several)
    talk.begin(len(found))
    try:
        return [wrong for path, file in taker.in_turn(found) for wrong in _take_one(taker, path, file)]
    finally:
        taker.close()


def _take_one(taker: _Taker, path: Path, file: _File | Exception) -> list[VoidbookError]:
    taker.talk.doing(path, "looking at it")
    try:
        if isinstance(file, Exception):
            raise file
        outcome = taker.take(file)
        taker.talk.filed(path, outcome)
        wrong = list(outcome.wrong)
    except VoidbookError as failure:
        wrong = [failure]
    except MemoryError:  # the machine is in need: no file's fault, and what comes next would fare no better
        raise
    except Exception as failure:  # a fault of ours; what it says may hold words of memos, so only where it was is told
        wrong = [_unforeseen(path, failure)]
    for each in wrong:
        taker.talk.failed(path, each)
    with suppress(VoidbookError):  # on a full disk not even this can be written; the person was told
        problems.remember(taker.db, path, wrong)
    return wrong


def _unforeseen(path: Path, failure: Exception) -> VoidbookError:
    place = failure.__traceback__
    while place and place.tb_next:
        place = place.tb_next
    at = f"{Path(place.tb_frame.f_code.co_filename).name}:{place.tb_lineno}" if place else "?"
    what = f"voidbook did not foresee this ({type(failure).__name__} at {at}), nothing of it was filed"
    return VoidbookError(what, file=path, todo="keep the file and report that line; the others are filed")


def files_in(paths: Iterable[Path], root: Path) -> Iterator[Path | VoidbookError]:
    """The files named, those of a kind we take in the folders named, and what is wrong with a folder."""
    for path in paths:
        if not path.is_dir():
            yield path
            continue
        found = list(_walk(path, own=(root / MEDIA).absolute()))
        yield from found or [MediaError("there is nothing to file in this folder", file=path, todo="name another")]


def _walk(top: Path, own: Path) -> Iterator[Path | VoidbookError]:
    """Files below `top` in order of their names, without hidden ones and without the job's `own` media."""
    unreadable: list[OSError] = []
    for folder, below, names in os.walk(top, onerror=unreadable.append):
        below[:] = sorted(name for name in below if name[0] != "." and (Path(folder) / name).absolute() != own)
        yield from (Path(folder, name) for name in sorted(names) if name[0] != "." and _takes(name))
    for error in unreadable:
        yield MediaError(f"this folder can't be read ({error.strerror})", file=error.filename, todo="change its rights")


def _takes(name: str) -> bool:
    return kinds.by_name(Path(name)) is not None


@dataclass(slots=True)
class _Taker:
    """What is the same for all files of one take."""

    db: sqlite3.Connection
    store: Store
    job: Job
    talk: Talk
    zone: tzinfo
    speaker: str | None
    transcriber: Transcriber | None
    move: bool
    ears: Callable[[Transcriber], Ears]
    reader: Reader
    several: bool
    """Whether more than one recording was named."""
    ahead: Ahead | None = field(default=None, init=False)
    no_speech: SpeechError | None = field(default=None, init=False)

    def in_turn(self, found: Iterable[Path | VoidbookError]) -> Iterator[tuple[Path, _File | Exception]]:
        """Each file in its turn. Some of those behind it are taken up already: kept, and their recordings being heard.

        What went wrong with a file comes in its place.
        """
        waiting: deque[tuple[Path, _File | Exception]] = deque()
        for each in found:
            waiting.append(self._taken_up(each))
            while self._enough(waiting):
                yield waiting.popleft()
        while waiting:
            yield waiting.popleft()

    def _enough(self, waiting: deque[tuple[Path, _File | Exception]]) -> bool:
        recordings = sum(isinstance(file, _File) and file.kind is Kind.RECORDING for _, file in waiting)
        room = self.ahead.room if self.ahead else 0
        return len(waiting) > max(MOST, room) or recordings > room

    def _taken_up(self, found: Path | VoidbookError) -> tuple[Path, _File | Exception]:
        if isinstance(found, VoidbookError):
            return Path(found.file or ""), found
        try:
            file = self._kept(found)
            with _about(found):
                self._have_heard(file)
            return found, file
        except Exception as wrong:
            return found, wrong

    def _kept(self, path: Path) -> _File:
        kind = kinds.kind_of(path)
        with kinds.readable(path):
            modified = clock.file_time(path.stat().st_mtime)
        forget.refuse(self.db, path, kind, self.zone)
        put = self.store.put(path)
        points.reach("take kept")
        return _File(path, kind, self.store.path(put.sha), put, modified)

    def take(self, file: _File) -> Outcome:
        with _about(file.path):
            outcome = self._outcome(file)
            if self.move and not outcome.wrong:
                self.store.release(file.path, file.put.sha)
        return outcome

    def close(self) -> None:
        if self.ahead:
            self.ahead.close()

    def _outcome(self, file: _File) -> Outcome:
        if file.kind is not Kind.MEMOS and self._filed(file.put.sha):
            return Outcome(file.kind)
        takers = {
            Kind.RECORDING: self._recording,
            Kind.PHOTO: self._photo,
            Kind.NOTE: self._note,
            Kind.MEMOS: self._memos,
        }
        return takers[file.kind](file)

    def _filed(self, digest: str) -> bool:
        sql = "SELECT 1 FROM memos WHERE digest = ?1 UNION ALL SELECT 1 FROM photos WHERE digest = ?1"
        return self.db.execute(sql, (digest,)).fetchone() is not None

    def _recording(self, file: _File) -> Outcome:
        from notes import probe

        sound = file.sound or probe.probe_recording(file.kept)
        when = self._when(file, container=sound.created, day=sound.day)
        key, transcript = self._transcript(file)
        memo = Memo(
            file.id, when.instant, self.speaker, transcript.text, transcript.text, transcript.words,
            sound.seconds, when.sure,
        )  # fmt: skip
        return self._file(file, [NewMemo(memo, file.put.sha, when.source, file.put.sha, key)])

    def _note(self, file: _File) -> Outcome:
        text, when = typed.note(file.kept), self._when(file)
        memo = Memo(file.id, when.instant, self.speaker, text, text, sure_of_time=when.sure)
        return self._file(file, [NewMemo(memo, file.put.sha, when.source, file.put.sha)])

    def _memos(self, file: _File) -> Outcome:
        found = list(typed.lines(file.kept, self.zone, file.path))
        good = [entry for entry in found if isinstance(entry, typed.Typed)]
        new = [NewMemo(t.memo, t.digest, "told", file.put.sha, photos=t.photos) for t in good]
        outcome = self._file(file, new)
        return replace(outcome, wrong=tuple(e for e in found if isinstance(e, MediaError)))

    def _photo(self, file: _File) -> Outcome:
        from notes import ocr, photos, probe

        picture = probe.probe_photo(file.kept)
        when = self._when(file, exif=picture.taken)
        photo = Photo(file.id, when.instant, caption=picture.caption, sure=when.sure, sharp=picture.sharp)
        written = ocr.read(file.kept, lexicon.load(self.job))
        new = NewPhoto(
            photo, file.put.sha, when.source, file.put.sha, picture.look, self.speaker, written.text, written.room
        )
        twin = photos.twin(self.db, when.instant.timestamp(), picture.look.phash)
        with book.write(self.db):
            self._original(file)
            id = filing.file_photo(self.db, self.job, new)
        warned = (*picture.look.wrongs, *([f"nearly the same as {twin}"] if twin else []))
        return Outcome(Kind.PHOTO, (id,) if id else (), warned=warned)

    def _file(self, file: _File, new: list[NewMemo]) -> Outcome:
        self.talk.doing(file.path, "reading it")
        reader = self.reader if file.kind is Kind.RECORDING else read
        ids = filing.file_memos(self.db, self.job, new, lambda: self._original(file), reader)
        marks = ", ".join("?" * len(ids))
        facts = self.db.execute(f"SELECT count(*) FROM facts WHERE memo IN ({marks})", ids).fetchone()[0]
        return Outcome(file.kind, tuple(ids), facts)

    def _original(self, file: _File) -> None:
        row = (file.put.sha, file.kind.value, typed.plain_id(file.path.name), file.put.size, _now())
        self.db.execute("INSERT OR IGNORE INTO media (sha, kind, name, size, filed_at) VALUES (?, ?, ?, ?, ?)", row)

    def _when(
        self, file: _File, *, exif: datetime | None = None, container: datetime | None = None, day: date | None = None
    ) -> clock.When:
        told = clock.Candidates(file.path.name, exif, container, file.modified, datetime.now(UTC), day)
        return clock.settle(told, self.zone)

    def _have_heard(self, file: _File) -> _File:
        """A recording that needs hearing is heard from now on, if it can be: what it is is found out first."""
        from notes import probe

        if file.kind is not Kind.RECORDING or self._filed(file.put.sha):
            return file
        file = replace(file, sound=probe.probe_recording(file.kept))
        if not self._heard(key := self._key(file)):
            self._begin(key, file)
        return file

    def _transcript(self, file: _File) -> tuple[str, Transcript]:
        """From the book: kept there before its turn, or waited for."""
        from notes import transcribe

        key = self._key(file)
        while not (heard := self._heard(key)):
            ahead = self._begin(key, file)
            if self.reader is read:
                make_ready(lexicon.load(self.job))
            ahead.wait(key, lambda done, of: self.talk.doing(file.path, "listening", done / (of or 1)))
        return key, transcribe.from_json(heard)

    def _key(self, file: _File) -> str:
        from notes import transcribe

        speech = self._speech()
        return transcribe.cache_key(file.put.sha, speech.model, speech.settings)

    def _heard(self, key: str) -> str | None:
        found = self.db.execute("SELECT transcript FROM transcripts WHERE key = ?", (key,)).fetchone()
        return found["transcript"] if found else None

    def _begin(self, key: str, file: _File) -> Ahead:
        from notes import hearing

        self.ahead = self.ahead or Ahead(self.ears(self._speech()))
        slices = hearing.Slices(self.db, key, file.put.sha, lambda: self._original(file))
        self.ahead.begin(key, file.kept, file.sound.seconds if file.sound else 0.0, slices)
        return self.ahead

    def _speech(self) -> Transcriber:
        """The one transcriber of this take. Where there are no weights, every recording fails alike and at once."""
        if self.no_speech:
            raise SpeechError(self.no_speech.what, file=self.no_speech.file, todo=self.no_speech.todo)
        if self.transcriber is None:
            try:
                self.transcriber = _whisper(self.job, self.several)
            except SpeechError as wrong:
                self.no_speech = wrong
                raise
        return self.transcriber


@dataclass(frozen=True, slots=True)
class _File:
    """A file as it was named, what it is, where it is kept, when it was last changed, what is known of its sound."""

    path: Path
    kind: Kind
    kept: Path
    put: Put
    modified: datetime | None
    sound: Sound | None = None

    @property
    def id(self) -> str:
        return typed.plain_id(self.path.stem)


def _whisper(job: Job, several: bool) -> Transcriber:
    """The speech model that is chosen, listening for the words of the trade and of the job."""
    from notes import transcribe, weights
    from notes.reading import hotwords

    chosen = weights.active()
    words = transcribe.fit_hotwords(hotwords(lexicon.load(job), job), chosen.folder)
    return transcribe.Whisper(chosen, words, several=several)


@contextmanager
def _about(path: Path) -> Iterator[None]:
    """Errors about the kept copy, worded about the file that the person knows."""
    try:
        yield
    except (MediaError, ClusterError) as wrong:
        if not (wrong.file or "").startswith(str(path)):
            wrong.file = str(path)
        raise


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
