"""Nothing goes over a network but the fetching of a model; what a job holds is for its owner; logs tell no words."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from house import JOB, a_photo, quick_folder

from notes import job as jobs

_GUARD = """
import sys
tried = []
def guard(event, args):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto", "socket.sendmsg"):
        tried.append(event)
        raise OSError(101, "Network is unreachable")
sys.addaudithook(guard)
import logging
logging.basicConfig(level=logging.DEBUG, stream=sys.stderr, format="LOG %(name)s %(message)s")
from notes.cli import main
code = 0
for words in __import__("json").loads(sys.argv[1]):
    try:
        main(words)
    except SystemExit as end:
        print("CODE", words[0], end.code or 0, file=sys.stderr)
print("TRIED", tried, file=sys.stderr)
"""
SAID = "In the scullery. Capped the hot behind the zebrano."
SAMPLE = Path(__file__).parent.parent / "sample_media" / "m04.ogg"


@pytest.fixture
def place() -> Iterator[Path]:
    with quick_folder() as folder:
        jobs.create(folder / "job", JOB)
        (folder / "inbox").mkdir()
        (folder / "inbox" / "note.txt").write_text(SAID)
        a_photo(folder / "inbox" / "p.png")
        (folder / "inbox" / "m04.ogg").write_bytes(SAMPLE.read_bytes())
        yield folder


def run(place: Path, *commands: list[str]) -> subprocess.CompletedProcess[str]:
    """The commands, one after the other in one process where every socket fails."""
    import json

    clean = {name: value for name, value in os.environ.items() if not name.startswith("HF_")}
    old = os.umask(0o022)
    try:
        return subprocess.run(
            [sys.executable, "-c", _GUARD, json.dumps(commands)], cwd=place / "job", env=clean, capture_output=True,
            text=True, check=True,
        )  # fmt: skip
    finally:
        os.umask(old)


EVERYTHING: tuple[list[str], ...] = (
    ["take", "../inbox"], ["log"], ["find", "hot"], ["trace", "hot", "scullery"], ["followups"], ["runs"], ["facts"],
    ["rooms"], ["memo", "note"], ["problems"], ["recheck"], ["record", "--whole", "--out", "../a.html"],
    ["record", "--whole", "--out", "../a.pdf"], ["sketch", "--out", "../a.svg"], ["model", "list"],
    ["backup", "../backup"], ["restore", "../backup", "../again"], ["verify", "--deep"], ["forget", "note", "--yes"],
)  # fmt: skip


def test_no_command_tries_the_network(place: Path) -> None:
    ran = run(place, *EVERYTHING)
    codes = [line.split()[1:] for line in ran.stderr.splitlines() if line.startswith("CODE")]
    assert codes == [[words[0], "0"] for words in EVERYTHING], ran.stderr
    assert "TRIED []" in ran.stderr
    assert "filed as m04" in ran.stderr  # the real model did listen


def test_the_guard_sees_the_one_command_that_goes_online(place: Path) -> None:
    ran = run(place, ["model", "get", "tiny.en"])
    assert "CODE model 6" in ran.stderr
    assert "TRIED []" not in ran.stderr
    assert "TRIED ['socket." in ran.stderr


def test_what_a_job_holds_is_for_its_owner_alone(place: Path) -> None:
    run(place, ["take", "../inbox"], ["record", "--whole", "--out", "../a.html"], ["backup", "../backup"])
    run(place, ["restore", "../backup", "../again"])
    for root in (place / "job", place / "backup", place / "again"):
        paths = [root, *root.rglob("*")]
        assert len(paths) > 10
        assert [str(p) for p in paths if stat.S_IMODE(p.stat().st_mode) & 0o077] == []


def test_logs_tell_no_words_of_memos(place: Path) -> None:
    ran = run(place, ["take", "../inbox"], ["recheck"], ["verify", "--deep"], ["backup", "../backup"])
    assert "filed as note" in ran.stderr
    assert "zebrano" not in ran.stderr
    assert "zebrano" not in ran.stdout
