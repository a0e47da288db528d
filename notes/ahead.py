"""Recordings are heard ahead: the next ones while one is read and filed, by whoever has ears for it.

The book belongs to the thread that files. Ears hear in threads of their own (or in other processes) and have errands
done by that thread, whenever it waits for a recording: keep a slice, tell how far they are, keep the transcript. So
every row is written by one owner, in the order in which things were heard, and filing goes by the order of the files.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Lock
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from notes import points
from notes.hearing import Kept, Progress, Slices

if TYPE_CHECKING:
    from notes.transcribe import Transcriber, Transcript

T = TypeVar("T")

DEPTH = 4
"""Recordings taken up for each that is heard at once: no ear is idle while a long one holds up those behind it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A recording to be heard: the key of its transcript, its kept copy, its seconds as far as known, whom to tell,
    where its slices are kept.

    `progress` and `kept` may be called in any thread. They raise Stopped once nobody waits for the words any more.
    """

    key: str
    path: Path
    seconds: float
    progress: Progress
    kept: Kept


class Ears(Protocol):
    """Whoever hears recordings. `hear` returns at once; VoidbookErrors come with the future."""

    @property
    def at_once(self) -> int: ...

    def hear(self, wanted: Wanted) -> Future[Transcript]: ...

    def close(self) -> None:
        """Hear no more. What was not begun is left, what was begun ends soon: whatever it tells or asks is refused."""


class Threads:
    """The ears of this process: as many threads as `speech` can hear at once.

    Of those that wait the longest is heard first, so that at the end all threads are done at about the same time.
    """

    def __init__(self, speech: Transcriber) -> None:
        self._speech, self.at_once = speech, speech.at_once
        self._pool = ThreadPoolExecutor(speech.at_once, thread_name_prefix="hearing")
        self._waiting: list[tuple[float, int, Wanted, Future[Transcript]]] = []
        self._count, self._lock = count(), Lock()

    def hear(self, wanted: Wanted) -> Future[Transcript]:
        answer: Future[Transcript] = Future()
        with self._lock:
            heappush(self._waiting, (-wanted.seconds, next(self._count), wanted, answer))
        self._pool.submit(self._longest)
        return answer

    def _longest(self) -> None:
        with self._lock:
            if not self._waiting:
                return  # closed
            *_, wanted, answer = heappop(self._waiting)
        try:
            answer.set_result(self._speech.transcribe(wanted.path, wanted.progress, wanted.kept))
        except BaseException as wrong:
            answer.set_exception(wrong)

    def close(self) -> None:
        with self._lock:
            waiting, self._waiting = self._waiting, []
        for *_, answer in waiting:
            answer.cancel()
        self._pool.shutdown(wait=True, cancel_futures=True)


class Stopped(Exception):
    """The take has ended, nobody waits for this any more."""


class Errands:
    """What other threads want the owner of the book to do."""

    def __init__(self) -> None:
        self._todo: SimpleQueue[tuple[Callable[[], Any], Future[Any] | None]] = SimpleQueue()
        self._open, self._lock = True, Lock()

    def tell(self, do: Callable[[], Any]) -> None:
        """In any thread: have it done, some time. What goes wrong with it is raised where it is done."""
        self._put(do, None)

    def ask(self, do: Callable[[], T]) -> T:
        """In a thread that is not the owner's: have it done, and wait for what comes of it."""
        answer: Future[T] = Future()
        self._put(do, answer)
        return answer.result()

    def serve(self, until: Callable[[], bool]) -> None:
        """In the owner's thread: do what is asked, and wait for more, until that is so."""
        while not until():
            try:
                do, answer = self._todo.get(timeout=0.5)  # without a limit Ctrl-C is not seen on every system
            except Empty:
                continue
            _do(do, answer) if answer else do()

    def close(self) -> None:
        """Whoever asked and got no answer, or asks from now on, gets Stopped."""
        with self._lock:
            self._open = False
        while not self._todo.empty():
            if answer := self._todo.get()[1]:
                answer.set_exception(Stopped())

    def _put(self, do: Callable[[], Any], answer: Future[Any] | None) -> None:
        with self._lock:
            if not self._open:
                raise Stopped
            self._todo.put((do, answer))


def _do(do: Callable[[], Any], answer: Future[Any]) -> None:
    try:
        answer.set_result(do())
    except BaseException as wrong:
        answer.set_exception(wrong)
        if not isinstance(wrong, Exception):  # Ctrl-C is for the owner as well as for who asked
            raise


class Ahead:
    """The owner's side: what is being heard, and what came of it."""

    def __init__(self, ears: Ears) -> None:
        self._ears, self._errands = ears, Errands()
        self._going: set[str] = set()
        self._wrong: dict[str, Exception] = {}
        self._done: dict[str, tuple[float, float]] = {}
        self._told: tuple[str, Progress] | None = None

    @property
    def room(self) -> int:
        """How many recordings should be taken up before their turn."""
        return DEPTH * self._ears.at_once

    def begin(self, key: str, path: Path, seconds: float, slices: Slices) -> None:
        """Have the recording at `path` heard, and its transcript kept in the book; not twice at the same time."""
        if key in self._going or key in self._wrong:
            return
        self._going.add(key)
        errands = self._errands

        def ended(future: Future[Transcript]) -> None:
            with suppress(Stopped):
                errands.tell(lambda: self._end(key, slices, future))

        def progress(done: float, of: float) -> None:
            errands.tell(lambda: self._tell(key, done, of))

        self._ears.hear(Wanted(key, path, seconds, progress, Asking(slices, errands))).add_done_callback(ended)

    def wait(self, key: str, progress: Progress) -> None:
        """Wait until `key` is heard and kept, meanwhile doing what the ears ask. Raises what went wrong with it."""
        if key in self._done:
            progress(*self._done[key])
        self._told = key, progress
        self._errands.serve(lambda: key not in self._going)
        self._told = None
        self._done.pop(key, None)
        if wrong := self._wrong.pop(key, None):
            raise wrong

    def close(self) -> None:
        """Nobody waits any more: let the ears end."""
        self._errands.close()
        self._ears.close()

    def _tell(self, key: str, done: float, of: float) -> None:
        self._done[key] = done, of
        if self._told and self._told[0] == key:
            self._told[1](done, of)

    def _end(self, key: str, slices: Slices, future: Future[Transcript]) -> None:
        from notes.transcribe import to_json

        self._going.discard(key)
        try:
            heard = to_json(future.result())
            points.reach("take heard")
            slices.whole(heard)
        except Exception as wrong:  # told when it is this recording's turn
            self._wrong[key] = wrong


@dataclass(frozen=True, slots=True)
class Asking:
    """Slices of the book, for another thread: the owner reads and writes them, and the thread waits for it."""

    slices: Slices
    errands: Errands

    def get(self, n: int) -> str | None:
        return self.errands.ask(lambda: self.slices.get(n))

    def put(self, n: int, heard: str) -> None:
        self.errands.ask(lambda: self.slices.put(n, heard))
