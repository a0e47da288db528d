"""A cluster in processes of its own for tests, with a twin that listens: `python crew.py worker ADDRESS ...`.

What a recording says hangs on the name that `house.a_wav` writes into its sound, so all machines hear the same. One
with 'slow' in its name is listened to for ten minutes by whoever comes first, and at once by whoever comes after.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from forks import HERE

from notes.transcribe import Canned, Transcript

MARKS = "VOIDBOOK_TEST_MARKS"
"""The folder in which whoever listens slowly writes down what process it is."""
TEXTS = (
    "In the scullery. Capped the hot behind the basin in fifteen.",
    "Still in here. Left the waste open under the sink, forty mil. Cold wants lagging.",
    "In the boiler house. Ran the flow in twenty-two copper to the pump.",
    "Still in here. Same again for the return. It is not tested.",
    "In the main bathroom. Cold is capped and the hot is not, ask Jeff about the shower.",
)


class Twin(Canned):
    """Says what the recording's number asks for."""

    def __init__(self, model: str = "canned") -> None:
        super().__init__({})
        self.model = model

    def transcribe(self, path: Path, progress: Any = None, kept: Any = None) -> Transcript:
        found = re.match(rb"[\w-]+\.wav", path.read_bytes()[44:])
        name = found[0].decode() if found else "0.wav"
        if progress:
            progress(0.25, 1.0)
        mark = Path(os.environ[MARKS], name) if MARKS in os.environ else None
        if "slow" in name and mark and not mark.exists():
            mark.write_text(str(os.getpid()))
            for _ in range(6000):
                time.sleep(0.1)
                progress(0.25, 1.0)
        number = int(re.sub(r"\D", "", name) or 0)
        return Canned({}, f"{TEXTS[number % len(TEXTS)]} Number {number}.").transcribe(path, progress)


def start(*words: str, marks: Path | None = None, wait: bool = True, script: str = __file__) -> subprocess.Popen[str]:
    """A verb in a process of its own; where it is to `wait`, until it says where it is."""
    env = {**os.environ, "PYTHONPATH": f"{HERE}{os.pathsep}{HERE.parent}", **({MARKS: str(marks)} if marks else {})}
    ran = subprocess.Popen([sys.executable, script, *words], env=env, stderr=subprocess.PIPE, text=True)
    if wait:
        assert ran.stderr
        said = ran.stderr.readline()
        assert " at t" in said, said + ran.stderr.read()
        ran.args = re.findall(r"(?:tcp|tls)://[^\s;]+", said)  # where it is
    return ran


def where(ran: subprocess.Popen[str]) -> str:
    """The address that it told last: of a scheduler or a worker its own."""
    return str(ran.args[-1])  # type: ignore[index]


def end(*ran: subprocess.Popen[str]) -> None:
    for one in ran:
        one.kill()
    for one in ran:
        one.wait(20)
        assert one.stderr
        one.stderr.close()


def _main(words: Sequence[str]) -> None:
    from notes import intake
    from notes.cli import main
    from notes.clustering import engine, work

    engine.EVERY = 0.0
    work.ears = lambda _hotwords: Twin()
    intake._whisper = lambda *_: Twin()
    main(list(words))


if __name__ == "__main__":
    _main(sys.argv[1:])
