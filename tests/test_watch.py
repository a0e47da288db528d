"""An inbox: files are taken once they are whole, once each, whatever happens to them and to the watch."""

from __future__ import annotations

import errno
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import pytest
from house import HEARD, Quiet, a_job, a_photo, a_wav, quick_folder, told
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from notes import search, watch
from notes.errors import UsageError, VoidbookError
from notes.store import Put, Store
from notes.watch import Inbox, State


@pytest.fixture
def place() -> Iterator[Path]:
    with quick_folder() as folder:
        a_job(folder / "job")
        (folder / "inbox").mkdir()
        yield folder


@contextmanager
def watching(place: Path, quiet: float = 0.15, move: bool = False) -> Iterator[list[str]]:
    stop, told_ = threading.Event(), list[str]()
    wrong: list[BaseException] = []

    def run() -> None:
        try:
            watch.watch(
                place / "job", place / "inbox", Quiet(), transcriber=HEARD, quiet=quiet, every=0.03, move=move,
                going_on=lambda: not stop.is_set(), told=told_.append,
            )  # fmt: skip
        except BaseException as error:
            wrong.append(error)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield told_
    finally:
        stop.set()
        thread.join()
    assert wrong == []


def soon(what: Callable[[], object], seconds: float = 20) -> None:
    """Wait until it is so."""
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.02)


def memos(place: Path) -> list[str]:
    with search.opened(place / "job") as db:
        return [row["id"] for row in db.execute("SELECT id FROM memos ORDER BY id")]


def reasons(place: Path) -> list[str]:
    with search.opened(place / "job") as db:
        return [row["reason"] for row in search.problems(db)]


def test_what_arrives_is_filed_once(place: Path) -> None:
    with watching(place):
        a_wav(place / "inbox" / "phone" / "m1.wav")
        (place / "inbox" / "m2.txt").write_text("Capped the hot.")
        a_photo(place / "inbox" / "p1.png")
        (place / "inbox" / "m3.txt.part").write_text("not mine")
        soon(lambda: len(memos(place)) == 2 and told(place / "job")["photos"])
        time.sleep(0.3)
    assert memos(place) == ["m1", "m2"]
    assert reasons(place) == []


def test_a_file_still_being_written_is_waited_for(place: Path) -> None:
    with watching(place, quiet=0.4), (place / "inbox" / "m1.txt").open("w") as file:
        for word in ("In", "the", "scullery.", "Capped", "the", "hot."):
            file.write(word + " ")
            file.flush()
            time.sleep(0.08)
            assert memos(place) == []
        file.close()
        soon(lambda: memos(place) == ["m1"])
    with search.opened(place / "job") as db:
        assert search.memo(db, "m1").text == "In the scullery. Capped the hot."
    assert reasons(place) == []


def test_renames_and_restarts_file_nothing_twice_and_lose_nothing(place: Path) -> None:
    first = place / "inbox" / "m1.txt"
    first.write_text("Capped the hot.")
    with watching(place):
        soon(lambda: memos(place) == ["m1"])
        first.rename(place / "inbox" / "renamed.txt")
        (place / "inbox" / "m2.txt").write_text("Capped the cold.")
        soon(lambda: memos(place) == ["m1", "m2"])
    (place / "inbox" / "m3.txt").write_text("Left the waste open.")  # while nobody watched
    with watching(place):
        soon(lambda: len(memos(place)) == 3)
        time.sleep(0.3)
    assert memos(place) == ["m1", "m2", "m3"]
    assert reasons(place) == []


def test_what_fails_is_kept_with_its_reason_and_tried_when_it_changes(place: Path) -> None:
    bad = place / "inbox" / "m1.wav"
    bad.write_bytes(b"RIFF....WAVEnot much")
    with watching(place):
        soon(lambda: len(reasons(place)) == 1)
        with search.opened(place / "job") as db:
            first = db.execute("SELECT id FROM problems").fetchone()["id"]
        time.sleep(0.4)
        with search.opened(place / "job") as db:  # it is not tried again and again
            assert db.execute("SELECT id FROM problems").fetchone()["id"] == first
        a_wav(bad)
        soon(lambda: memos(place) == ["m1"])
    assert reasons(place) == []


def test_a_file_that_is_gone_before_it_is_taken_is_no_failure(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from notes import intake

    take = intake.take

    def lose(*args: object, **more: object) -> object:
        (place / "inbox" / "m1.txt").rename(place / "inbox" / "m1 renamed.txt")
        monkeypatch.setattr(intake, "take", take)
        return take(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(intake, "take", lose)
    (place / "inbox" / "m1.txt").write_text("Capped the hot.")
    with watching(place):
        soon(lambda: memos(place) == ["m1 renamed"])
    assert reasons(place) == []


def test_what_the_disk_refused_is_tried_again(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk was full: that was no fault of the file, and nobody will change it."""
    put, full = Store.put, [True]

    def refuse(store: Store, path: Path) -> Put:
        if full:
            raise VoidbookError("the disk is full, nothing of it was filed", file=path, todo="make room")
        return put(store, path)

    monkeypatch.setattr(Store, "put", refuse)
    monkeypatch.setattr(watch, "AGAIN", 0.1)
    (place / "inbox" / "m1.txt").write_text("Capped the hot.")
    with watching(place):
        soon(lambda: reasons(place))
        full.clear()
        soon(lambda: memos(place) == ["m1"])
        assert reasons(place) == []


def test_a_folder_that_knows_no_locks_is_watched_by_one_all_the_same(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl
    import os

    flock = fcntl.flock

    def lock(file: BinaryIO, how: int) -> None:
        if os.path.samestat(os.fstat(file.fileno()), (place / "inbox" / watch.LOCK).stat()):
            raise OSError(errno.ENOLCK, "No locks available")
        flock(file, how)

    monkeypatch.setattr(fcntl, "flock", lock)
    with (
        watch._alone(place / "inbox"),
        pytest.raises(UsageError, match="watched already"),
        watch._alone(place / "inbox"),
    ):
        pass


def test_a_link_in_place_of_the_lock_is_not_written_through(place: Path) -> None:
    own = place / "letter.txt"
    own.write_text("mine")
    (place / "inbox" / watch.LOCK).symlink_to(own)
    with watching(place):
        (place / "inbox" / "m1.txt").write_text("Capped the hot.")
        soon(lambda: memos(place) == ["m1"])
    assert own.read_text() == "mine"


def test_moved_originals_are_gone_and_kept(place: Path) -> None:
    a_wav(place / "inbox" / "m1.wav")
    whole = (place / "inbox" / "m1.wav").read_bytes()
    (place / "inbox" / "bad.txt").write_bytes(b"\xff\xfe\x00")
    with watching(place, move=True):
        soon(lambda: not (place / "inbox" / "m1.wav").exists() and reasons(place))
    assert (place / "inbox" / "bad.txt").exists()
    assert whole in [path.read_bytes() for path in (place / "job" / "media").rglob("*.wav")]


def test_a_folder_that_goes_away_is_waited_for(place: Path) -> None:
    with watching(place) as told_:
        soon((place / "inbox" / watch.LOCK).exists)
        (place / "inbox").rename(place / "away")
        soon(lambda: told_)
        (place / "away").rename(place / "inbox")
        (place / "inbox" / "m1.txt").write_text("Capped the hot.")
        soon(lambda: memos(place) == ["m1"])
    assert told_[0].startswith(f"waiting: {place / 'inbox'}: ")
    assert told_[1:] == ["going on"]


_OTHER = """
import sys
from pathlib import Path
from notes import watch
print("ready", flush=True)
with watch._alone(Path(sys.argv[1])):
    print("watching", flush=True)
    sys.stdin.read()
"""


def test_one_watch_a_folder_even_after_a_kill(place: Path) -> None:
    command = [sys.executable, "-c", _OTHER, str(place / "inbox")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout
        assert [other.stdout.readline(), other.stdout.readline()] == ["ready\n", "watching\n"]
        with pytest.raises(UsageError, match=f"watched already, by process {other.pid} on "):
            watch.watch(place / "job", place / "inbox", Quiet())
        other.kill()
    with watching(place):
        (place / "inbox" / "m1.txt").write_text("Capped the hot.")
        soon(lambda: memos(place) == ["m1"])


def test_a_folder_that_is_not_there_is_refused(place: Path) -> None:
    with pytest.raises(UsageError, match="no such folder"):
        watch.watch(place / "job", place / "nowhere", Quiet())


# --- what is ripe, on any clock


NAMES = st.sampled_from([Path("a"), Path("b")])
LOOKS = st.lists(st.dictionaries(NAMES, st.tuples(st.integers(0, 2), st.integers(0, 2))), max_size=12)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(LOOKS, st.integers(0, 3))
def test_a_file_is_ripe_when_it_stayed_the_same_long_enough(looks: list[dict[Path, State]], quiet: int) -> None:
    inbox, taken = Inbox(quiet), dict[Path, State]()
    for now, there in enumerate(looks):
        ripe = inbox.ripe(there, now)
        taken = {path: state for path, state in taken.items() if path in there}
        for path in there:
            same = now >= quiet and all(look.get(path) == there[path] for look in looks[now - quiet : now + 1])
            assert (path in ripe) == (same and there[path][0] > 0 and taken.get(path) != there[path])
        for path in ripe:
            inbox.done(path)
            taken[path] = there[path]
