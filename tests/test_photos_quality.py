"""Photos: what shows nothing is told at once, each is linked to its room, and a person has the last word."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageFilter

from notes import boards, book, ocr, photos, quality, ruling
from notes.errors import UsageError
from notes.lexicon import Lexicon
from notes.model import Job, Room, Run
from notes.photo_place import Place, Talk, place
from notes.thumbs import Thumbs
from tests.conftest import MONDAY, Ran, jsonl, said

SAMPLES = Path(__file__).parents[1] / "sample_media"
PHOTO = SAMPLES / "01_basin_tails.jpg"
LEXICON = Lexicon((), (Room("House bathroom", aliases=("bed 2",)), Room("Scullery")))


def picture(path: Path = PHOTO) -> Image.Image:
    with Image.open(path) as opened:
        return opened.convert("RGB")


def lit(by: float) -> Image.Image:
    return Image.fromarray((np.asarray(picture(), np.float32) * by).clip(0, 255).astype(np.uint8))


def moved(vertical: bool) -> Image.Image:
    values = np.asarray(picture(), np.float32)
    mean = sum(np.roll(values, n, 0 if vertical else 1) for n in range(25)) / 25
    return Image.fromarray(np.asarray(mean).astype(np.uint8))


@pytest.mark.parametrize(
    ("spoilt", "wrong"),
    [
        (picture, ()),
        (lambda: picture().filter(ImageFilter.GaussianBlur(6)), ("blurred",)),
        (lambda: moved(vertical=True), ("blurred",)),
        (lambda: moved(vertical=False), ("blurred",)),
        (lambda: lit(0.1), ("too dark", "blurred")),
        (lambda: lit(4), ("burnt out",)),
    ],
    ids=["good", "out of focus", "moved up", "moved sideways", "dark", "burnt"],
)
def test_what_shows_nothing_is_noticed(spoilt: Callable[[], Image.Image], wrong: tuple[str, ...]) -> None:
    assert quality.look(spoilt()).wrongs == wrong


def test_tiny_pictures_are_measured_without_an_error() -> None:
    for size in ((1, 1), (2, 9), (3, 3)):
        assert "blurred" in quality.look(Image.new("L", size, 128)).wrongs


def test_copies_are_alike_and_other_views_are_not() -> None:
    good = sorted(p for p in SAMPLES.glob("*.jpg") if "blurred" not in p.name)
    hashes = [quality.look(picture(path)).phash for path in good]
    smaller = [quality.look(picture(path).resize((700, 520))).phash for path in good]
    assert all(map(quality.alike, hashes, smaller))
    assert [(a, b) for a in hashes for b in hashes if a != b and quality.alike(a, b)] == []
    assert quality.groups([*zip("abcdef", hashes, strict=True), ("x", smaller[2])]) == [["c", "x"]]


@given(st.lists(st.tuples(st.text(max_size=3), st.integers(0, 2**64 - 1).map(lambda n: f"{n:016x}")), max_size=8))
def test_a_group_has_two_members_or_more_each_once(hashes: list[tuple[str, str]]) -> None:
    named = [(f"{n}{name}", phash) for n, (name, phash) in enumerate(hashes)]
    found = [name for group in quality.groups(named) for name in group]
    assert len(found) == len(set(found))
    assert all(len(group) > 1 for group in quality.groups(named))


# --- told on the spot


def test_take_warns_while_the_wall_is_open(voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    lit(0.05).save(tmp_path / "dark.jpg")
    with Image.open(PHOTO) as opened:
        opened.resize((800, 600)).save(tmp_path / "z_again.jpg", exif=opened.getexif())
    ran = voidbook("take", PHOTO, tmp_path / "dark.jpg", tmp_path / "z_again.jpg", SAMPLES / "10_failed_blurred.jpg")
    lines = {line.split(": ")[0].split()[-1]: line for line in ran.err.splitlines()}
    assert "LOOK AT IT NOW: too dark" in lines["dark.jpg"]
    assert "LOOK AT IT NOW: blurred" in lines["10_failed_blurred.jpg"]
    assert f"nearly the same as {PHOTO.stem}" in lines["z_again.jpg"]
    assert "LOOK" not in lines[PHOTO.name]


def test_a_program_gets_the_warning_too(voidbook: Callable[..., Ran]) -> None:
    rows = voidbook("take", "--json", SAMPLES / "10_failed_blurred.jpg").rows
    assert [row["warnings"] for row in rows if row.get("done") == "filed"] == [["blurred"]]


# --- linked by what is said, else by time


def talk(memo: str, at: float, *rooms: str, shown: tuple[str, ...] = (), other: bool = False) -> Talk:
    return Talk(memo, at, 60.0, rooms, shown, other)


@pytest.mark.parametrize(
    ("talks", "named", "place_"),
    [
        ([talk("a", 0, "X"), talk("b", 900, "Y")], None, Place("a", "X", True)),
        ([talk("a", 0, "X"), talk("b", 900, "Y", shown=("Y",))], None, Place("b", "Y", True)),
        ([talk("a", 0, "X", "Y", shown=("X",))], None, Place("a", "X", True)),
        ([talk("a", 0, "X", "Y")], None, Place("a", "Y", False)),
        ([talk("a", -7200, "X")], None, Place("a", "X", False)),
        ([talk("a", -90000, "X")], None, Place(None, None, False)),
        ([talk("a", 0, "X", other=True), talk("b", 5000, "Y")], None, Place("b", "Y", False)),
        ([talk("a", 0, "X", other=True)], None, Place("a", "X", False)),
        ([talk("a", 0, "X")], "Z", Place("a", "Z", True)),
    ],
    ids=["nearest", "photos spoken of", "room of the photo", "two rooms", "long ago", "another day", "own memo first",
         "only another's", "named in it"],
)  # fmt: skip
def test_where_a_photo_belongs(talks: list[Talk], named: str | None, place_: Place) -> None:
    assert place(100.0, named, False, talks) == place_


def two_memos(voidbook: Callable[..., Ran], tmp_path: Path, photo: Path = PHOTO) -> None:
    """A takes photos in the scullery, B talks of the boiler house; the photo was taken at 8:41 by one of them."""
    memos = [
        said("m01", "In the scullery I've capped the hot, fifteen.", hours=0.5, speaker="A"),
        said("m02", "Boiler house. Gas is run.", hours=0.7, speaker="B"),
    ]
    assert voidbook("take", jsonl(tmp_path / "m.jsonl", *memos)).code == 0


@pytest.mark.parametrize(("speaker", "room"), [("A", "Scullery"), ("B", "Boiler house")])
def test_the_memo_of_the_person_who_took_it_counts(
    voidbook: Callable[..., Ran], db: Any, tmp_path: Path, speaker: str, room: str
) -> None:
    two_memos(voidbook, tmp_path)
    assert voidbook("take", PHOTO, "--speaker", speaker).code == 0
    row = db.execute("SELECT room, sure FROM photos").fetchone()
    assert tuple(row) == (room, 1)


# --- moved by a person


def test_a_photo_is_moved_and_stays_there(voidbook: Callable[..., Ran], db: Any, a_job: Job, tmp_path: Path) -> None:
    two_memos(voidbook, tmp_path)
    voidbook("take", PHOTO)
    ran = voidbook("photo", "move", PHOTO.stem, "main bathroom", "--by", "Ann")
    assert (ran.code, ran.err) == (0, f"{PHOTO.stem} now belongs to House bathroom\n")

    def now() -> tuple[str | None, int]:
        return tuple(db.execute("SELECT room, sure FROM photos").fetchone())  # type: ignore[return-value]

    assert now() == ("House bathroom", 1)
    voidbook("take", jsonl(tmp_path / "later.jsonl", said("m03", "Scullery. Took a photo of the waste.", hours=0.69)))
    voidbook("reread")
    assert now() == ("House bathroom", 1)
    ruling.undo(db, a_job, "Ann")
    assert now()[0] != "House bathroom"


def test_a_photo_or_room_that_is_not_there_is_said(voidbook: Callable[..., Ran], db: Any, a_job: Job) -> None:
    with pytest.raises(UsageError, match="no photo is called"):
        ruling.place_photo(db, a_job, "x", "Scullery", "Ann")
    assert db.execute("SELECT count(*) FROM decisions").fetchone()[0] == 0
    assert voidbook("photo", "move", "x", "Attic").code == 2


# --- what is written in it


def test_a_room_read_for_sure_files_the_photo() -> None:
    assert ocr.sorted_out([("BED", 0.99), ("2", 1.0)], LEXICON) == ocr.Written("BED 2", "House bathroom")
    assert ocr.sorted_out([("BED2", 0.99)], LEXICON).room == "House bathroom"


@pytest.mark.parametrize("lines", [[("scullery", 0.7)], [("scullery", 0.9), ("bed 2", 0.9)], [("15mm", 0.99)]])
def test_what_is_not_sure_names_no_room(lines: list[tuple[str, float]]) -> None:
    assert ocr.sorted_out(lines, LEXICON).room is None
    assert ocr.sorted_out(lines, LEXICON).text == " ".join(text for text, _ in lines)


def test_noise_is_left_out_and_hostile_text_cleaned() -> None:
    assert ocr.sorted_out([("\x1b[31m22mm", 0.9), ("zz", 0.3)], LEXICON).text == "22mm"


def test_a_chalked_room_files_the_photo_there(
    voidbook: Callable[..., Ran], db: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    two_memos(voidbook, tmp_path)
    monkeypatch.setattr(ocr, "read", lambda *_: ocr.Written("HOUSE BATHROOM 22mm", "House bathroom"))
    voidbook("take", PHOTO)
    assert tuple(db.execute("SELECT room, sure, seen FROM photos").fetchone()) == (
        "House bathroom",
        1,
        "HOUSE BATHROOM 22mm",
    )
    assert not db.execute("SELECT count(*) FROM facts WHERE quote LIKE '%22mm%'").fetchone()[0]  # never a fact


def test_what_is_written_in_a_photo_is_found(voidbook: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ocr, "read", lambda *_: ocr.Written("PN10 22mm", None))
    voidbook("take", PHOTO)
    assert f"photo {PHOTO.stem}" in voidbook("find", "pn10").out
    assert [row["photo"] for row in voidbook("find", "twenty-two mil", "--json").rows] == [PHOTO.stem]
    assert "Nothing on record" in voidbook("find", "pn16").out


@pytest.mark.skipif(not ocr.ready(), reason="the extra `ocr` is not installed")
def test_chalk_is_read() -> None:
    assert "BASIN" in ocr.read(PHOTO, LEXICON).text


_READ_AND_TELL = """
import sys
from pathlib import Path
from notes import lexicon, ocr
from notes.model import Job
from peak import megabytes
for path in sys.argv[1:]:
    print(ocr.read(Path(path), lexicon.load(Job("x", ()))).text)
print(megabytes())
"""


@pytest.mark.skipif(not ocr.ready(), reason="the extra `ocr` is not installed")
def test_no_shape_of_picture_takes_much_memory(tmp_path: Path) -> None:
    """The bar of ten thousand photos: 500 MB. A strip took 2.3 GB when its shorter side was made 736 pixels."""
    square, strip = tmp_path / "square.png", tmp_path / "strip.png"
    for path, size in ((square, (1600, 1600)), (strip, (60, 1600))):
        Image.effect_noise(size, 80).save(path)
    command = [sys.executable, "-c", _READ_AND_TELL, str(PHOTO), str(square), str(strip)]
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parent)}
    ran = subprocess.run(command, env=env, capture_output=True, text=True, check=True)
    read, *_, most = ran.stdout.splitlines()
    assert "BASIN" in read
    assert int(most) < 500


# --- before the boards go up


def shot(
    id: str, *, room: str = "Scullery", memo: str = "m1", sure: bool = True, here: bool = True, sharp: float = 200.0
) -> boards.Shot:
    from notes.model import Photo

    look = quality.Look(sharp, 120.0, 0.0, "0" * 16)
    return boards.Shot(Photo(id, MONDAY, room, memo, sure=sure), look, "", here)


def a_run(key: str, memo: str, *state: str) -> Run:
    from notes.model import Fact, Status, Step

    fact = Fact(memo, 0, "Scullery", "hot", "run", Status.DONE, "run", 0, 3)
    return Run(key, "hot", "Scullery", state=state, steps=(Step(fact, MONDAY),))


@pytest.mark.parametrize(
    ("one", "shown"),
    [
        (shot("p"), True), (shot("p", sharp=10.0), False), (shot("p", sure=False), False),
        (shot("p", here=False), False), (shot("p", memo="m9"), False), (shot("p", room="Attic"), False),
    ],
    ids=["clear", "blurred", "link not sure", "only its name", "another memo", "another room"],
)  # fmt: skip
def test_a_pipe_is_shown_by_a_clear_photo_that_is_surely_its(one: boards.Shot, shown: bool) -> None:
    (board,) = boards.boards([a_run("m1:0", "m1", "run")], [one])
    assert board.shown is shown


def test_a_pipe_that_is_said_to_be_photographed_and_has_no_photo_is_told_so() -> None:
    (one,) = boards.boards([a_run("m1:0", "m1", "run", "photographed")], [])
    (other,) = boards.boards([a_run("m1:0", "m1", "run")], [])
    assert (one.named, other.named) == ("said to be photographed, none filed", "no photo")


def test_covered_pipes_without_a_photo_come_first_and_dropped_ones_not_at_all() -> None:
    runs = [
        a_run("a", "m1", "run"),
        a_run("b", "m2", "run"),
        a_run("c", "m3", "run", "covered"),
        a_run("d", "m1", "dropped"),
    ]
    assert [board.run.key for board in boards.boards(runs, [shot("p")])] == ["c", "b", "a"]


def test_the_view_tells_pipes_and_photos(voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    two_memos(voidbook, tmp_path)
    voidbook("take", PHOTO, "--speaker", "A")
    ran = voidbook("photos", "--room", "scullery")
    assert ran.out.startswith("0 of 1 pipe runs have no clear photo")
    assert f"Shown by a clear photo (1)\n  + Hot 15 mm · Scullery: {PHOTO.stem}\n" in ran.out
    assert f"{PHOTO.stem} · Scullery" in ran.out
    rows = voidbook("photos", "--json").rows
    assert [(r["service"], r["shown"]) for r in rows if "service" in r] == [("gas", False), ("hot", True)]
    assert [r["photo"] for r in rows if "photo" in r] == [PHOTO.stem]


# --- thumbnails and originals


def test_a_thumbnail_is_made_once_and_the_original_stays(voidbook: Callable[..., Ran], root: Path) -> None:
    voidbook("take", PHOTO)
    (original,) = (root / "media").rglob("*.jpg")
    sha = original.name[:64]
    made = Thumbs(root).jpeg(sha)
    assert made and made.startswith(b"\xff\xd8") and b"Exif" not in made and len(made) < 60_000
    (kept,) = (root / "thumbnails").rglob("*.jpg")
    kept.write_bytes(b"kept")
    assert Thumbs(root).jpeg(sha) == b"kept"
    assert original.read_bytes() == PHOTO.read_bytes()


def test_a_lost_original_has_no_thumbnail(root: Path) -> None:
    assert Thumbs(root).jpeg("0" * 64) is None


def test_ids_stay_different(db: Any) -> None:
    def file(n: int) -> str | None:
        from notes.model import Photo

        with book.write(db):
            return photos.insert(db, photos.NewPhoto(Photo("IMG", MONDAY + timedelta(n)), f"d{n}", "exif"))

    assert [file(0), file(1), file(2), file(0)] == ["IMG", "IMG-2", "IMG-3", None]


def test_json_of_the_view_is_plain(voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    voidbook("take", PHOTO)
    assert all(json.dumps(row) for row in voidbook("photos", "--json").rows)
