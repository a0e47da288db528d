"""How fast `voidbook take` is, as ratios within this run: against faster_whisper alone, asked the same, and as people
ask it by default. Run by hand on a quiet machine, takes about eight minutes:

uv run python tests/bench/take_speed.py            # the four bars
uv run python tests/bench/take_speed.py quick      # four recordings, once: for a look on a busy machine
uv run python tests/bench/take_speed.py memory     # most memory of takes of 1 to 24 recordings
"""

from __future__ import annotations

import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path
from time import monotonic
from typing import Any, NamedTuple

from rapidfuzz.distance import Levenshtein

from notes import job, lexicon, transcribe, weights
from notes.reading import hotwords

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_media"
RECORDINGS = sorted(SAMPLES.glob("m??.*"))
DICTATED = ROOT / "tests" / "gold" / "dev" / "farmhouse" / "memos.jsonl"
ROUNDS = 2
TAKEN = (1, 2, 4, 8, 12, 24)
"""Recordings in a take, for its memory."""

_TAKE = "import sys; from notes.cli import main; main(sys.argv[1:])"
_ALONE = """
import json, sys
from faster_whisper import WhisperModel
asked = json.loads(sys.argv[1])
model = WhisperModel(asked["model"], device="cpu", local_files_only=True, **asked["load"])
texts = {}
for name, path in asked["files"].items():
    segments, _ = model.transcribe(path, **asked["options"])
    texts[name] = "".join(segment.text for segment in segments)
print(json.dumps(texts))
"""


class Run(NamedTuple):
    """Seconds of CPU of a process, seconds on the clock, most memory in MB, what was heard by memo."""

    cpu: float
    wall: float
    memory: float
    texts: dict[str, str]


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="voidbook-bench-") as folder:
        # compiled once, as on any machine where a program was started before; also where Python is told not to
        os.environ |= {"PYTHONPYCACHEPREFIX": f"{folder}/compiled", "PYTHONPATH": str(ROOT)}
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        if sys.argv[1:] == ["memory"]:
            curve(Path(folder))
            return
        quick = sys.argv[1:] == ["quick"]
        files, rounds_ = (RECORDINGS[2:6], 1) if quick else (RECORDINGS, ROUNDS)
        few = take(Path(folder) / "few", RECORDINGS[3:4] if quick else RECORDINGS[:4])  # warms up too
        rounds = [a_round(Path(folder) / f"{n}", files) for n in range(rounds_)]
        usual = _told("the usual script", alone(_usual(), files))  # once: it is far from its bar, and slow
    report(few, [ours for ours, _ in rounds], [same for _, same in rounds], usual)


def a_round(root: Path, files: list[Path]) -> tuple[Run, Run]:
    """The two that are close, one after the other: the machine is then as busy for both as it can be."""
    return _told("take", take(root, files)), _told("the same, alone", alone(same(), files))


def _told(name: str, run: Run) -> Run:
    told = f"{name:17} CPU {run.cpu:6.1f} s   wall {run.wall:6.1f} s   {run.memory:4.0f} MB"
    print(f"{told}   words wrong {wrong(run.texts):.3f}   load {os.getloadavg()[0]:.1f}", flush=True)
    return run


def take(root: Path, files: list[Path]) -> Run:
    """`voidbook take` into a new job."""
    job.create(root, job.from_json(SAMPLES / "job.json"))
    cpu, wall, memory, _ = measured(_TAKE, "take", *map(str, files), "--job", str(root))
    with closing(sqlite3.connect(root / "book.db")) as book:
        texts = dict(book.execute("SELECT id, raw FROM memos").fetchall())
    assert len(texts) == len(files)
    return Run(cpu, wall, memory, texts)


def alone(asked: dict[str, Any], files: list[Path]) -> Run:
    """faster_whisper in a loop over the recordings."""
    named = {file.stem: str(file) for file in files}
    cpu, wall, memory, out = measured(_ALONE, json.dumps(asked | {"files": named}))
    return Run(cpu, wall, memory, json.loads(out))


def curve(room: Path) -> None:
    """Two recordings are heard side by side, so one takes less than two; past them it must not grow."""
    most = {many: _told(f"{many} recordings", take(room / f"job-{many}", _many(room, many))).memory for many in TAKEN}
    bar("d) memory, MB", max(most.values()), 700)
    bar("   memory, 24 recordings / 4", most[24] / most[4], 1.10)


def _many(room: Path, many: int) -> list[Path]:
    """So many recordings: the samples, and from the thirteenth on the same with bytes behind, or they'd be known."""
    folder = room / f"inbox-{many}"
    folder.mkdir()
    found = []
    for n in range(many):
        again, one = divmod(n, len(RECORDINGS))
        to = folder / f"{RECORDINGS[one].stem}{'b' * again}{RECORDINGS[one].suffix}"
        to.write_bytes(RECORDINGS[one].read_bytes() + bytes(again))
        found.append(to)
    return found


def same() -> dict[str, Any]:
    """The same model, settings and hotwords as ours."""
    farm, chosen = job.from_json(SAMPLES / "job.json"), weights.active()
    said = transcribe.fit_hotwords(hotwords(lexicon.load(farm), farm), chosen.folder)
    options = {**transcribe.OPTIONS, "hotwords": said}
    return {"model": str(chosen.folder), "load": {"compute_type": "int8"}, "options": options}


def _usual() -> dict[str, Any]:
    """What the first example of faster_whisper's own page does, on a processor."""
    return {"model": str(weights.active().folder), "load": {"compute_type": "float32"}, "options": {"beam_size": 5}}


def measured(code: str, *args: str) -> tuple[float, float, float, str]:
    """Run it in a process of its own. Neither of them starts others, so its memory is all there is."""
    began = monotonic()
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as talk:
        process = subprocess.Popen([sys.executable, "-c", code, *args], stdout=out, stderr=talk, cwd=ROOT)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0), talk.seek(0)
        assert process.returncode == 0, talk.read()[-2000:]
        return used.ru_utime + used.ru_stime, monotonic() - began, used.ru_maxrss / 1024, out.read()


def wrong(texts: dict[str, str]) -> float:
    """Share of the dictated words that were heard otherwise. Numbers as digits count as such, in all alike."""
    dictated = {row["id"]: row["text"] for row in map(json.loads, DICTATED.read_text(encoding="utf-8").splitlines())}
    told = {id: (_words(dictated[id[:3]]), _words(text)) for id, text in texts.items()}  # m01, m01b
    return sum(Levenshtein.distance(*pair) for pair in told.values()) / sum(len(said) for said, _ in told.values())


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9']+", text.lower().replace("’", "'"))


def report(few: Run, ours: list[Run], same: list[Run], usual: Run) -> None:
    print(f"a take of {len(few.texts)}: {few.memory:.0f} MB; {os.cpu_count()} cores\n")
    memory = max(run.memory for run in ours)
    heard_alike = all(run.texts == ours[0].texts for run in ours)
    bar("a) CPU, take / the same alone", _best(ours, "cpu") / _best(same, "cpu"), 1.10)
    bar("b) wall, take / the same alone", _best(ours, "wall") / _best(same, "wall"), 0.85)
    bar("c) wall, take / the usual script", _best(ours, "wall") / usual.wall, 0.45)
    bar("   words wrong, take / the usual script", wrong(ours[0].texts) / wrong(usual.texts), 1.0)
    bar("d) memory, MB", memory, 700)
    bar(f"   memory, {len(ours[0].texts)} recordings / {len(few.texts)}", memory / few.memory, 1.10)
    print(f"{'   the same words in each round':42} {'yes' if heard_alike else 'NO'}")


def _best(runs: list[Run], what: str) -> float:
    """The fastest: the others waited for something else."""
    return min(float(getattr(run, what)) for run in runs)


def bar(name: str, value: float, most: float) -> None:
    print(f"{name:42} {value:7.2f}   at most {most:g}   {'holds' if value <= most else 'DOES NOT HOLD'}")


if __name__ == "__main__":
    main()
