"""Commands that read start fast: they load none of the heavy libraries. Measured in processes of their own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import starting

HEAVY = ("spacy", "faster_whisper", "sqlite_utils", "av", "PIL", "textual", "numpy", "hypothesis", "distributed")
READERS = (
    ["--help"],
    ["log"],
    ["find", "hot", "return"],
    ["trace", "where", "does", "the", "hot", "finish"],
    ["followups"],
    ["facts", "--json"],
    ["rooms"],
    ["runs"],
    ["memo", "m01"],
)
_SPY = """
import sys
from notes.cli import main
try:
    main(sys.argv[1:])
except SystemExit as end:
    print(*sorted(name for name in sys.modules if "." not in name), file=sys.stderr)
    raise
"""
MOST = 3.5
"""Times the bare start. Measured 1.2 to 2.0 on a quiet machine; the bound leaves room for a noisy one."""


@pytest.mark.parametrize("words", READERS, ids=" ".join)
def test_readers_load_nothing_heavy(root: Path, filled: Any, words: list[str]) -> None:
    ran = subprocess.run([sys.executable, "-c", _SPY, *words], cwd=root, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    loaded = set(ran.stderr.splitlines()[-1].split())
    assert loaded.isdisjoint(HEAVY)
    assert "sqlite3" in loaded or words == ["--help"]  # the spy does see what is loaded


@pytest.mark.parametrize("words", [["take", "note.txt"], ["worker", "--help"], ["cluster", "yard:1"]], ids=" ".join)
def test_nothing_loads_the_engine_of_a_cluster_but_a_cluster(root: Path, words: list[str]) -> None:
    (root / "note.txt").write_text("In the scullery. Capped the hot.")
    ran = subprocess.run([sys.executable, "-c", _SPY, *words], cwd=root, capture_output=True, text=True, check=False)
    loaded = set(ran.stderr.splitlines()[-1].split())
    assert loaded.isdisjoint(("distributed", "dask"))
    assert "click" in loaded


def test_readers_start_nearly_as_fast_as_python_can(
    root: Path, filled: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    found = starting.ratios(root, READERS[:5], times=4)
    with capsys.disabled():
        told = ", ".join(f"{verb} {ratio:.2f}" for verb, ratio in found.items())
        print(f"\nstart-up as a ratio to bare click and sqlite3: {told}")
    assert max(found.values()) < MOST
