"""Commands in processes that a test may kill, without loading spaCy anew for each: forked from one that has all loaded.

The server reads one JSON object a line: what to run, where, with which environment, and after how many seconds to
kill it. It answers with the exit status.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
SAID = "In the scullery. Capped the hot."


class Forks:
    """The test's side."""

    def __init__(self) -> None:
        here = f"{HERE}{os.pathsep}{HERE.parent}"
        quiet = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONWARNINGS": "ignore", "PYTHONPATH": here}
        self._server = subprocess.Popen(
            [sys.executable, __file__], cwd=HERE.parent, text=True, env=os.environ | quiet,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )  # fmt: skip

    def start(self, folder: Path, what: str, *args: object, kill_at: str = "", kill_after: float | None = None) -> None:
        """Run what DOING names, in `folder`."""
        asked = {
            "cwd": str(folder), "what": what, "args": [str(a) for a in args], "kill_at": kill_at,
            "kill_after": kill_after,
        }  # fmt: skip
        assert self._server.stdin
        self._server.stdin.write(json.dumps(asked) + "\n")
        self._server.stdin.flush()

    def end(self) -> int:
        """The exit code of what was started; minus the signal where it was killed."""
        assert self._server.stdout
        answer = self._server.stdout.readline()
        assert answer, "the server has died"
        return int(json.loads(answer))

    def run(self, folder: Path, what: str, *args: object, kill_at: str = "", kill_after: float | None = None) -> int:
        self.start(folder, what, *args, kill_at=kill_at, kill_after=kill_after)
        return self.end()

    def __enter__(self) -> Forks:
        return self

    def __exit__(self, *_: object) -> None:
        assert self._server.stdin and self._server.stdout
        self._server.stdin.close()
        self._server.wait(20)
        self._server.stdout.close()


# --- what can be run


def _command(args: Sequence[str]) -> None:
    from notes.cli import main

    main(list(args))


DECISIONS = 8
"""How many `decide` makes on a fresh job."""


def _decide(_args: Sequence[str]) -> None:
    """Decisions of every kind, going on where a killed run has stopped."""
    from notes import job as jobs
    from notes import ruling, search
    from notes.book import opened

    root = Path.cwd()
    job = jobs.load(root)
    with opened(root) as db:
        first, second = (row["id"] for row in db.execute("SELECT id FROM facts ORDER BY memo, n LIMIT 2"))
        item = search.followups(db)[0].id or 0
        steps: list[Callable[[], object]] = [
            lambda: ruling.correct(db, job, first, "A", "size_mm", 15.0),
            lambda: ruling.accept(db, job, second, "A"),
            lambda: ruling.close(db, job, item, "A", "looked at"),
            lambda: ruling.put_word_right(db, job, "m1", "A", 20, "waste", "soil"),
            lambda: ruling.undo(db, job, "A"),
            lambda: ruling.put_word_right(db, job, "m1", "A", 20, "waste", "soil"),
            lambda: ruling.reject(db, job, second, "A"),
            lambda: ruling.undo(db, job, "A"),
        ]
        assert len(steps) == DECISIONS
        made = db.execute("SELECT count(*) FROM decisions").fetchone()[0]
        for step in steps[made:]:
            step()


def _migrate(_args: Sequence[str]) -> None:
    """Open the book with a program that has one more step."""
    from notes import book, schema

    newer(schema)
    book.connect(Path.cwd()).close()


def newer(schema: Any) -> None:
    """Give the schema a step that adds a column and fills it."""
    sql = "ALTER TABLE memos ADD COLUMN letters INTEGER;\nUPDATE memos SET letters = length(raw);"
    schema.STEPS = (*schema.STEPS, schema.Step("letters", sql))
    schema.VERSION = len(schema.STEPS)


DOING: dict[str, Callable[[Sequence[str]], None]] = {"command": _command, "decide": _decide, "migrate": _migrate}


# --- the server's side


def _ear() -> Any:
    """Hears the same in every slice."""
    from notes.hearing import in_slices
    from notes.spoken import Said, Token, join
    from notes.transcribe import Canned, Transcript

    class Ear(Canned):
        def transcribe(self, path: Path, progress: Any = None, kept: Any = None) -> Transcript:
            tokens = tuple(Token(f" {word}", n / 2, n / 2 + 0.4, 1.0) for n, word in enumerate(SAID.split()))
            heard, seconds = in_slices(path, lambda *_: [Said(tokens, 0.0, 0.0, 1.0)], kept, progress)
            words, text = join(heard)
            return Transcript(words, text, seconds, self.model, self.settings)

    return Ear({})


def _warm() -> None:
    """Do once all that will be done, so that whatever loads late is loaded in every fork."""
    import contextlib
    import io

    import house

    from notes import hearing, intake

    hearing.SLICE = 31
    intake._whisper = lambda _job, _several: _ear()
    with house.quick_folder() as folder, contextlib.redirect_stderr(io.StringIO()):
        root, inbox = house.a_job(folder / "job"), house.an_inbox(folder / "inbox")
        for words in (["take", str(inbox)], ["record", "--whole", "--out", str(folder / "a.md")]):
            with contextlib.suppress(SystemExit):
                _command([*words, "--job", str(root)])


def _child(asked: dict[str, Any]) -> None:
    os.chdir(asked["cwd"])
    if asked["kill_at"]:
        os.environ["VOIDBOOK_KILL_AT"] = asked["kill_at"]
    log = os.open(Path(asked["cwd"]).parent / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    for stream in (0, 1, 2):
        os.dup2(log if stream else os.open(os.devnull, os.O_RDONLY), stream)
    code = 0
    try:
        DOING[asked["what"]](asked["args"])
    except SystemExit as end:
        code = int(end.code or 0)
    except BaseException:
        import traceback

        traceback.print_exc()
        code = 70
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


def _serve() -> None:
    _warm()
    for line in sys.stdin:
        asked = json.loads(line)
        pid = os.fork()
        if pid == 0:
            _child(asked)
        if asked["kill_after"] is not None:
            time.sleep(asked["kill_after"])
            os.kill(pid, signal.SIGKILL)  # not waited for yet, so the number is still its own
        _, status = os.waitpid(pid, 0)
        print(json.dumps(os.waitstatus_to_exitcode(status)), flush=True)


if __name__ == "__main__":
    _serve()
