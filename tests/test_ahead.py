"""Recordings are heard before their turn: filed in order all the same, never too many ahead, and each for itself."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
from house import JOB, Quiet, a_job, a_wav

from notes import ahead, filing, hearing, intake, search, verify
from notes.ahead import Errands, Stopped, Threads, Wanted
from notes.book import opened
from notes.errors import SpeechError, VoidbookError
from notes.hearing import Kept, Progress
from notes.transcribe import Canned, Transcript

LONG = 20.0
"""Seconds to wait for what should happen at once, before the test says that it did not."""


class Told(Quiet):
    def __init__(self) -> None:
        self.lines: list[str] = []

    def filed(self, path: Path, outcome: Any) -> None:
        self.lines.append(f"{path.name} filed")

    def failed(self, path: Path, wrong: Exception) -> None:
        self.lines.append(f"{path.name} failed: {wrong}")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return a_job(tmp_path / "job")


def recordings(folder: Path, many: int) -> list[Path]:
    return [a_wav(folder / f"m{n:02}.wav", 0.1) for n in range(many)]


def take(root: Path, files: list[Path], told: Quiet, **how: Any) -> list[VoidbookError]:
    with opened(root) as db:
        return intake.take(db, root, JOB, files, told, **how)


class Backwards:
    """Ears that answer the last of the recordings they have first, once they have as many as they may have."""

    at_once = 1

    def __init__(self, speech: Canned, failing: str = "") -> None:
        self.speech, self.failing = speech, failing
        self.waiting: list[tuple[Wanted, Future[Transcript]]] = []
        self.most = 0

    def hear(self, wanted: Wanted) -> Future[Transcript]:
        answer: Future[Transcript] = Future()
        self.waiting.append((wanted, answer))
        self.most = max(self.most, len(self.waiting))
        return answer

    def close(self) -> None:
        pass

    def answer(self) -> None:
        while self.waiting:
            wanted, answer = self.waiting.pop()
            answer.set_result(self.speech.transcribe(wanted.path, wanted.progress))


class Waiting(Told):
    """Has the ears answer whenever the take waits for one of theirs."""

    ears: Backwards

    def doing(self, path: Path, what: str, share: float | None = None) -> None:
        if what == "looking at it":
            self.ears.answer()


def test_filed_in_order_whatever_is_heard_first_and_never_too_many_ahead(root: Path, tmp_path: Path) -> None:
    told = Waiting()

    def ears(speech: Any) -> Backwards:
        told.ears = Backwards(speech)
        return told.ears

    files = recordings(tmp_path, 20)
    assert take(root, files, told, transcriber=Canned({}, "Capped the hot."), ears=ears) == []
    assert told.lines == [f"{file.name} filed" for file in files]
    assert told.ears.most == ahead.DEPTH + 1  # those taken up, and the one whose turn it is
    with search.opened(root) as db:
        assert [row["id"] for row in db.execute("SELECT id FROM memos ORDER BY row")] == [file.stem for file in files]
    assert verify.check(root, JOB, deep=True, young=0) == []


class Ear(Canned):
    """Does `then` with the number of each recording it hears."""

    def __init__(self, then: Callable[[int], object], at_once: int = 2) -> None:
        super().__init__({}, "In the scullery. Capped the hot.")
        self.then, self.at_once = then, at_once
        self.numbers = iter(range(100))

    def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
        self.then(next(self.numbers))
        return super().transcribe(path, progress, kept)


def test_two_are_heard_at_once_and_others_while_one_is_filed(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    both, third = threading.Barrier(2), threading.Event()

    def then(n: int) -> None:
        if n < 2:
            both.wait(LONG)
        third.set() if n == 2 else None

    file_memos = filing.file_memos

    def slowly(*args: Any, **kwargs: Any) -> list[str]:
        assert third.wait(LONG), "nothing is heard while one is filed"
        return file_memos(*args, **kwargs)

    monkeypatch.setattr(filing, "file_memos", slowly)
    told = Told()
    assert take(root, recordings(tmp_path, 4), told, transcriber=Ear(then)) == []
    assert told.lines == [f"m{n:02}.wav filed" for n in range(4)]


def test_one_that_fails_is_told_in_its_turn_and_stops_no_other(root: Path, tmp_path: Path) -> None:
    files = recordings(tmp_path, 5)
    files.insert(2, tmp_path / "none.wav")
    files.insert(4, tmp_path / "empty.wav")
    files[4].write_bytes(b"")

    def then(n: int) -> None:
        if n in (1, 3):
            raise SpeechError("deaf", todo="shout") if n == 1 else MemoryError

    told = Told()
    with pytest.raises(MemoryError):  # no error of ours: a bug, or a machine in need; what came before it is filed
        take(root, files, told, transcriber=Ear(then, at_once=1))
    assert [line.split(";")[0] for line in told.lines] == [
        "m00.wav filed",
        "m01.wav failed: deaf",
        f"none.wav failed: {files[2]}: there is no such file any more",
        "m02.wav filed",
        f"empty.wav failed: {files[4]}: the file is empty",
    ]
    told = Told()
    assert len(take(root, files, told, transcriber=Ear(lambda _: None))) == 2
    assert sum(line.endswith("filed") for line in told.lines) == 5


def test_the_same_bytes_are_heard_once_and_fail_under_each_name(root: Path, tmp_path: Path) -> None:
    first = a_wav(tmp_path / "a.wav", 0.1)
    again = tmp_path / "b.wav"
    again.write_bytes(first.read_bytes())
    heard: list[int] = []

    def deaf(n: int) -> None:
        raise SpeechError("deaf", todo="shout")

    wrong = take(root, [first, again], Told(), transcriber=Ear(deaf))
    assert len({id(w) for w in wrong}) == 2
    assert take(root, [first, again], Told(), transcriber=Ear(heard.append)) == []
    assert heard == [0]


def test_a_take_that_is_stopped_stops_the_ears_and_keeps_what_was_heard(root: Path, tmp_path: Path) -> None:
    class Interrupts(Told):
        def filed(self, path: Path, outcome: Any) -> None:
            raise KeyboardInterrupt

    ended: list[type[BaseException]] = []
    begun = threading.Event()

    class Endless(Ear):
        def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
            assert progress
            assert kept
            if next(self.numbers) == 0:
                begun.wait(LONG)
                return Canned.transcribe(self, path, progress, kept)
            begun.set()
            try:
                while True:
                    progress(1, 2)
                    kept.put(0, "[]")
            except BaseException as wrong:
                ended.append(type(wrong))
                raise

    with pytest.raises(KeyboardInterrupt):
        take(root, recordings(tmp_path, 9), Interrupts(), transcriber=Endless(lambda _: None))
    assert set(ended) == {Stopped}
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("hearing")]
    told = Told()
    heard: list[int] = []
    assert take(root, recordings(tmp_path, 9), told, transcriber=Ear(heard.append)) == []
    assert len(heard) == 8  # all but the first


def test_errands_are_done_by_the_owner_and_their_answers_come_back() -> None:
    errands, owner, got = Errands(), threading.get_ident(), []

    def other() -> None:
        got.append(errands.ask(threading.get_ident))
        with pytest.raises(ZeroDivisionError):
            errands.ask(lambda: 1 / 0)
        errands.tell(lambda: got.append(threading.get_ident()))

    thread = threading.Thread(target=other)
    thread.start()
    errands.serve(lambda: len(got) == 2)
    thread.join()
    assert got == [owner, owner]
    errands.tell(lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):  # nobody else would see it
        errands.serve(lambda: False)
    errands.close()
    with pytest.raises(Stopped):
        errands.tell(int)


def test_threads_hear_no_more_after_the_end(tmp_path: Path) -> None:
    gate = threading.Event()
    ears = Threads(Ear(lambda _: gate.wait(LONG), at_once=1))
    wanted = Wanted("k", a_wav(tmp_path / "a.wav"), 0.1, lambda *_: None, ahead.Asking(None, Errands()))  # type: ignore[arg-type]
    first, second = ears.hear(wanted), ears.hear(wanted)
    gate.set()
    ears.close()
    assert first.done()
    assert second.done() or second.cancelled()


def test_of_those_that_wait_the_longest_is_heard_first(tmp_path: Path) -> None:
    gate, begun = threading.Event(), threading.Event()
    heard: list[str] = []

    class One(Canned):
        at_once = 1

        def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
            heard.append(path.stem)
            begun.set()
            gate.wait(LONG)
            return super().transcribe(path, progress, kept)

    ears = Threads(One({}))

    def wanted(name: str, seconds: float) -> Wanted:
        kept = ahead.Asking(None, Errands())  # type: ignore[arg-type]
        return Wanted(name, tmp_path / name, seconds, lambda *_: None, kept)

    answers = [ears.hear(wanted("first", 1.0))]
    assert begun.wait(LONG)
    answers += [ears.hear(wanted(name, seconds)) for name, seconds in (("b", 20), ("c", 90), ("d", 20), ("e", 40))]
    gate.set()
    for answer in answers:
        answer.result(LONG)
    ears.close()
    assert heard == ["first", "c", "e", "b", "d"]


def test_a_short_recording_does_not_wait_for_whoever_files(tmp_path: Path) -> None:
    class Nobody:
        def get(self, n: int) -> str | None:
            raise AssertionError("asked for a slice of a recording that has one only")

        put = get  # type: ignore[assignment]

    heard, seconds = hearing.in_slices(a_wav(tmp_path / "a.wav", 0.1), lambda _sound, _progress: [], Nobody())  # type: ignore[arg-type]
    assert heard == [] and seconds == pytest.approx(0.1, abs=0.01)
