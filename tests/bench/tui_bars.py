"""The bars of the terminal app, measured in a real terminal (a pty): python tests/bench/tui_bars.py

First paint in CPU seconds, until the rooms and the marked one are on the screen; a key in milliseconds, until the first
byte of what it changes; a letter typed into the search, until the last byte of what it changes. Linux only.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parent)]
START = "from notes.cli import main; main(['review', '--job', {job!r}])"
QUIET = 0.25


class Terminal:
    """`voidbook review` on a job, in a terminal of its own."""

    def __init__(self, job: Path, home: Path, size: tuple[int, int] = (40, 120)) -> None:
        self.end, end = pty.openpty()
        fcntl.ioctl(end, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
        names = {"XDG_CONFIG_HOME": home, "XDG_STATE_HOME": home, "PYTHONPYCACHEPREFIX": home / "pyc"}
        env = {
            **os.environ,
            **{k: str(v) for k, v in names.items()},
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
        }
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        run = [sys.executable, "-c", START.format(job=str(job))]
        self.child = subprocess.Popen(run, stdin=end, stdout=end, stderr=end, env=env, start_new_session=True)
        os.close(end)

    def read(self, wait: float) -> bytes:
        """What comes within `wait` seconds."""
        ready, _, _ = select.select([self.end], [], [], wait)
        return os.read(self.end, 1 << 16) if ready else b""

    def until(self, words: bytes, limit: float = 60.0) -> None:
        seen, stop = b"", time.monotonic() + limit
        while words not in seen:
            if time.monotonic() > stop:
                raise TimeoutError(f"{words!r} never came; the last of what did: {seen[-300:]!r}")
            seen += self.read(0.2)

    def settle(self) -> None:
        while self.read(QUIET):
            pass

    def cpu(self) -> float:
        """CPU seconds of the child so far, of its own and of the system for it."""
        fields = Path(f"/proc/{self.child.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def type(self, *keys: bytes) -> None:
        """Press keys, one after the other, each once the screen has come to rest or two seconds have gone."""
        for key in keys:
            stop = time.monotonic() + 2.0
            while self.read(QUIET) and time.monotonic() < stop:
                pass
            os.write(self.end, key)

    def takes(self) -> bool:
        """Whether a child takes files."""
        task = Path(f"/proc/{self.child.pid}/task")
        return any(children.read_text().strip() for children in task.glob("*/children"))

    def press(self, key: bytes) -> tuple[float, float]:
        """Milliseconds until the first and until the last byte of what `key` changes."""
        start = time.perf_counter()
        os.write(self.end, key)
        first = last = None
        while self.read(QUIET if first else 3.0):
            last = (time.perf_counter() - start) * 1000
            first = first or last
        return first or 3000.0, last or 3000.0


@contextmanager
def reviewing(job: Path, home: Path) -> Iterator[Terminal]:
    terminal = Terminal(job, home)
    try:
        yield terminal
    finally:
        terminal.child.terminate()
        terminal.child.wait()
        os.close(terminal.end)


def first_paint(job: Path, home: Path, times: int = 5) -> float:
    """The median CPU seconds until all of the first screen is there; the first start, which compiles, aside."""
    found = []
    for _ in range(times + 1):
        with reviewing(job, home) as terminal:
            terminal.until(b"Said,")
            found.append(terminal.cpu())
    return statistics.median(found[1:])


def key_in_log(job: Path, home: Path, taken: Path | None = None, times: int = 60) -> tuple[float, float, int]:
    """The median and the worst of going down through a room's log of all days, and how many keys there were: while
    the app takes in the recording `taken`, those until its child has ended."""
    with reviewing(job, home) as terminal:
        terminal.until(b"Said,")
        if taken:
            terminal.type(b"t", f"{taken}\r".encode(), b"\x1b")
        terminal.type(b"a", b"\r")
        terminal.settle()
        found = []
        while len(found) < times and (taken is None or terminal.takes()):
            way = b"\x1b[A" if len(found) // 20 % 2 else b"\x1b[B"  # down and up again: a room may end
            found.append(terminal.press(way)[0])
    return (statistics.median(found), max(found), len(found)) if found else (0.0, 0.0, 0)


def fresh(recording: Path, to: Path) -> Path:
    """The same sound as a file that no job has had: an empty box, as MP4 allows, with chance bytes at its end."""
    to.write_bytes(recording.read_bytes() + b"\0\0\0\x18free" + os.urandom(16))
    return to


def letters(job: Path, home: Path, words: str = "hot return capped behind") -> tuple[float, float, float]:
    """The median and the worst of a letter typed into the search, until its answers are there; and its CPU."""
    with reviewing(job, home) as terminal:
        terminal.until(b"Said,")
        os.write(terminal.end, b"/")
        terminal.settle()
        before = terminal.cpu()
        found = sorted(terminal.press(letter.encode())[1] for letter in words)
        cpu = (terminal.cpu() - before) / len(words) * 1000
    return statistics.median(found), found[-1], cpu


def demo(folder: Path) -> Path:
    """The job of `voidbook demo`."""
    run = [sys.executable, "-c", f"from notes.cli import main; main(['demo', '--keep', {str(folder)!r}])"]
    subprocess.run(run, check=True, capture_output=True, cwd=HERE.parents[2])
    return folder


def main() -> None:
    import bigbook

    with tempfile.TemporaryDirectory(prefix="voidbook-bars-") as room:
        home = Path(room) / "home"
        small = Path(sys.argv[1]) if len(sys.argv) > 1 else demo(Path(room) / "demo")
        big = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(room) / "big"
        if not big.exists():
            bigbook.make(big)
        print(f"first paint, demo job:        {first_paint(small, home):6.2f} s CPU  (bar 0.60)")
        print(f"first paint, 100,000 facts:   {first_paint(big, home):6.2f} s CPU  (bar 1.00)")
        median, worst, _ = key_in_log(big, home)
        print(f"key in a log, 100,000 facts:  {median:6.1f} ms median, {worst:.1f} worst  (bar 50)")
        sound = fresh(HERE.parents[2] / "sample_media" / "m01.m4a", Path(room) / "again.m4a")
        median, worst, many = key_in_log(big, home, sound)
        print(f"the same while it takes:      {median:6.1f} ms median, {worst:.1f} worst of {many}  (bar 50)")
        median, worst, cpu = letters(big, home)
        print(f"letter in the search:         {median:6.1f} ms median, {worst:.1f} worst, {cpu:.0f} CPU  (bar 100)")
        print(f"(other programs ran meanwhile: load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores)")


if __name__ == "__main__":
    main()
