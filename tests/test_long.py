"""A recording of ten hours: memory bounded, progress told, and a stop costs one slice, not the day."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from forks import HERE
from house import JOB, a_job, a_wav, quick_folder

from notes import hearing, probe, search, verify
from notes.hearing import Progress
from notes.spoken import Said, Token

HOURS = 10

_TAKE = """
import json, os, sys
from pathlib import Path
from house import JOB, Quiet
from notes import intake
from notes.book import opened
from notes.hearing import in_slices
from notes.spoken import Said, Token, join
from notes.transcribe import Canned, Transcript
from peak import megabytes

root, file, most = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
heard = []

class Ear(Canned):
    def transcribe(self, path, progress=None, kept=None):
        said, seconds = in_slices(path, self.hear, kept, progress)
        words, text = join(said)
        return Transcript(words, text, seconds, self.model, self.settings)

    def hear(self, sound, progress):
        if len(heard) == most:
            os._exit(3)
        heard.append(len(sound))
        progress(len(sound) / 32000, 0)
        return [Said((Token(f" slice{len(heard)}.", 1.0, 1.5, 1.0),), 0.0, 0.0, 1.0)]

class Talk(Quiet):
    shares = []
    def doing(self, path, what, share=None):
        if share is not None:
            self.shares.append(share)

with opened(root) as db:
    wrong = intake.take(db, root, JOB, [file], Talk(), transcriber=Ear({}))
assert wrong == [], wrong
print(json.dumps({"heard": len(heard), "megabytes": megabytes(), "shares": Talk.shares}))
"""


@pytest.fixture
def place() -> Iterator[Path]:
    with quick_folder() as folder:
        a_job(folder / "job")
        yield folder


def ten_hours(path: Path) -> Path:
    """Silence of eight bits at 1 kHz, which is heard at 16 kHz as any other: 2.3 GB of samples in one piece."""
    a_wav(path, 0, rate=1000)
    size = HOURS * 3600 * 1000
    head = bytearray(path.read_bytes()[:44])
    head[4:8] = (36 + size).to_bytes(4, "little")
    head[40:44] = size.to_bytes(4, "little")
    with path.open("wb") as out:
        out.write(head)
        out.truncate(44 + size)
    return path


def take(place: Path, file: Path, most: int) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": f"{HERE}{os.pathsep}{HERE.parent}"}
    command = [sys.executable, "-c", _TAKE, str(place / "job"), str(file), str(most)]
    return subprocess.run(command, env=env, capture_output=True, text=True, check=False)


def test_ten_hours_are_heard_in_slices_and_go_on_after_a_stop(place: Path) -> None:
    file = ten_hours(place / "20260302-060000.wav")
    stopped = take(place, file, most=20)
    assert stopped.returncode == 3, stopped.stderr
    with search.opened(place / "job") as db:
        assert db.execute("SELECT count(*) FROM transcripts").fetchone()[0] == 20
        assert db.execute("SELECT count(*) FROM memos").fetchone()[0] == 0
    assert verify.check(place / "job", JOB, young=0) == []
    ended = take(place, file, most=1000)
    assert ended.returncode == 0, ended.stderr
    told = json.loads(ended.stdout)
    slices = told["heard"] + 20
    assert HOURS * 12 <= slices <= HOURS * 12 + 8  # of five minutes each, less what is cut back to a quiet place
    assert told["megabytes"] < 1000
    assert all(a <= b for a, b in pairwise(told["shares"]))
    assert told["shares"][-1] == 1.0
    assert len(told["shares"]) >= slices
    with search.opened(place / "job") as db:
        memo = search.memo(db, "20260302-060000")
        assert db.execute("SELECT count(*) FROM transcripts").fetchone()[0] == 1
    assert memo.seconds == HOURS * 3600
    assert len(memo.words) == slices
    print(f"\n{HOURS} hours: {slices} slices, at most {told['megabytes']} MB")


def spoken_and_quiet(path: Path) -> Path:
    """Noise of 40 seconds with a pause at 25, in slices of 31 seconds."""
    import wave

    noise = np.random.default_rng(1).integers(-9000, 9000, 40 * 8000, dtype=np.int16)
    noise[25 * 8000 : 26 * 8000] = 0
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(noise.tobytes())
    return path


def test_slices_are_cut_in_the_pause_and_words_keep_their_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hearing, "SLICE", 31)
    path = spoken_and_quiet(tmp_path / "a.wav")
    sounds = [piece.sound for piece in hearing.slices(path)]
    assert len(sounds) == 2
    cut = len(sounds[0]) / probe.RATE
    assert 25 < cut < 26
    assert np.array_equal(np.concatenate(sounds), probe.samples(path))

    def hear(sound: np.ndarray, progress: Progress) -> list[Said]:
        return [Said((Token(" hot", 2.0, 2.5, 1.0),), 0.0, 0.0, 1.0)]

    heard, seconds = hearing.in_slices(path, hear)
    assert [said.tokens[0].at for said in heard] == [2.0, pytest.approx(cut + 2.0)]
    assert seconds == pytest.approx(40.0)


def test_a_short_recording_is_heard_in_one_piece(tmp_path: Path) -> None:
    (only,) = hearing.slices(a_wav(tmp_path / "a.wav", 290))
    assert only.last
    assert len(only.sound) == pytest.approx(290 * probe.RATE, abs=20)
