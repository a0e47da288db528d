"""The parsers that read other people's bytes, fed by a fuzzer that is led by coverage. Run by hand, minutes each:

    uv run --with atheris python tests/bench/fuzz.py WHAT SECONDS [DIR]

WHAT is one of `TARGETS`. It ends with 0 when the time is up. Where anything but one clear error comes out it prints
the traceback, keeps the input as DIR/crash-* and ends with 77: put a short one into the tests. DIR also keeps what was
found to be worth feeding, and is read again.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterable
from contextlib import closing, redirect_stderr, redirect_stdout
from datetime import UTC
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

import atheris

# to be told of every branch costs much where most time goes, and rows of exports are not steered by how memos are read
_UNSEEN = [] if "memos" in sys.argv[1:2] else ["notes.reading", "notes.lexicon", "notes.tracing", "notes.checking"]

with atheris.instrument_imports(include=["notes", "PIL", "tomllib"], exclude=_UNSEEN):
    import PIL.JpegImagePlugin
    import PIL.PngImagePlugin
    import PIL.TiffImagePlugin
    import PIL.WebPImagePlugin
    from house import HEARD, JOB, Quiet, a_filled_job, a_job, a_photo, copy

    from notes import book, bringing, export, filing, intake, probe, typed, verify
    from notes import job as jobs
    from notes.cli import main as voidbook
    from notes.errors import VoidbookError

SAMPLES = Path(__file__).parents[2] / "sample_media"
Feed = Callable[[bytes], None]
Ready = tuple[Iterable[bytes], Feed]
"""What to begin with, and what is done with each input."""


def _refused(*reads: Callable[[], object]) -> int:
    """Read in all these ways; how many ended in one clear error. Whatever else they raise goes up."""
    told = 0
    for read in reads:
        try:
            read()
        except VoidbookError as wrong:
            assert str(wrong).isprintable() and wrong.todo, repr(str(wrong))
            told += 1
    return told


# --- pictures and sound


def _picture(path: Path) -> None:
    _refused(lambda: probe.probe_photo(path), lambda: probe.place_of(path), lambda: probe.upright(path, 64))


def pictures(folder: Path) -> Ready:
    """Whole files; the decoders themselves are C and lead nobody."""
    made = [a_photo(folder / f"p{ending}").read_bytes() for ending in (".jpg", ".png", ".webp")]
    return made, lambda data: _picture(_put(folder / "p", data))


def heic(folder: Path) -> Ready:
    """Slow, as a child reads each first."""
    import heic as boxes
    from PIL import Image

    small = boxes.heic(folder / "p.heic", Image.new("RGB", (64, 48), "red"), Image.Exif(), turn=3).read_bytes()

    def feed(data: bytes) -> None:
        path = _put(folder / hashlib.sha256(data).hexdigest()[:8], data)  # a name of its own, as what survives is kept
        _picture(path)
        path.unlink()

    return [small], feed


def exif(folder: Path) -> Ready:
    """The details of a photo that is whole otherwise."""
    plain = a_photo(folder / "plain.jpg").read_bytes()
    told = PIL.Image.Exif()
    told[0x010E], told[0x0112] = "basin tails", 6
    told.get_ifd(0x8769).update({0x9003: "2026:03:02 08:20:00", 0x9011: "+01:00"})
    told.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 1.5), 3: "W", 4: (2.0, 0.0, 0.0)})

    def feed(data: bytes) -> None:
        segment = b"Exif\0\0" + data[:60_000]
        head = plain[:2] + b"\xff\xe1" + (len(segment) + 2).to_bytes(2, "big") + segment
        _picture(_put(folder / "p.jpg", head + plain[2:]))

    return [told.tobytes().removeprefix(b"Exif\0\0")], feed


def sound(folder: Path) -> Ready:
    def feed(data: bytes) -> None:
        path = _put(folder / "a", data)
        _refused(lambda: probe.probe_recording(path), lambda: probe.samples(path))

    return [make.read_bytes() for make in _sounds(folder)], feed


def _sounds(folder: Path) -> Iterable[Path]:
    from test_probe import CODECS, amr, tone

    return [amr(folder / "s.amr"), *(tone(folder / f"s.{ending}", 0.3) for ending in CODECS)]


def _put(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


# --- jobs and typed memos


def job(folder: Path) -> Ready:
    """job.toml and job.json; what is read is written again as it was."""
    whole = jobs.as_toml(JOB) + '[words]\n"tommo" = "Tomo"\n[working_pressure_bar]\ncold = 3\n'

    def feed(data: bytes) -> None:
        (folder / jobs.NAME).write_bytes(data)
        (folder / "job.json").write_bytes(data)
        _refused(lambda: jobs.from_json(folder / "job.json"))
        if not _refused(lambda: jobs.load(folder)):
            read = jobs.load(folder)
            (folder / jobs.NAME).write_text(jobs.as_toml(read), encoding="utf-8")
            assert jobs.load(folder) == read
            jobs.add_word(folder, "tommo's", "Tomo's")
            assert jobs.drop_word(folder, "tommo's") == "Tomo's"

    return [whole.encode(), (SAMPLES / "job.json").read_bytes()], feed


def lines(folder: Path) -> Ready:
    """.jsonl and .txt, read and not filed."""

    def feed(data: bytes) -> None:
        path = _put(folder / "week.jsonl", data)
        _refused(lambda: typed.note(path), lambda: list(typed.lines(path, UTC, path)))

    entry = {"id": "m1", "at": "2026-03-02T08:00:00Z", "speaker": "A", "text": "Capped the hot.", "photos": []}
    entry["photos"] = [{"id": "p1", "at": "2026-03-02T08:00:00+01:00", "caption": "tails"}]
    return [json.dumps(entry).encode(), b"\xff\xfe" + "Capped the hot.".encode("utf-16-le")], feed


ASKED = (["log"], ["followups"], ["runs"], ["facts"], ["rooms"], ["photos"], ["decisions"], ["problems"],
         ["find", "hot"], ["trace", "hot"], ["shopping"], ["memo", "m1"])  # fmt: skip
WORDS = (
    "hot cold flow return waste gas 15 22 mil copper and the it both no not capped ran left tested bled drained over "
    "boarded open scullery bathroom six bar thirty minutes hang on scrap that sorry I've we've will maybe photo of "
    "valve twenty-two a half inch metres to from behind under between order three . , ? - ( ) : ; ... 1/2 £ ½ \u202e "
    "\x1b[2J \0 \u00a0 é 管 0 -1 1e9 99999999999999999999 o'clock yesterday Monday"
).split(" ")


def memos(folder: Path) -> Ready:
    """Trade words in any order, filed and asked for."""
    empty = a_job(folder / "empty")

    def feed(data: bytes) -> None:
        root = copy(empty, folder / "job")
        said = " ".join(WORDS[byte % len(WORDS)] for byte in data[:400])
        entry = {"id": "m1", "at": "2026-03-02T08:00:00Z", "text": said}
        path = _put(folder / "week.jsonl", json.dumps(entry).encode())
        with closing(book.connect(root)) as db:
            wrong = intake.take(db, root, JOB, [path], Quiet(), transcriber=HEARD)
        assert [w for w in wrong if "no words" not in str(w)] == [], wrong
        _sound(root, ASKED if not wrong else ())

    return [bytes(range(n, n + 20)) for n in range(0, len(WORDS), 10)], feed


# --- exports


def rows(folder: Path) -> Ready:
    """Exports that were edited by one who puts the hashes right; imported and merged, then asked and worked on."""
    filled = a_filled_job(folder / "filled")
    export.write(filled, folder / "whole")
    empty = a_job(folder / "empty")
    tables = {t: (folder / "whole" / f"{t}.jsonl").read_text().splitlines() for t in export.TABLES}

    def feed(data: bytes) -> None:
        out = copy(folder / "whole", folder / "out")
        told = atheris.FuzzedDataProvider(data)
        for _ in range(told.ConsumeIntInRange(1, 2)):
            table = told.PickValueInList([t for t in tables if tables[t]])
            found = [json.loads(line) for line in (out / f"{table}.jsonl").read_text().splitlines()]
            _edit(found[told.ConsumeIntInRange(0, len(found) - 1)], told)
            (out / f"{table}.jsonl").write_text("".join(f"{json.dumps(row)}\n" for row in found))
        listed = json.loads((out / export.LIST).read_text())
        listed["files"].update({f"{t}.jsonl": export.sha_of(out / f"{t}.jsonl") for t in tables})
        (out / export.LIST).write_text(json.dumps(listed))
        shutil.rmtree(folder / "new", ignore_errors=True)
        if told.ConsumeBool():
            if not _refused(lambda: bringing.restore(folder / "new", export.read(out))):
                _sound(folder / "new", ASKED)
            return
        root = copy(empty, folder / "job")
        with closing(book.connect(root)) as db:
            _refused(lambda: bringing.merge(db, root, JOB, export.read(out)))
        _sound(root, ASKED)

    return [bytes([1, n]) * 8 for n in range(16)], feed


OTHERS: tuple[Any, ...] = (
    None, True, 0, -1, 1.5, 2**63, 1e400, "", "0", "x", "\ud800", "2026-03-02", "2026-03-02T08:00:00+00:00",
    "9999-12-31T23:59:59+00:00", "m2", "m9", "hot", "correct", "undo", "status", "done", [], {}, [1], {"a": 1},
)  # fmt: skip


def _edit(row: Any, told: Any) -> None:
    """Put something else somewhere in a row, or in the JSON that one of its texts is."""
    places = list(row) if isinstance(row, dict) else list(range(len(row)))
    if not places:
        return
    at = told.PickValueInList(places)
    held = row[at]
    inner = held
    if isinstance(held, str) and held[:1] in ("{", "["):
        inner = json.loads(held)
    if isinstance(inner, (dict, list)) and inner and told.ConsumeIntInRange(0, 4):
        _edit(inner, told)
        row[at] = json.dumps(inner) if isinstance(held, str) else inner
        return
    others = [*OTHERS]
    others += [told.ConsumeUnicode(12), told.ConsumeInt(8), told.ConsumeFloat()]
    others += list(row.values()) if isinstance(row, dict) else row
    row[at] = told.PickValueInList(others)


def listing(folder: Path) -> Ready:
    """The list of an export."""
    export.write(a_filled_job(folder / "filled"), folder / "out")

    def feed(data: bytes) -> None:
        (folder / "out" / export.LIST).write_bytes(data)
        _refused(lambda: export.read(folder / "out"))

    return [(folder / "out" / export.LIST).read_bytes()], feed


def _sound(root: Path, asked: Iterable[list[str]]) -> None:
    """Every command answers or says in a line what is wrong; it is repaired and read again."""
    for words in asked:
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            try:
                voidbook([*words, "--job", str(root)])
            except SystemExit as end:
                assert end.code in (0, 2), (words, end.code)
    job = jobs.load(root)
    verify.repair(root, job, deep=True, young=0)
    with closing(book.connect(root)) as db:
        filing.read_again(db, job)


TARGETS: dict[str, Callable[[Path], Ready]] = {
    t.__name__: t for t in (pictures, heic, exif, sound, job, lines, memos, rows, listing)
}


def main(what: str, seconds: int, kept: Path) -> None:
    warnings.simplefilter("ignore")
    kept.mkdir(parents=True, exist_ok=True)
    place = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    with tempfile.TemporaryDirectory(dir=place, prefix="voidbook-fuzz-") as folder:
        begin, feed = TARGETS[what](Path(folder))
        for data in begin:
            (kept / hashlib.sha256(data).hexdigest()[:16]).write_bytes(data)
        limits = [f"-max_total_time={seconds}", "-timeout=30", "-rss_limit_mb=3000", f"-artifact_prefix={kept}/"]
        atheris.Setup([sys.argv[0], str(kept), *limits, "-max_len=60000", "-print_final_stats=1"], feed)
        atheris.Fuzz()


if __name__ == "__main__":
    if len(sys.argv) < 3 or sys.argv[1] not in TARGETS:
        sys.exit(f"which of {', '.join(TARGETS)}, and for how many seconds?")
    name = sys.argv[1]
    main(name, int(sys.argv[2]), Path(sys.argv[3] if len(sys.argv) > 3 else tempfile.mkdtemp(prefix=f"fuzz-{name}-")))
