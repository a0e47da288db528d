"""Ten thousand photos into one job: seconds, and the most memory that was held.

    uv run python tests/bench/photos_many.py [COUNT]

Every photo is another file: a rendered one with other bytes behind its end. The program runs as a person runs it, in a
process of its own, so that its memory is what is measured.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_media"


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as work:
        root, photos = Path(work) / "job", Path(work) / "photos"
        photos.mkdir()
        models = [path.read_bytes() for path in sorted(SAMPLES.glob("*.jpg"))]
        for n in range(count):
            (photos / f"{n:05}.jpg").write_bytes(models[n % len(models)] + n.to_bytes(4, "big"))
        (Path(work) / "memos.jsonl").write_text("".join(map(memo, range(6))))
        run("new", root, "--from", SAMPLES / "job.json")
        run("take", Path(work) / "memos.jsonl", "--job", root)
        began = time.monotonic()
        run("take", photos, "--job", root)
        took = time.monotonic() - began
        print(f"take: {count} photos, {took:.0f} s, {took / count * 1000:.1f} ms each, at most {most_held():.0f} MB")
        began = time.monotonic()
        run("photos", "--job", root)
        print(f"photos: {time.monotonic() - began:.1f} s, at most {most_held():.0f} MB")


def memo(n: int) -> str:
    """A memo of one day of the week in which the photos were taken, so that they find rooms and pipes."""
    said = {"id": f"m{n}", "at": f"2026-03-0{n + 2}T09:00:00+00:00", "text": "In the scullery I've run the hot in 15."}
    return f"{json.dumps(said)}\n"


def most_held() -> float:
    """Megabytes, of the greediest command so far."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def run(*words: object) -> None:
    command = [sys.executable, "-c", "from notes.cli import main; main()", *map(str, words)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
