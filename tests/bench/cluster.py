"""What a cluster of this machine's processes hears, and what filing costs the owner. Run by hand:

    uv run python tests/bench/cluster.py [--real] [MEMOS]

By itself the workers wait instead of listening, `WAIT` seconds a memo, so that neither the cores nor who else uses them
matter: it shows whether the engine and the owner keep all of them at it. With --real they are what a person starts, and
listen to the samples; then 4 workers on 2 cores are no faster than 2.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from crew import end, start, where
from house import Quiet, a_wav

from notes import book, cluster, intake, job
from notes.clustering.address import settled
from notes.transcribe import Canned, Transcript

WAIT = 2.0
ROOT = Path(__file__).parents[2]
FARM = job.from_json(ROOT / "sample_media" / "job.json")
WORKERS = (1, 2, 4)


class Waiting(Canned):
    """Says the labelled memos of the farmhouse, one after the other, each after a while."""

    def __init__(self) -> None:
        super().__init__({})
        rows = (ROOT / "tests" / "gold" / "dev" / "farmhouse" / "memos.jsonl").read_text(encoding="utf-8").splitlines()
        self._said = [json.loads(row)["text"] for row in rows]

    def transcribe(self, path: Path, progress: Any = None, kept: Any = None) -> Transcript:
        time.sleep(float(os.environ.get("WAIT", "0")))
        number = int(path.read_bytes()[44:].split(b".wav")[0].split(b"-")[1])
        return Canned({}, self._said[number % len(self._said)]).transcribe(path, progress)


def main(real: bool, memos: int) -> None:
    os.environ["REAL"] = "1" if real else ""
    first = 0.0
    for many in WORKERS:
        with tempfile.TemporaryDirectory() as work:
            inbox = _samples(Path(work) / "inbox") if real else _waves(Path(work) / "inbox", memos)
            took, spent, filed = _with(many, Path(work) / "job", inbox, None if real else Waiting())
        first = first or took
        rate, owner = filed / took, 1000 * spent / filed
        told = f"{filed} memos in {took:.1f} s, {rate:.2f} a second, {first / took:.2f} times one"
        print(f"{many} workers: {told}; owner {owner:.1f} ms CPU a memo", flush=True)
    if not real:
        for count in (memos, 10 * memos):
            with tempfile.TemporaryDirectory() as work:
                spent = _alone(Path(work) / "job", _waves(Path(work) / "inbox", count))
                print(f"alone, without listening: {count} memos, owner {1000 * spent / count:.1f} ms CPU a memo")


def _samples(inbox: Path) -> Path:
    inbox.mkdir()
    for file in sorted((ROOT / "sample_media").glob("m*.*"), key=lambda file: file.stat().st_size)[:4]:
        shutil.copy(file, inbox)
    return inbox


def _waves(inbox: Path, memos: int) -> Path:
    for n in range(memos):
        a_wav(inbox / f"20260302-{n:06}.wav", 1.0)
    return inbox


def _with(many: int, root: Path, inbox: Path, speech: Waiting | None) -> tuple[float, float, int]:
    """Seconds, seconds of the owner's CPU, memos filed."""
    scheduler = start("cluster", "tcp://127.0.0.1:0", script=__file__)
    workers = [start("worker", where(scheduler), script=__file__, wait=False) for _ in range(many)]
    try:
        for one in workers:
            assert one.stderr
            assert "working for" in one.stderr.readline()
        job.create(root, FARM)
        with book.opened(root) as db, cluster.met(settled(where(scheduler)), FARM) as met:
            began, cpu = time.monotonic(), time.process_time()
            wrong = intake.take(db, root, FARM, [inbox], Quiet(), transcriber=speech, ears=met.ears, reader=met.read)
            assert wrong == [], wrong
            filed = db.execute("SELECT count(*) FROM memos").fetchone()[0]
            return time.monotonic() - began, time.process_time() - cpu, filed
    finally:
        end(*workers, scheduler)


def _alone(root: Path, inbox: Path) -> float:
    """Seconds of CPU of reading and filing in this process."""
    job.create(root, FARM)
    with book.opened(root) as db:
        cpu = time.process_time()
        assert intake.take(db, root, FARM, [inbox], Quiet(), transcriber=Waiting()) == []
        return time.process_time() - cpu


def _serve(words: list[str]) -> None:
    from notes.cli import main as verbs
    from notes.clustering import work

    if not os.environ["REAL"]:
        os.environ["WAIT"] = str(WAIT)
        work.ears = lambda _hotwords: Waiting()
    verbs(words)


if __name__ == "__main__":
    if sys.argv[1:2] in (["cluster"], ["worker"]):
        _serve(sys.argv[1:])
    else:
        main("--real" in sys.argv, int(next((word for word in sys.argv[1:] if word.isdigit()), "40")))
