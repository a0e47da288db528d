"""Taking files: each filed once, with its time, linked where it belongs; one bad file stops no other."""

from __future__ import annotations

import json
import os
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import MONDAY, jsonl, said
from heic import deadly
from house import quick_folder
from hypothesis import given
from hypothesis import strategies as st

from notes import intake, problems, search, typed
from notes.errors import MediaError, SpeechError, VoidbookError
from notes.hearing import Kept
from notes.intake import Outcome
from notes.model import Job
from notes.photo_place import FAR, NEAR, Place, Talk, place
from notes.store import Store
from notes.transcribe import Canned, Progress, Transcript


class Ear(Canned):
    """Says the same of every recording, and counts how often it had to listen."""

    def __init__(self, text: str) -> None:
        super().__init__({}, text)
        self.heard = 0

    def transcribe(self, path: Path, progress: Progress | None = None, kept: Kept | None = None) -> Transcript:
        self.heard += 1
        return super().transcribe(path, progress, kept)


class Told:
    """Keeps what a take tells."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def begin(self, files: int) -> None:
        self.lines.append(f"{files} files")

    def doing(self, path: Path, what: str, share: float | None = None) -> None:
        self.lines.append(f"{path.name}: {what}{'' if share is None else f' {share:.0%}'}")

    def filed(self, path: Path, outcome: Outcome) -> None:
        self.lines.append(f"{path.name}: filed {' '.join(outcome.ids)}".rstrip())

    def failed(self, path: Path, wrong: VoidbookError) -> None:
        self.lines.append(f"{path.name}: failed, {wrong.what}")

    @property
    def results(self) -> list[str]:
        return [line for line in self.lines if ": filed" in line or ": failed" in line]


Take = Callable[..., tuple[list[VoidbookError], Told]]


@pytest.fixture
def take(db: Any, root: Path, a_job: Job) -> Take:
    def run(*paths: Path, ear: Canned | None = None) -> tuple[list[VoidbookError], Told]:
        told = Told()
        return intake.take(
            db, root, a_job, paths, told, transcriber=ear or Ear("In the scullery. Capped the hot.")
        ), told

    return run


def a_recording(path: Path, seconds: float = 1.0) -> Path:
    path.parent.mkdir(exist_ok=True, parents=True)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(bytes(path.name, "utf-8") + b"\0\1" * int(8000 * seconds))
    return path


def a_photo(path: Path) -> Path:
    from PIL import Image

    Image.effect_noise((64, 48), 80).save(path)
    return path


def test_a_recording_is_kept_heard_and_read(take: Take, db: Any, root: Path, tmp_path: Path) -> None:
    file = a_recording(tmp_path / "20260302-081500.wav")
    wrong, told = take(file)
    assert wrong == []
    assert told.lines[1:3] == ["20260302-081500.wav: looking at it", "20260302-081500.wav: listening 100%"]
    memo = search.memo(db, "20260302-081500")
    assert (memo.text, memo.seconds) == ("In the scullery. Capped the hot.", 1.001)
    assert memo.at.isoformat() == "2026-03-02T08:15:00+00:00"
    assert [(f.room, f.subject, f.action) for f in search.of_memo(db, memo.id)] == [("Scullery", "hot", "cap")]
    ((_, kept),) = Store(root / "media").walk()
    assert kept.read_bytes() == file.read_bytes()


def test_the_same_bytes_are_filed_once_under_any_name(take: Take, db: Any, tmp_path: Path) -> None:
    first = a_recording(tmp_path / "m01.wav")
    again = tmp_path / "copy.wav"
    again.write_bytes(first.read_bytes())
    assert take(first, again, first)[1].results == ["m01.wav: filed m01", "copy.wav: filed", "m01.wav: filed"]
    assert db.execute("SELECT count(*) FROM memos").fetchone()[0] == 1


def test_other_recordings_of_the_same_name_get_names_of_their_own(take: Take, tmp_path: Path) -> None:
    files = [a_recording(tmp_path / folder / "m01.wav", seconds) for folder, seconds in (("a", 1), ("b", 2), ("c", 3))]
    assert take(*files)[1].results == ["m01.wav: filed m01", "m01.wav: filed m01-2", "m01.wav: filed m01-3"]


def test_what_was_heard_is_not_heard_again(
    take: Take, db: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ear, file = Ear("Capped the hot."), a_recording(tmp_path / "m01.wav")

    def crash(*_: Any, **__: Any) -> None:
        raise VoidbookError("stopped")

    with monkeypatch.context() as broken:
        broken.setattr(intake.filing, "file_memos", crash)
        assert len(take(file, ear=ear)[0]) == 1
    assert take(file, ear=ear)[1].results == ["m01.wav: filed m01"]
    assert ear.heard == 1


def test_silence_is_filed_without_words(take: Take, db: Any, tmp_path: Path) -> None:
    assert take(a_recording(tmp_path / "m01.wav"), ear=Ear(""))[0] == []
    assert search.memo(db, "m01").text == ""


def test_without_weights_every_recording_fails_alike_and_notes_are_filed(
    db: Any, root: Path, a_job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tries = []

    def none_here(_job: Job, _several: bool) -> Any:
        tries.append(1)
        raise SpeechError("no speech weights", todo="fetch them")

    monkeypatch.setattr(intake, "_whisper", none_here)
    note = tmp_path / "note.txt"
    note.write_text("Scullery. Capped the hot.")
    told = Told()
    files = [a_recording(tmp_path / "a.wav"), note, a_recording(tmp_path / "b.wav", 2)]
    wrong = intake.take(db, root, a_job, files, told)
    assert [type(w) for w in wrong] == [SpeechError, SpeechError]
    assert told.results == [
        "a.wav: failed, no speech weights",
        "note.txt: filed note",
        "b.wav: failed, no speech weights",
    ]
    assert len(tries) == 1


def test_a_folder_is_filed_in_order_without_what_is_not_ours(take: Take, root: Path, tmp_path: Path) -> None:
    folder = tmp_path / "phone"
    for name in ("b.wav", "a.wav", "deep/c.wav", ".trash/d.wav"):
        a_recording(folder / name, len(name))
    (folder / "list.json").write_text("{}")
    (folder / ".hidden.txt").write_text("no")
    assert take(folder)[1].results == ["a.wav: filed a", "b.wav: filed b", "c.wav: filed c"]
    assert take(root)[0][0].what == "there is nothing to file in this folder"  # its own media is not taken again


def test_notes_are_read_in_the_codings_that_editors_write(take: Take, db: Any, tmp_path: Path) -> None:
    for name, coding in (("a", "utf-8"), ("b", "utf-8-sig"), ("c", "utf-16")):
        (tmp_path / f"{name}.txt").write_text(f"Scullery, {name}. Capped the hot – ¾ inch.\n", encoding=coding)
    assert take(*sorted(tmp_path.glob("*.txt")))[0] == []
    assert [search.memo(db, id).text for id in "abc"] == [f"Scullery, {n}. Capped the hot – ¾ inch." for n in "abc"]


def test_good_lines_are_filed_and_bad_ones_named(take: Take, db: Any, tmp_path: Path) -> None:
    bad = [
        '{"id": "x"',
        "[]",
        '{"id": "x", "at": "soon", "text": "hot"}',
        '{"id": "x", "at": "2026-03-02", "text": " "}',
    ]
    file = jsonl(
        tmp_path / "week.jsonl", said("m01", "Capped the hot."), *bad, "", said("m02", "Capped the cold.", hours=1)
    )
    wrong, told = take(file)
    assert [error.file for error in wrong] == [f"{file}:{n}" for n in (2, 3, 4, 5)]
    assert told.results[0] == "week.jsonl: filed m01 m02"
    assert [(p["line"], p["reason"].split(" (")[0]) for p in search.problems(db)] == [
        (2, "not valid JSON"),
        (3, "not an object with id, at, speaker and text; put it right and take the file again"),
        (4, "at must be a time like 2026-03-02T08:40:00+00:00, not 'soon'; put it right and take the file again"),
        (5, "there are no words in it; put it right and take the file again"),
    ]
    jsonl(file, said("m01", "Capped the hot."), said("m03", "Left the waste open.", hours=2))
    assert take(file)[1].results == ["week.jsonl: filed m03"]  # a file that grew gives only what is new
    assert search.problems(db) == []


def test_a_line_without_a_zone_is_of_the_jobs_zone(tmp_path: Path) -> None:
    from zoneinfo import ZoneInfo

    file = jsonl(tmp_path / "a.jsonl", {"id": "m", "at": "2026-07-01T09:00", "text": "hot"})
    (found,) = typed.lines(file, ZoneInfo("Europe/London"), file)
    assert isinstance(found, typed.Typed)
    assert found.memo.at.isoformat() == "2026-07-01T09:00:00+01:00"


@given(
    st.text()
    | st.dictionaries(st.sampled_from(("id", "at", "text", "speaker", "photos")), st.text() | st.none()).map(json.dumps)
)
def test_no_line_is_more_than_a_clear_error(tmp_path_factory: pytest.TempPathFactory, line: str) -> None:
    file = tmp_path_factory.mktemp("a") / "a.jsonl"
    file.write_text(line, encoding="utf-8", errors="replace")
    for found in typed.lines(file, MONDAY.tzinfo, file):  # type: ignore[arg-type]
        assert isinstance(found, (typed.Typed, MediaError))


# --- photos


def test_a_picture_that_would_end_the_program_is_told_and_the_others_are_filed(
    take: Take, db: Any, tmp_path: Path
) -> None:
    wrong, _ = take(deadly(tmp_path / "a.heic"), a_photo(tmp_path / "b.png"))
    assert [w.what for w in wrong] == ["this is no picture that can be read"]
    assert [row["id"] for row in db.execute("SELECT id FROM photos")] == ["b"]


def talk(memo: str, moment: float, *rooms: str) -> Talk:
    return Talk(memo, moment, 60.0, rooms)


def test_a_photo_goes_to_the_nearest_memo_and_the_room_it_was_in() -> None:
    two = [talk("m01", 1000, "Yard", "Loft"), talk("m02", 9000, "Bath")]
    assert place(900, None, False, two) == Place("m01", "Yard", False)  # it begins there, and goes on to another
    assert place(1100, None, False, two) == Place("m01", "Loft", False)
    assert place(8990, None, False, two) == Place("m02", "Bath", True)
    assert place(9030, None, False, two) == Place("m02", "Bath", True)
    assert place(9061 + NEAR, None, False, two) == Place("m02", "Bath", False)
    assert place(9061 + FAR, None, False, two) == Place()
    assert place(9061 + FAR, None, True, two[1:]) == Place("m02", "Bath", True)
    assert place(9061 + FAR, "Yard", False, two) == Place(None, "Yard", True)
    assert place(1100, "Bath", False, two) == Place("m01", "Bath", True)
    assert place(5, None, False, []) == Place()


def test_photos_are_linked_again_as_memos_arrive(take: Take, db: Any, tmp_path: Path) -> None:
    take(a_photo(tmp_path / "2026-03-02 08.20.00.png"))
    assert _linked(db) == [(None, None)]
    take(jsonl(tmp_path / "a.jsonl", said("m02", "In the boiler house. Capped the hot.", hours=2)))
    assert _linked(db) == [("m02", "Boiler house")]
    take(jsonl(tmp_path / "b.jsonl", said("m01", "In the scullery. Capped the hot.")))
    assert _linked(db) == [("m01", "Scullery")]


def _linked(db: Any) -> list[tuple[str | None, str | None]]:
    return [(row["memo"], row["room"]) for row in db.execute("SELECT memo, room FROM photos ORDER BY row")]


def test_photos_of_a_line_belong_to_it_and_their_caption_names_the_room(take: Take, db: Any, tmp_path: Path) -> None:
    photos = [
        {"id": "p01", "at": MONDAY.isoformat(), "caption": "notch, main bathroom"},
        {"id": "p02", "at": MONDAY.isoformat()},
    ]
    take(jsonl(tmp_path / "a.jsonl", said("m01", "In the scullery. Capped the hot.", photos=photos)))
    assert _linked(db) == [("m01", "House bathroom"), ("m01", "Scullery")]


# --- trying again


def test_what_failed_is_tried_again_and_forgotten_when_it_is_filed(take: Take, db: Any, tmp_path: Path) -> None:
    file = tmp_path / "m01.wav"
    file.write_bytes(b"")
    assert [w.what for w in take(file)[0]] == ["the file is empty"]
    assert problems.failed(db) == [file]
    assert len(take(*problems.failed(db))[0]) == 1
    assert len(search.problems(db)) == 1
    a_recording(file)
    assert take(*problems.failed(db))[1].results == ["m01.wav: filed m01"]
    assert problems.failed(db) == []


@pytest.mark.parametrize("date", [-(2**33), 2**43])
def test_a_file_date_of_no_calendar_stops_nothing(take: Take, date: int) -> None:
    """On a memory disk, which keeps any date, a file of the year 3170843 ended the whole take."""
    with quick_folder() as folder:
        for name in ("a.txt", "b.txt"):
            (folder / name).write_text(f"Capped the hot. {name}")
        os.utime(folder / "a.txt", (0, date))
        wrong, told = take(folder / "a.txt", folder / "b.txt")
    assert told.results[1] == "b.txt: filed b"
    assert [w.what for w in wrong] == ["nothing tells when it was made"]


def test_what_nobody_foresaw_is_told_without_words_and_the_others_are_filed(
    take: Take, db: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.txt").write_text("Capped the zebrano.")
    jsonl(tmp_path / "b.jsonl", said("b", "Capped the hot."))
    monkeypatch.setattr(typed, "note", lambda path: int(path.read_text()))
    (wrong,), told = take(tmp_path / "a.txt", tmp_path / "b.jsonl")
    assert told.results[1] == "b.jsonl: filed b"
    assert wrong.what.startswith("voidbook did not foresee this (ValueError at test_intake.py:")
    assert "zebrano" not in str(wrong)
    assert [row["path"] for row in search.problems(db)] == [str(tmp_path / "a.txt")]


def test_a_pipe_and_a_device_are_told_to_be_none_of_ours(take: Take, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")
    (tmp_path / "zero.txt").symlink_to("/dev/zero")
    wrong, _ = take(tmp_path / "pipe.wav", tmp_path / "zero.txt")
    assert [w.what for w in wrong] == ["this is not a plain file"] * 2


def test_a_name_that_is_no_text_is_filed_and_found_again(take: Take, db: Any, tmp_path: Path) -> None:
    bad = tmp_path / "m\udcff\udc80.wav"
    bad.write_bytes(b"")
    assert len(take(bad)[0]) == 1
    assert problems.failed(db) == [bad]
    a_recording(tmp_path / "x.wav").rename(bad)
    assert take(*problems.failed(db))[1].results[0].endswith("filed m??")


@pytest.mark.parametrize(
    ("name", "id"),
    [
        ("\x1b[2J-rf.wav", "[2J-rf"),
        ("a\nb\u202egnp.wav", "a b gnp"),
        ("--job.wav", "--job"),
        ("n" * 240 + ".wav", "n" * 120),
        ("' OR 1=1; DROP TABLE memos.wav", "' OR 1=1; DROP TABLE memos"),
    ],
)
def test_hostile_names_are_only_names(take: Take, db: Any, tmp_path: Path, name: str, id: str) -> None:
    assert take(a_recording(tmp_path / name))[0] == []
    assert search.memo(db, id).id == id
