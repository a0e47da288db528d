"""Numbers of photos in what is said, and which photos a memo with such a number gets."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from notes.lexicon import Lexicon
from notes.model import Room
from notes.photo_place import NEAR, Place, Talk, place
from notes.reading.photo_count import photos_counted
from tests.conftest import MONDAY, Ran, jsonl, said

LEXICON = Lexicon((), (Room("House bathroom", aliases=("bed 2",)), Room("Utility two")))


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("Utility. I took two pictures of the manifold, loops are on.", 2),
        ("Took 3 photos before the boards went on", 3),
        ("There's a couple of photos on me phone", 2),
        ("half a dozen good clear pics", 6),
        ("two pictures of the manifold and three more photos of the riser. Then a photo of that", 5),
        ("I did get a picture, two actually", 2),
        ("did get pictures, three of them", 3),
        ("I've not tested it. I've one photo of it", 1),
        ("took a photo of that", 0),
        ("took photos of the lot", 0),
        ("I need to take two pictures tomorrow", 0),
        ("I haven't got two pictures of it", 0),
        ("nobody took two photos", 0),
        ("the two pictures are on the phone", 0),
        ("bed 2 photos taken", 0),
        ("utility two pictures taken", 0),
        ("run two pipes in 15 and took photos", 0),
        ("hot and cold, 2 off, photos of both", 0),
        ("", 0),
    ],
)
def test_what_is_said_of_a_number_of_photos(text: str, number: int) -> None:
    assert photos_counted(text, LEXICON) == number


def talk(memo: str, at: float, room: str, **more: Any) -> Talk:
    return Talk(memo, at, 60.0, (room,), **more)


@pytest.mark.parametrize(
    ("talks", "wanted"),
    [
        ([talk("a", 0, "X", counted=True), talk("b", 290, "Y")], Place("a", "X", True)),
        ([talk("a", 0, "X", counted=True), talk("b", 290, "Y", shown=("Y",))], Place("a", "X", True)),
        ([talk("a", 0, "X", counted=False), talk("b", 600, "Y")], Place("b", "Y", True)),
        ([talk("a", 0, "X", counted=False)], Place("a", "X", False)),
        ([talk("a", 0, "X", counted=False), talk("b", -NEAR, "Y")], Place("a", "X", False)),
        ([talk("a", 0, "X", counted=True, other=True), talk("b", -NEAR, "Y")], Place("b", "Y", False)),
        ([talk("a", 0, "X", counted=True), talk("b", 400, "Y", counted=True)], Place("b", "Y", True)),
    ],
    ids=["before others", "before those without a number", "full: to another that is near", "full: in doubt",
         "full, the other far: in doubt", "not another's", "the nearer of two"],
)  # fmt: skip
def test_a_memo_with_a_number_gets_its_photos_before_others(talks: list[Talk], wanted: Place) -> None:
    assert place(300.0, None, False, talks) == wanted


def photos(folder: Path, *minutes: int) -> list[Path]:
    """A photo for each minute after eight on Monday, named as a phone does."""
    paths = [folder / f"{MONDAY + timedelta(minutes=n):%Y-%m-%d %H.%M.%S}.png" for n in minutes]
    for n, path in enumerate(paths):
        Image.effect_noise((64, 48), 80 + n).save(path)
    return paths


def linked(db: Any) -> list[tuple[str, str, int]]:
    return [tuple(row) for row in db.execute("SELECT memo, room, sure FROM photos ORDER BY moment")]


TOLD = said("m01", "In the scullery I've capped the hot, fifteen. Took two pictures of it.", hours=0.5)
AFTER = said("m02", "Boiler house. Gas is run.", hours=0.6)


@pytest.mark.parametrize("order", list(permutations(range(4)))[::5])
def test_two_pictures_are_two_in_whatever_order_they_come(
    voidbook: Callable[..., Ran], db: Any, tmp_path: Path, order: tuple[int, ...]
) -> None:
    """Said at half past eight; photos at 8:37, :38 and :39, all nearer to what was said at 8:36."""
    files = [jsonl(tmp_path / "m.jsonl", TOLD, AFTER), *photos(tmp_path, 37, 38, 39)]
    for n in order:
        assert voidbook("take", files[n], "--speaker", "A").code == 0
    assert linked(db) == [("m01", "Scullery", 1), ("m01", "Scullery", 1), ("m02", "Boiler house", 1)]


def test_a_third_picture_of_two_is_in_doubt(voidbook: Callable[..., Ran], db: Any, tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "m.jsonl", TOLD), *photos(tmp_path, 28, 33, 40), "--speaker", "A")
    assert linked(db) == [("m01", "Scullery", 1), ("m01", "Scullery", 1), ("m01", "Scullery", 0)]
    assert "2026-03-02 08.40.00 (link not sure)" in " ".join(voidbook("photos").out.split())


def test_photos_of_another_person_are_not_counted(voidbook: Callable[..., Ran], db: Any, tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "m.jsonl", TOLD), *photos(tmp_path, 32, 33), "--speaker", "A")
    voidbook("take", *photos(tmp_path, 31), "--speaker", "B")
    assert linked(db) == [("m01", "Scullery", 0), ("m01", "Scullery", 1), ("m01", "Scullery", 1)]


def test_a_number_put_right_by_a_person_counts(voidbook: Callable[..., Ran], db: Any, tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "m.jsonl", TOLD), *photos(tmp_path, 28, 33, 40), "--speaker", "A")
    text = TOLD["text"]
    assert voidbook("word", "m01", "two", "three", "--by", "Ann").code == 0, text
    assert [sure for *_, sure in linked(db)] == [1, 1, 1]
    voidbook("undo", "--by", "Ann")
    assert [sure for *_, sure in linked(db)] == [1, 1, 0]


def test_photos_told_of_and_not_filed_are_named(voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    voidbook("take", jsonl(tmp_path / "m.jsonl", TOLD, AFTER), "--speaker", "A")
    assert "! memo m01 tells of 2 photos, none filed with it" in voidbook("photos", "--room", "scullery").out
    assert "tells of" not in voidbook("photos", "--room", "boiler house").out
    voidbook("take", *photos(tmp_path, 37), "--speaker", "A")
    assert {"memo": "m01", "told": 2, "filed": 1} in voidbook("photos", "--json").rows
    voidbook("take", *photos(tmp_path, 38), "--speaker", "A")
    assert "tells of" not in voidbook("photos").out
