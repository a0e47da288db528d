"""Work on other machines: the same facts as on one, every memo filed once, whoever is killed meanwhile."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import ssl
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import pytest
from conftest import MONDAY
from crew import Twin, end, start, where
from house import JOB, Quiet, a_job, a_wav, quick_folder, told

from notes import cluster, filing, intake, search, verify
from notes.ahead import Wanted
from notes.book import opened
from notes.clustering import engine, work
from notes.clustering.address import Address, settled
from notes.errors import ClusterError, MediaError, VoidbookError
from notes.store import sha_of

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")


@pytest.fixture
def place() -> Iterator[Path]:
    with quick_folder() as folder:
        yield folder


@dataclass
class Crew:
    """A scheduler and its workers, as a person starts them."""

    marks: Path
    words: tuple[str, ...] = ()
    scheduler: Any = None
    workers: list[Any] = field(default_factory=list)

    def __post_init__(self) -> None:
        scheme = "tls" if self.words else "tcp"
        self.scheduler = start("cluster", f"{scheme}://127.0.0.1:0", *self.words)

    @property
    def at(self) -> str:
        return where(self.scheduler)

    @property
    def address(self) -> Address:
        return settled(self.at)

    def work(self, many: int) -> None:
        new = [start("worker", self.at, *self.words, marks=self.marks, wait=False) for _ in range(many)]
        for one in new:
            said = one.stderr.readline()
            assert "working for" in said, said
        self.workers += new

    def end(self) -> None:
        end(*self.workers, self.scheduler)


@contextmanager
def a_crew(marks: Path, workers: int, *words: str) -> Iterator[Crew]:
    crew = Crew(marks, words)
    try:
        crew.work(workers)
        yield crew
    finally:
        crew.end()


@pytest.fixture(scope="module")
def crew(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Crew]:
    with a_crew(tmp_path_factory.mktemp("marks"), 2) as made:
        yield made


def an_inbox(folder: Path, names: str = "1 2 3 4 5 6", slow: int = 0) -> Path:
    """Recordings an hour apart, one of them slow, and a note between them that the rooms carry through."""
    for n in names.split():
        a_wav(folder / f"20260302-{8 + int(n):02}0000{'-slow' if int(n) == slow else ''}.wav", 0.3)
    note = folder / "20260302-103000.txt"
    note.write_text("In the scullery. Capped the cold.")
    for file in folder.iterdir():
        os.utime(file, (MONDAY.timestamp(), MONDAY.timestamp()))
    return folder


class Telling(Quiet):
    """Keeps what was told of a take."""

    def __init__(self) -> None:
        self.shares: dict[str, list[float]] = {}
        self.ids: list[str] = []

    def doing(self, path: Path, what: str, share: float | None = None) -> None:
        if share is not None:
            self.shares.setdefault(path.name, []).append(share)

    def filed(self, path: Path, outcome: Any) -> None:
        self.ids += outcome.ids


def take(root: Path, inbox: Path, crew: Crew | None = None, talk: Any = None) -> list[VoidbookError]:
    """File the inbox into a job that is made where there is none."""
    if not root.exists():
        a_job(root)
    with opened(root) as db:
        if crew is None:
            return intake.take(db, root, JOB, [inbox], talk or Quiet(), transcriber=Twin())
        with cluster.met(crew.address, JOB) as workers:
            return intake.take(
                db, root, JOB, [inbox], talk or Quiet(), transcriber=Twin(), ears=workers.ears, reader=workers.read
            )


def same(root: Path, inbox: Path, place: Path) -> None:
    """The job at `root` says what one says that this process has filed alone, to the last word and number."""
    assert take(place / "alone", inbox) == []
    assert told(root, order=False) == told(place / "alone", order=False)
    assert verify.check(root, JOB, deep=True, young=0) == []


def until(so: Callable[[], Any], seconds: float = 90) -> None:
    limit = time.monotonic() + seconds
    while not so():
        assert time.monotonic() < limit, "it does not come to it"
        time.sleep(0.02)


def test_the_same_facts_as_on_one_machine(crew: Crew, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here: list[str] = []
    monkeypatch.setattr(cluster, "read", lambda memo, *rest: here.append(memo.id) or filing.read(memo, *rest))
    inbox, talk = an_inbox(place / "inbox"), Telling()
    assert take(place / "job", inbox, crew, talk) == []
    assert here == []  # all six were read by workers
    assert len(talk.ids) == 7
    assert any(0 < shares[0] < 1 for shares in talk.shares.values()), talk.shares
    same(place / "job", inbox, place)
    with search.opened(place / "job") as db:
        assert db.execute("SELECT count(*) FROM facts").fetchone()[0] >= 7
    assert take(place / "job", inbox, crew) == []
    same(place / "job", inbox, place)


def test_a_worker_killed_over_a_recording_is_replaced(crew: Crew, place: Path) -> None:
    inbox, talk = an_inbox(place / "inbox", slow=3), Telling()
    mark = crew.marks / "20260302-110000-slow.wav"
    mark.unlink(missing_ok=True)
    killed: list[int] = []

    class Killing(Telling):
        def filed(self, path: Path, outcome: Any) -> None:
            super().filed(path, outcome)
            if not killed:
                until(mark.exists)
                until(mark.read_text)
                killed.append(int(mark.read_text()))
                os.kill(killed[0], signal.SIGKILL)

    talk = Killing()
    assert take(place / "job", inbox, crew, talk) == []
    assert killed[0] in [one.pid for one in crew.workers]
    assert sorted(talk.ids) == sorted(file.stem for file in inbox.iterdir())
    same(place / "job", inbox, place)
    gone = next(one for one in crew.workers if one.pid == killed[0])
    crew.workers.remove(gone)
    end(gone)
    crew.work(1)


def test_the_owner_killed_in_the_middle_goes_on_when_it_takes_again(crew: Crew, place: Path) -> None:
    inbox, root = an_inbox(place / "inbox", slow=4), a_job(place / "job")
    mark = crew.marks / "20260302-120000-slow.wav"
    mark.unlink(missing_ok=True)
    owner = start("take", str(inbox), "--job", str(root), "--cluster", crew.at, wait=False)
    until(mark.exists)
    until(lambda: _count(root) >= 3)
    end(owner)
    assert owner.returncode == -signal.SIGKILL
    assert 3 <= _count(root) < 7
    assert [wrong for wrong in verify.check(root, JOB, deep=True, young=0) if wrong.error] == []
    assert take(root, inbox, crew) == []  # by all workers: the slow one notices that nobody waits any more
    same(root, inbox, place)


def _count(root: Path) -> int:
    with search.opened(root) as db:
        return int(db.execute("SELECT count(*) FROM memos").fetchone()[0])


def test_no_more_is_sent_than_workers_can_have_at_hand(crew: Crew, place: Path, monkeypatch: Any) -> None:
    inbox = an_inbox(place / "inbox", " ".join(map(str, range(1, 9))))
    most = {"sent": 0, "bytes": 0}
    submit = cluster.Workers._submit

    def counting(self: cluster.Workers, *args: Any) -> Any:
        most["sent"] = max(most["sent"], len(self._sent))
        most["bytes"] = max(most["bytes"], sum(sent.size for sent in self._sent.values()))
        return submit(self, *args)

    monkeypatch.setattr(cluster.Workers, "_submit", counting)
    assert take(place / "job", inbox, crew) == []
    assert most["sent"] == 2
    size = max(file.stat().st_size for file in inbox.glob("*.wav"))
    monkeypatch.setattr(cluster, "BYTES", 2 * size)
    most["bytes"] = 0
    assert take(place / "again", inbox, crew) == []
    assert size < most["bytes"] <= 2 * size
    assert told(place / "again", order=False) == told(place / "job", order=False)


def wanted(path: Path) -> Wanted:
    return Wanted("key", path, 0.1, lambda done, of: None, None)  # type: ignore[arg-type]


def test_bytes_that_are_not_those_of_the_original_are_refused(crew: Crew, place: Path) -> None:
    sound = a_wav(place / "1.wav", 0.1)
    kept = place / f"{sha_of(sound)}.wav"
    shutil.copy(sound, kept)
    with cluster.met(crew.address, JOB) as workers:
        ears = workers.ears(Twin())
        assert ears.hear(wanted(kept)).result(90).text.endswith("Number 1.")
        kept.write_bytes(kept.read_bytes()[:-1] + b"x")
        with pytest.raises(MediaError, match="not those of the original") as wrong:
            ears.hear(wanted(kept)).result(90)
        assert wrong.value.file == str(kept)


def test_a_worker_refuses_what_it_would_hear_otherwise(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work, "ears", lambda _hotwords: Twin())
    sound = a_wav(place / "2.wav", 0.1)
    settings = asdict(Twin().settings)

    def hear(model: str, **other: Any) -> str:
        told = work.hear(
            sound.read_bytes(), ".wav", sha_of(sound), model, json.dumps({**settings, **other}), place
        )  # fmt: skip
        return work.heard(told, sound, Twin()).text

    assert hear("canned").startswith("In the boiler house")
    with pytest.raises(ClusterError, match=r"a worker listens with canned, this job with base@0"):
        hear("base@0")
    with pytest.raises(ClusterError, match=r"a worker listens otherwise \(none; here faster-whisper 9\)"):
        hear("canned", library="faster-whisper 9")
    assert not list(place.glob("tmp*"))


def test_what_goes_wrong_on_a_worker_tells_no_words(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken(Twin):
        def transcribe(self, path: Path, progress: Any = None, kept: Any = None) -> Any:
            raise ValueError("behind the zebrano")

    monkeypatch.setattr(work, "ears", lambda _hotwords: Broken())
    sound = a_wav(place / "2.wav", 0.1)
    told = work.hear(sound.read_bytes(), ".wav", sha_of(sound), "canned", json.dumps(asdict(Twin().settings)), place)
    assert "zebrano" not in told
    with pytest.raises(ClusterError, match=r"2.wav: a worker could not hear it \(ValueError\)"):
        work.heard(told, sound, Twin())


def test_other_weights_are_told_at_once_and_nothing_is_lost(crew: Crew, place: Path) -> None:
    inbox, root = an_inbox(place / "inbox"), a_job(place / "job")
    with opened(root) as db, cluster.met(crew.address, JOB) as workers:
        wrong = intake.take(
            db, root, JOB, [inbox], Quiet(), transcriber=Twin("base@0"), ears=workers.ears, reader=workers.read
        )
    assert [type(one) for one in wrong] == [ClusterError] * 6
    assert "with base@0; they run canned" in str(wrong[0])
    assert str(wrong[0]).startswith(str(inbox / "20260302-090000.wav"))
    assert _count(root) == 1  # the note
    assert take(root, inbox, crew) == []
    same(root, inbox, place)


def test_a_scheduler_that_is_not_there(voidbook: Any, root: Path, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "CONNECT", 1.0)
    inbox, began = an_inbox(place / "inbox"), time.monotonic()
    ran = voidbook("take", inbox, "--cluster", "tcp://127.0.0.1:9")
    assert time.monotonic() - began < 30
    assert (ran.code, ran.err.count("\n")) == (7, 1)
    assert "no scheduler answers at tcp://127.0.0.1:9; start one there: voidbook cluster" in ran.err
    assert len(list(inbox.iterdir())) == 7
    assert _count(root) == 0


def test_a_scheduler_that_goes_away_leaves_what_was_filed(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "CONNECT", 2.0)
    inbox, killed = an_inbox(place / "inbox", slow=3), []
    with a_crew(place, 1) as lone:

        class Killing(Telling):
            def filed(self, path: Path, outcome: Any) -> None:
                super().filed(path, outcome)
                if len(self.ids) == 2:
                    until((place / "20260302-110000-slow.wav").exists)
                    lone.scheduler.kill()
                    killed.append(time.monotonic())

        wrong = take(place / "job", inbox, lone, Killing())
        assert time.monotonic() - killed[0] < 30
    assert all(isinstance(one, ClusterError) and "has gone" in str(one) for one in wrong), wrong
    assert len(wrong) == 4
    assert _count(place / "job") == 3
    assert take(place / "job", inbox) == []
    same(place / "job", inbox, place)


def test_what_the_engine_gives_up_is_told_in_a_line() -> None:
    at, path = Address("127.0.0.1", 1), Path("a.wav")
    dying = distributed.scheduler.KilledWorker("hear-1", None, 3)
    nobody = distributed.scheduler.NoWorkerError("hear-1", 60)
    unlike = distributed.scheduler.NoValidWorkerError("hear-1", set(), set(), {"hears canned 0": 1}, 60)
    gone = distributed.client.FutureCancelledError("hear-1", "scheduler-connection-lost")
    for error, line in (
        (dying, "a.wav: 4 workers ended while they listened to it; take it without --cluster"),
        (nobody, "a.wav: no worker that can hear it was at tcp://127.0.0.1:1 for 60 seconds; start some"),
        (unlike, "a.wav: no worker that can hear it was at tcp://127.0.0.1:1 for 60 seconds; start some"),
        (gone, "a.wav: the scheduler at tcp://127.0.0.1:1 has gone; start it again"),
    ):
        found = str(engine.meant(error, at, path))
        assert found.startswith(line)
        assert "\n" not in found


# --- who gets in


@dataclass(frozen=True)
class Papers:
    """The options that show a certificate, as words and as files."""

    ca: Path
    cert: Path
    key: Path

    @property
    def words(self) -> tuple[str, ...]:
        return ("--tls-ca", str(self.ca), "--tls-cert", str(self.cert), "--tls-key", str(self.key))


def papers(folder: Path) -> Papers:
    """Made by an authority of their own."""
    trustme = pytest.importorskip("trustme", reason="the certificates of this test are made by trustme")
    folder.mkdir()
    made = Papers(folder / "ca.pem", folder / "cert.pem", folder / "key.pem")
    authority = trustme.CA()
    own = authority.issue_cert("yard.example")
    authority.cert_pem.write_to_path(str(made.ca))
    own.cert_chain_pems[0].write_to_path(str(made.cert))
    own.private_key_pem.write_to_path(str(made.key))
    return made


def _listening(pid: int) -> set[tuple[str, int]]:
    import psutil

    return {tuple(c.laddr) for c in psutil.Process(pid).net_connections("all") if c.status == psutil.CONN_LISTEN}


def test_with_certificates_only_who_shows_one_gets_in(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "CONNECT", 2.0)
    good, foreign = papers(place / "good"), papers(place / "foreign")
    inbox = an_inbox(place / "inbox", "1 2")
    with a_crew(place, 1, *good.words) as guarded:
        at = settled(guarded.at, good.ca, good.cert, good.key)
        root = a_job(place / "job")
        with opened(root) as db, cluster.met(at, JOB) as workers:
            assert intake.take(db, root, JOB, [inbox], Quiet(), transcriber=Twin(), ears=workers.ears) == []
        same(root, inbox, place)
        with (
            pytest.raises(ClusterError, match="or not to this certificate"),
            cluster.met(settled(guarded.at, foreign.ca, foreign.cert, foreign.key), JOB),
        ):
            pass
        with pytest.raises(ClusterError, match="no scheduler answers"), cluster.met(Address(at.host, at.port), JOB):
            pass
        assert _handshake(at, good, show=True) == "in"
        assert _handshake(at, good, show=False) == "refused"
        assert _handshake(at, good, show=True, other=foreign) == "refused"
        for one in (guarded.scheduler, *guarded.workers):
            assert {host for host, _port in _listening(one.pid)} == {"127.0.0.1"}
            assert len(_listening(one.pid)) == 2  # the door, and the engine's pages, which are empty


def _handshake(at: Address, good: Papers, *, show: bool, other: Papers | None = None) -> str:
    """Whether the door opens to somebody who trusts this authority and shows a certificate, or none, or another's."""
    context = ssl.create_default_context(cafile=good.ca)
    context.check_hostname = False
    if show:
        context.load_cert_chain((other or good).cert, (other or good).key)
    with socket.create_connection((at.host, at.port), 5) as plain:
        try:
            with context.wrap_socket(plain) as door:
                return "in" if door.recv(8) else "refused"
        except ssl.SSLError:
            return "refused"


def test_the_pages_of_the_engine_are_empty(crew: Crew) -> None:
    from urllib.error import HTTPError
    from urllib.request import urlopen

    door = int(crew.at.rsplit(":", 1)[1])
    (pages,) = {port for _host, port in _listening(crew.scheduler.pid)} - {door}
    for path in ("", "status", "info/main/workers.html", "json/identity.json", "metrics", "health"):
        with pytest.raises(HTTPError) as refused:
            urlopen(f"http://127.0.0.1:{pages}/{path}", timeout=5)
        with refused.value:
            assert refused.value.code == 404
