"""What starting a command costs, to what it costs to start Python with what every command needs."""

from __future__ import annotations

import resource
import subprocess
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

_COMMAND = "import sys; from notes.cli import main; main(sys.argv[1:])"
_BARE = "import click, sqlite3"


def ratios(job: Path, commands: Iterable[Sequence[str]], times: int) -> dict[str, float]:
    """By the first word of each command, its CPU time in the folder `job` to that of the bare start."""
    bare = _cpu(job, times, _BARE)
    return {words[0]: _cpu(job, times, _COMMAND, *words) / bare for words in commands}


def _cpu(folder: Path, times: int, *code: str) -> float:
    """Seconds of CPU of the fastest of a few runs: the others waited for something else."""
    spent = []
    for _ in range(times):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", *code], cwd=folder, stdout=subprocess.DEVNULL, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(spent)
