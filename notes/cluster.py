"""Recordings heard, and memos read, by workers on other machines: the owner's side of it.

The engine finds a free worker, and another one where that one is lost. What was heard comes to the process that owns
the book, which files it as it files its own.
"""

from __future__ import annotations

import json
import time
import uuid
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, field
from functools import partial
from threading import Lock
from typing import TYPE_CHECKING, Any

from notes.ahead import Stopped, Wanted
from notes.clustering import engine, work
from notes.clustering.address import Address
from notes.errors import ClusterError
from notes.lexicon import Lexicon
from notes.model import Job, Memo
from notes.reading import Carry, Reading, read
from notes.transcribe import Transcriber, Transcript

if TYPE_CHECKING:
    from distributed import Client

BYTES = 1 << 29
"""Bytes of recordings sent and not yet heard, but for one that is larger alone."""
PATIENCE = 30.0
"""Seconds for a worker to read a memo, before it is read here."""


@dataclass(slots=True, eq=False)
class _Sent:
    """A recording to be heard elsewhere: its size, the answer that the owner waits for, the engine's own promise."""

    wanted: Wanted
    size: int
    name: str = field(default_factory=lambda: f"hear-{uuid.uuid4()}")
    answer: Future[Transcript] = field(default_factory=Future)
    remote: Any = None


@contextmanager
def met(address: Address, job: Job) -> Iterator[Workers]:
    """The workers at `address`, for one take of `job`. Raises ClusterError."""
    workers = Workers(engine.client(address), address, job)
    try:
        yield workers
    finally:
        workers.close()


class Workers:
    """Ears, and eyes that read, on other machines."""

    def __init__(self, client: Client, address: Address, job: Job) -> None:
        self._client, self._address, self._job = client, address, job
        self._speech: Transcriber | None = None
        self._settings = self._able = ""
        self._waiting: deque[_Sent] = deque()
        self._sent: dict[str, _Sent] = {}
        self._lock = Lock()
        self._many, self._counted = 1, 0.0
        client.subscribe_topic(engine.TOLD, self._told)  # type: ignore[no-untyped-call]

    def ears(self, speech: Transcriber) -> Workers:
        """Those that hear as `speech` does here. Raises ClusterError where there are others only."""
        able, others = work.ability(speech), self._workers()
        if others and not any(_can(worker, able) for worker in others):
            models = {name.split()[1] for worker in others for name in worker["resources"] if " " in name}
            theirs = "another voidbook" if speech.model in models else ", ".join(sorted(models)) or "no voidbook"
            what = f"no worker at {self._address} runs this voidbook with {speech.model}; they run {theirs}"
            raise ClusterError(what, todo="install the same voidbook and choose the same model everywhere")
        self._speech, self._able = speech, able
        self._settings = json.dumps(asdict(speech.settings))
        return self

    @property
    def at_once(self) -> int:
        """How many workers there are, as far as was told in the last seconds."""
        if time.monotonic() - self._counted > 2:
            with suppress(Exception):  # the scheduler may be away for a moment; what is sent will tell
                self._many = max(1, sum(_can(worker, self._able) for worker in self._workers()))
            self._counted = time.monotonic()
        return self._many

    def hear(self, wanted: Wanted) -> Future[Transcript]:
        sent = _Sent(wanted, wanted.path.stat().st_size)
        with self._lock:
            self._waiting.append(sent)
        self._send()
        return sent.answer

    def read(self, memo: Memo, lexicon: Lexicon, before: Carry) -> Reading:
        """The memo as a worker reads it, else as it is read here: that is the same, by the same program."""
        if self._able and self._there:
            with suppress(Exception):  # nobody answers; or it goes wrong there, as it then will here, for all to see
                asked = self._submit(engine.READS, f"read-{uuid.uuid4()}", work.read, memo, self._job, before)
                found: Reading = asked.result(timeout=PATIENCE)
                return found
        return read(memo, lexicon, before)

    def close(self) -> None:
        with self._lock:
            waiting, self._waiting = list(self._waiting), deque()
        for sent in waiting:
            sent.answer.cancel()
        with suppress(Exception):  # the scheduler drops what is ours when the connection ends, however that ends
            self._client.close(timeout=5)  # type: ignore[no-untyped-call]

    @property
    def _there(self) -> bool:
        """Whether the scheduler is still connected: what is asked of one that went away is never answered."""
        return bool(self._client.status == "running")

    def _workers(self) -> list[dict[str, Any]]:
        return list(self._client.scheduler_info()["workers"].values())

    def _submit(self, part: str, key: str, do: Any, *args: Any) -> Any:
        # what waits for the model keeps all behind it from a worker, whatever that has free: reading goes first
        needs, first = {f"{part} {self._able}": 1}, int(part == engine.READS)
        return self._client.submit(do, *args, key=key, pure=False, resources=needs, priority=first)

    def _send(self) -> None:
        """Send what may be sent."""
        while sent := self._next():
            try:
                if not self._there:
                    raise ConnectionError
                path = sent.wanted.path
                args = path.read_bytes(), path.suffix, path.stem, self._able.split()[0], self._settings
                sent.remote = self._submit(engine.HEARS, sent.name, engine.hear, sent.name, *args)
                sent.remote.add_done_callback(partial(self._arrived, sent))
            except Exception as wrong:
                self._end(sent, wrong)

    def _next(self) -> _Sent | None:
        """The next one to be sent, where not enough is on its way already: one for each worker.

        A second would wait behind the first, however long that is, while others have nothing to do.
        """
        with self._lock:
            size = sum(sent.size for sent in self._sent.values())
            if not self._waiting or len(self._sent) >= self._many:
                return None
            if self._sent and size + self._waiting[0].size > BYTES:
                return None
            sent = self._waiting.popleft()
            self._sent[sent.name] = sent
            return sent

    def _arrived(self, sent: _Sent, remote: Any) -> None:
        """In the engine's thread: something came of it."""
        try:
            assert self._speech  # nothing was sent without
            self._end(sent, work.heard(remote.result(), sent.wanted.path, self._speech))
        except Exception as wrong:
            self._end(sent, wrong)
        self._send()

    def _end(self, sent: _Sent, came: Transcript | Exception) -> None:
        with self._lock:
            self._sent.pop(sent.name, None)
        sent.remote = None  # lets the scheduler forget the bytes
        if not sent.answer.set_running_or_notify_cancel():
            return
        if isinstance(came, Exception):
            sent.answer.set_exception(engine.meant(came, self._address, sent.wanted.path))
        else:
            sent.answer.set_result(came)

    def _told(self, event: tuple[float, Any]) -> None:
        """In the engine's thread: a worker tells how far it is."""
        key, done, of = event[1]
        if sent := self._sent.get(key):
            with suppress(Stopped):
                sent.wanted.progress(done, of)


def _can(worker: dict[str, Any], able: str) -> bool:
    return f"{engine.HEARS} {able}" in worker["resources"]
