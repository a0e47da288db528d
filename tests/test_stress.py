"""Two takes, a watch, two people who decide, and readers, all at once: nothing is lost, nobody is locked out."""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest
from conftest import jsonl, said
from forks import HERE
from house import JOB, a_job, quick_folder
from opening import opens

from notes import search, verify

FILES = int(os.environ.get("VOIDBOOK_STRESS", "12"))
"""Files for each of the three that file; as many decisions for each of the two that decide."""

_FILER = """
import sys
from pathlib import Path
from house import Quiet, HEARD, JOB
from notes import intake
from notes.book import opened
root, wrong = Path(sys.argv[1]), []
for file in sorted(Path(sys.argv[2]).iterdir()):
    with opened(root) as db:
        wrong += intake.take(db, root, JOB, [file], Quiet(), transcriber=HEARD)
assert wrong == [], wrong
"""
_WATCHER = """
import sys, time
from pathlib import Path
from house import Quiet, HEARD
from notes import search, watch
root, inbox, many = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
end = time.monotonic() + 100
def going_on():
    with search.opened(root) as db:
        done = db.execute("SELECT count(*) FROM memos WHERE id LIKE 'w%'").fetchone()[0]
    return done < many and time.monotonic() < end
def told(line):
    raise SystemExit(line)
watch.watch(root, inbox, Quiet(), transcriber=HEARD, quiet=0.05, every=0.02, going_on=going_on, told=told)
"""
_DECIDER = """
import sys
from pathlib import Path
from house import JOB
from notes import ruling, search
from notes.book import opened
root, who, many = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
with opened(root) as db:
    facts = [f.id for f in search.of_memo(db, "first")]
    for n in range(many):
        ruling.correct(db, JOB, facts[n % len(facts)], who, "count", n + 1)
        ruling.undo(db, JOB, who) if n % 4 == 3 else None
"""
_READER = """
import sys, time
from pathlib import Path
from house import JOB
from notes import answering, search
from notes.lexicon import load
root, end, looks = Path(sys.argv[1]), time.monotonic() + float(sys.argv[2]), 0
while time.monotonic() < end:
    with search.opened(root) as db:
        facts = [s.fact for s in search.said(db)]
        assert {f.memo for f in facts} <= {r["id"] for r in db.execute("SELECT id FROM memos")}
        search.followups(db), search.find(db, "hot", load(JOB)), answering.runs(db, JOB)
        looks += 1
assert looks > 3, looks
"""


@pytest.fixture
def place() -> Iterator[Path]:
    with quick_folder() as folder:
        a_job(folder / "job")
        yield folder


def inbox(folder: Path, letter: str) -> Path:
    folder.mkdir()
    for n in range(FILES):
        memo = said(f"{letter}{n}", f"In the scullery. Capped the hot, job {letter} {n}.", hours=n / 7)
        jsonl(folder / f"{letter}{n:03}.jsonl", memo)
    return folder


def start(code: str, *args: object) -> subprocess.Popen[str]:
    path = f"{HERE}{os.pathsep}{HERE.parent}"
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, args)], env={**os.environ, "PYTHONPATH": path}, stderr=subprocess.PIPE,
        text=True,
    )  # fmt: skip


def test_many_at_once_lose_nothing(place: Path) -> None:
    root = place / "job"
    first = jsonl(place / "first.jsonl", said("first", "In the boiler house. Capped the hot. Left the waste open."))
    with start(_FILER, root, first.parent / "none") as none:
        none.communicate()  # an inbox that is not there fails: the harness does see failures
    assert none.returncode != 0
    (place / "one").mkdir()
    first.rename(place / "one" / "first.jsonl")
    with start(_FILER, root, place / "one") as filer:
        assert filer.communicate()[1] == ""
    boxes = {letter: inbox(place / letter, letter) for letter in "abw"}
    began = time.monotonic()
    at_once = [
        start(_FILER, root, boxes["a"]), start(_FILER, root, boxes["b"]), start(_WATCHER, root, boxes["w"], FILES),
        start(_DECIDER, root, "A", FILES), start(_DECIDER, root, "B", FILES), start(_READER, root, 8),
    ]  # fmt: skip
    said_ = [one.communicate()[1] for one in at_once]
    assert [one.returncode for one in at_once] == [0] * len(at_once), said_
    assert said_ == [""] * len(at_once)
    with search.opened(root) as db:
        memos = Counter(row["id"][0] for row in db.execute("SELECT id FROM memos"))
        made = Counter(tuple(row) for row in db.execute("SELECT who, kind FROM decisions"))
        assert search.problems(db) == []
    assert memos == {"f": 1, "a": FILES, "b": FILES, "w": FILES}
    assert made == {(who, k): n for who in "AB" for k, n in (("correct", FILES), ("undo", FILES // 4))}
    assert verify.check(root, JOB, deep=True, young=0) == []
    print(f"{3 * FILES} files and {2 * FILES} decisions in {time.monotonic() - began:.1f} s")


def test_a_book_that_many_open_first_is_made_once(tmp_path: Path) -> None:
    with ProcessPoolExecutor(4, multiprocessing.get_context("spawn")) as pool:
        for n in range(6):
            folder = tmp_path / str(n)
            folder.mkdir()
            assert list(pool.map(opens, [str(folder)] * 4, timeout=60)) == [""] * 4
