"""An inbox: a folder into which phones copy, looked at again and again, so that network folders work too.

A file is taken once it has stayed the same for a while. What a file was is remembered only as long as the watch runs:
after a restart all are looked at again, and those filed before are known by their bytes. Those that fail are kept with
their reason among the job's problems, and are tried again when they change.
"""

from __future__ import annotations

import hashlib
import os
import socket
import stat
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from notes import intake, problems
from notes import job as jobs
from notes.book import opened
from notes.errors import MediaError, UsageError, VoidbookError
from notes.intake import Talk

if TYPE_CHECKING:
    from notes.transcribe import Transcriber

LOCK = ".voidbook-watch"
QUIET = 10.0
"""Seconds for which a file must stay the same. A phone that syncs over the air writes every second or so."""
EVERY = 3.0
AGAIN = 60.0
"""Seconds until a file is tried again that failed for no fault of its own: the disk was full, the model was away."""

State = tuple[int, int]
"""Size and time of change."""


@dataclass(slots=True)
class Inbox:
    """What is known of the files of a folder. `quiet` seconds without a change make a file ripe."""

    quiet: float
    _since: dict[Path, tuple[State, float]] = field(default_factory=dict)
    _done: dict[Path, State] = field(default_factory=dict)

    def ripe(self, there: Mapping[Path, State], now: float) -> list[Path]:
        """The files to be taken of those that are there `now` (seconds on any clock that only goes forward)."""
        self._since = {path: self._seen(path, state, now) for path, state in there.items()}
        self._done = {path: state for path, state in self._done.items() if path in there}
        return [path for path, (state, since) in self._since.items() if self._is_ripe(path, state, now - since)]

    def done(self, path: Path) -> None:
        """`path` was taken as it was last seen: leave it alone until it changes."""
        self._done[path] = self._since[path][0]

    def later(self, path: Path, now: float) -> None:
        """`path` could not be taken: let it ripen once more."""
        self._since[path] = (self._since[path][0], now + AGAIN)

    def _seen(self, path: Path, state: State, now: float) -> tuple[State, float]:
        before = self._since.get(path)
        return before if before and before[0] == state else (state, now)

    def _is_ripe(self, path: Path, state: State, still: float) -> bool:
        return still >= self.quiet and state[0] > 0 and self._done.get(path) != state


def watch(
    root: Path,
    folder: Path,
    talk: Talk,
    *,
    speaker: str | None = None,
    transcriber: Transcriber | None = None,
    move: bool = False,
    quiet: float = QUIET,
    every: float = EVERY,
    going_on: Callable[[], bool] = lambda: True,
    told: Callable[[str], None] = lambda _: None,
) -> None:
    """File what arrives in `folder` as long as `going_on`. Raises UsageError where another watch has it."""
    inbox, trouble = Inbox(quiet), ""

    def take(path: Path) -> None:
        with opened(root) as db:
            job = jobs.load(root)
            wrong = intake.take(db, root, job, [path], talk, speaker=speaker, transcriber=transcriber, move=move)
            if not path.exists():  # renamed or removed meanwhile, or moved into the job: not a failure of this file
                problems.remember(db, path, ())
        if all(isinstance(each, MediaError) for each in wrong):
            inbox.done(path)
        else:
            inbox.later(path, time.monotonic())

    with _alone(folder):
        while going_on():
            wrong = ""
            try:
                for path in inbox.ripe(_there(folder, root), time.monotonic()):
                    if path.exists():
                        take(path)
            except (OSError, VoidbookError) as error:  # the network is away, job.toml is being edited, a disk is full
                wrong = f"waiting: {_worded(error)}"
            if wrong != trouble:
                told(wrong or "going on")
            trouble = wrong
            time.sleep(every)


def _there(folder: Path, root: Path) -> dict[Path, State]:
    """The files of a kind we take, as they are now. Raises OSError where the folder can't be read."""
    os.scandir(folder).close()
    found: dict[Path, State] = {}
    for path in intake.files_in([folder], root):
        if isinstance(path, Path):
            with suppress(OSError):  # renamed since
                state = path.stat()
                if stat.S_ISREG(state.st_mode):
                    found[path] = (state.st_size, state.st_mtime_ns)
    return found


# --- one watch a folder


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Hold the folder's lock. It ends with the process, however that ends, so no stale one can stand in the way."""
    if not folder.is_dir():
        raise UsageError("there is no such folder", file=folder, todo="make it, or name another")
    with ExitStack() as files:
        file = files.enter_context(_lock_file(folder))
        try:
            mine = _locked(file)
        except OSError:  # a network folder that knows no locks
            file = files.enter_context(_local_lock(folder))
            mine = _locked(file)
        if not mine:
            raise UsageError(f"it is being watched already, by {_holder(file)}", file=folder, todo="end that one first")
        file.seek(0)
        file.truncate()
        file.write(f"process {os.getpid()} on {socket.gethostname()}".encode())
        file.flush()
        yield


def _lock_file(folder: Path) -> BinaryIO:
    """In the folder itself, so that other machines see it too; for one that can't be written to, on this machine."""
    try:
        return _open(folder / LOCK)
    except OSError:
        return _local_lock(folder)


def _local_lock(folder: Path) -> BinaryIO:
    name = hashlib.sha256(str(folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
    return _open(Path(tempfile.gettempdir(), f"voidbook-watch-{name}"))


def _open(lock: Path) -> BinaryIO:
    """Never through a link: a stranger's link in a folder for all would have us write to a file of the person's."""
    return os.fdopen(os.open(lock, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o600), "r+b")


def _holder(file: BinaryIO) -> str:
    with suppress(OSError):
        file.seek(0)
        if told := file.read(200).decode("utf-8", "replace"):
            return told
    return "another program"


def _locked(file: BinaryIO) -> bool:
    """Whether the lock is ours now. Raises OSError where there are no locks at all."""
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(1 << 20)  # beyond what is read of it: there a lock keeps others from reading
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):  # EACCES is the other system's word for it
        return False
    return True


def _worded(error: OSError | VoidbookError) -> str:
    """Without the number and the language of the system's errors."""
    if isinstance(error, VoidbookError) or not error.strerror:
        return str(error)
    return f"{error.filename or 'the disk'}: {error.strerror.lower()}"
