"""The engine that carries the work, dask: the only importer of distributed, and late.

It is set up to say nothing, to show nothing, and to open no more than it must.
"""

from __future__ import annotations

import asyncio
import signal
import socket
import time
from collections.abc import Awaitable, Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from notes.ahead import Stopped
from notes.clustering import work
from notes.clustering.address import Address
from notes.errors import ClusterError, VoidbookError

if TYPE_CHECKING:
    from distributed import Client, Security

CONNECT = 10.0
"""Seconds for a scheduler to answer."""
NOBODY = 60.0
"""Seconds for which work waits for a worker that can do it. A machine that starts again is back by then."""
LOST = 60.0
"""Seconds of silence after which a worker is given up, where its connection did not end: a cable that was pulled."""
EVERY = 1.0
"""Seconds between two words of how far a recording is heard."""
HEARS, READS = "hears", "reads"
"""What a worker does at the same time, once each: the model listens beside Python, and reading takes no time."""
TOLD = "voidbook heard so far"

_SETTINGS = {
    "distributed.admin.large-graph-warning-threshold": "4 GiB",
    "distributed.comm.timeouts.connect": f"{CONNECT} s",
    "distributed.diagnostics.nvml": False,
    "distributed.scheduler.http.routes": [],
    "distributed.scheduler.no-workers-timeout": f"{NOBODY} s",
    "distributed.scheduler.worker-ttl": f"{LOST} s",
    "distributed.worker.http.routes": [],
    "distributed.worker.profile.enabled": False,
}
_QUIET = {"distributed": "critical", "distributed.client": "critical"}
_PAGES = "127.0.0.1:0"
"""The engine serves pages about itself wherever it runs: here there are none, and no other machine gets to them."""


def _engine() -> Any:
    """The module `distributed`, set up. Raises ClusterError where it is not installed."""
    try:
        import dask

        dask.config.set({"logging": _QUIET})  # read with the next line: it logs the arguments of what goes wrong
        import distributed
    except ImportError as error:
        todo = "install it with `uv sync --extra cluster`"
        raise ClusterError("work on a cluster needs the extra 'cluster'", todo=todo) from error
    dask.config.set(_SETTINGS)
    return distributed


def _security(address: Address) -> Security | None:
    if not address.tls:
        return None
    ca, cert, key = (str(file) for file in (address.tls.ca, address.tls.cert, address.tls.key))
    own = {f"tls_{role}_cert": cert for role in _ROLES} | {f"tls_{role}_key": key for role in _ROLES}
    made: Security = _engine().Security(require_encryption=True, tls_ca_file=ca, **own)
    return made


_ROLES = ("client", "scheduler", "worker")


def client(address: Address) -> Client:
    """Connected to the scheduler at `address`. Raises ClusterError."""
    engine, security = _engine(), _security(address)
    try:
        made: Client = engine.Client(
            str(address), security=security, timeout=CONNECT, set_as_default=False, name="voidbook"
        )
    except (TimeoutError, OSError) as error:
        raise _no_answer(address) from error
    return made


def _no_answer(address: Address) -> ClusterError:
    what = f"no scheduler answers at {address}" + (", or not to this certificate" if address.tls else "")
    return ClusterError(what, todo=f"start one there: voidbook cluster {address}")


def meant(wrong: BaseException, address: Address, path: Path) -> VoidbookError:
    """What the engine says of a recording, in a person's words."""
    engine = _engine()
    if isinstance(wrong, VoidbookError):
        return wrong
    if isinstance(wrong, engine.KilledWorker):
        what = f"{wrong.allowed_failures + 1} workers ended while they listened to it"
        return ClusterError(what, file=path, todo="take it without --cluster")
    if isinstance(wrong, (engine.scheduler.NoWorkerError, engine.scheduler.NoValidWorkerError)):
        what = f"no worker that can hear it was at {address} for {NOBODY:.0f} seconds"
        return ClusterError(what, file=path, todo=f"start some, `voidbook worker {address}`, and take it again")
    what = f"the scheduler at {address} has gone"
    return ClusterError(what, file=path, todo="start it again, and take this again; what was heard is kept")


def hear(key: str, data: bytes, suffix: str, sha: str, model: str, settings: str) -> str:
    """On a worker: `work.hear`, telling on the way how far it is, until nobody wants it any more."""
    worker, told = _engine().get_worker(), time.monotonic()

    def progress(done: float, of: float) -> None:
        nonlocal told
        task = worker.state.tasks.get(key)
        if task is None or task.state == "cancelled":  # its owner has gone, and others wait behind it
            raise Stopped
        if time.monotonic() - told > EVERY:
            told = time.monotonic()
            worker.log_event(TOLD, (key, float(done), float(of)))  # no numbers of numpy go with it

    return work.hear(data, suffix, sha, model, settings, Path(worker.local_directory), progress)


def meet(address: Address, told: Callable[[str], None]) -> None:
    """Be the scheduler at `address` until the program is ended; `told` where that is. Raises ClusterError."""
    engine, security = _engine(), _security(address)

    async def be() -> None:
        scheduler = engine.Scheduler(
            host=address.host, port=address.port, protocol=address.scheme, security=security,
            dashboard=False, dashboard_address=_PAGES,
        )  # fmt: skip
        try:
            async with scheduler:
                told(scheduler.address)
                await scheduler.finished()
        except OSError as error:
            what = f"nothing can be opened at {address} ({error.strerror or error})"
            raise ClusterError(what, todo="choose another port, or end what is there") from error

    _until_ended(be)


def join(address: Address, told: Callable[[str], None]) -> None:
    """Work for the scheduler at `address` until it or this program is ended. Raises ClusterError, SpeechError."""
    able = work.ability(work.ears(""))
    work.ready()
    engine, security = _engine(), _security(address)

    async def be() -> None:
        try:
            async with engine.Worker(
                str(address), host=_own_side(address), security=security, nthreads=2, memory_limit=0,
                resources={f"{part} {able}": 1 for part in (HEARS, READS)}, death_timeout=CONNECT,
                dashboard=False, dashboard_address=_PAGES,
            ) as worker:  # fmt: skip
                told(worker.address)
                await worker.finished()
        except (TimeoutError, OSError) as error:
            raise _no_answer(address) from error
        raise ClusterError(f"the scheduler at {address} has ended", todo="start it again, then this")

    _until_ended(be)


def _own_side(address: Address) -> str:
    """This machine's address on the network on which the scheduler is: nothing is opened on any other."""
    family, kind, _, _, there = socket.getaddrinfo(address.host, address.port, type=socket.SOCK_DGRAM)[0]
    with socket.socket(family, kind) as way:
        way.connect(there)  # of datagrams: nothing is sent
        return str(way.getsockname()[0])


def _until_ended(be: Callable[[], Awaitable[None]]) -> None:
    """Run until Ctrl-C, or until the system asks for an end in its own way."""

    async def run() -> None:
        me, loop = asyncio.current_task(), asyncio.get_running_loop()
        for sign in (signal.SIGINT, signal.SIGTERM):
            with suppress(NotImplementedError):  # on Windows Ctrl-C ends it, less politely
                loop.add_signal_handler(sign, me.cancel)  # type: ignore[union-attr]
        await be()

    with suppress(asyncio.CancelledError):
        asyncio.run(run())
