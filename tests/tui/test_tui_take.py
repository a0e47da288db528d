"""Taking files from inside, two windows at once, and what is wrong with a book."""

from __future__ import annotations

import asyncio
import json
import shutil
import sys
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select

from notes import intake
from notes import job as jobs
from notes.book import opened
from tests.tui.desk import drive, fact, facts, press, put, query, settle, text
from tui.app import Review
from tui.bridge import Desk
from tui.bridge.bringing import Bringing
from tui.bring_in import named
from tui.taking import Taking

SAMPLES = Path(__file__).resolve().parents[2] / "sample_media"


class Silent:
    """Whoever takes it as it comes."""

    def __getattr__(self, name: str) -> Callable[..., None]:
        return lambda *_, **__: None


def test_files_are_taken_by_a_child_and_what_failed_is_shown_with_its_reason(root: Path, tmp_path: Path) -> None:
    (tmp_path / "broken one.m4a").write_bytes(b"")
    photo = shutil.copy(SAMPLES / "01_basin_tails.jpg", tmp_path)

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "t")
        pilot.app.screen.query_one("#paths").value = f"'{tmp_path}/broken one.m4a' {photo}"  # type: ignore[attr-defined]
        await press(pilot, "enter")
        shown = " ".join(text(pilot).split())
        assert "01_basin_tails.jpg filed as 01_basin_tails" in shown
        assert "Could not be filed" in shown and "broken one.m4a" in shown

    drive(root, script, (120, 40))
    assert query(root, "SELECT count(*) FROM photos") == [(2,)]


def test_the_app_stays_live_while_files_are_taken(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = json.dumps({"file": "/x/a.m4a", "doing": "listening", "share": 0.4, "seconds_left": 9})
    slow = f"import time; print({told!r}, flush=True); time.sleep(1.5)"
    monkeypatch.setattr(Bringing, "take", lambda self, paths, **_: [sys.executable, "-c", slow])

    async def script(pilot: Pilot[None]) -> None:
        from tui.app import Review

        app = pilot.app
        assert isinstance(app, Review)
        await press(pilot, "t")
        app.take(["a.m4a"])
        while not app.taking.lines:
            await pilot.pause(0.05)
        assert "listening, 40% done, about 9 s left" in text(pilot)
        await pilot.press("escape", "o")
        await pilot.pause(0.2)
        assert app.taking.running and "Still open" in text(pilot)

    drive(root, script, (120, 40))


def test_a_child_that_can_do_nothing_says_why(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        Bringing, "take", lambda self, paths, **_: [sys.executable, "-c", "raise SystemExit('voidbook: no room')"]
    )

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "t", "text:/", "enter")
        assert "voidbook: no room" in text(pilot)

    drive(root, script)


def test_progress_is_told_in_words() -> None:
    taking = Taking()
    taking.told({"file": "a", "doing": "looking at it", "share": None, "seconds_left": None})
    taking.told({"file": "b", "done": "failed", "reason": "it is empty"})
    taking.told({"file": "a", "done": "filed", "ids": ["m1"], "facts": 3})
    taking.told({"file": "c", "done": "filed before", "ids": []})
    assert list(taking.lines.items()) == [
        ("b", "not filed: it is empty"), ("a", "filed as m1, 3 entries"), ("c", "filed before, nothing to do"),
    ]  # fmt: skip
    assert taking.failed == {"b"}


def test_files_are_named_as_a_terminal_drops_them(tmp_path: Path) -> None:
    spaced = tmp_path / "a b.m4a"
    spaced.touch()
    assert named(str(spaced)) == [str(spaced)]
    assert named(f"'{spaced}' /x/c.m4a") == [str(spaced), "/x/c.m4a"]
    assert named(r"/x/a\ b.m4a") == ["/x/a b.m4a"]
    assert named("it's.m4a") == ["it's.m4a"]
    assert named("  ") == []
    assert named("x" * 5000) == ["x" * 5000]  # longer than the name of any file


def test_two_windows_and_a_take_at_once_lose_nothing(root: Path, tmp_path: Path) -> None:
    source = tmp_path / "more.jsonl"
    lines = [
        {"id": f"n{n}", "at": f"2026-03-05T08:{n:02}:00+00:00", "text": "Scullery. Cold is run."} for n in range(12)
    ]
    source.write_text("".join(f"{json.dumps(line)}\n" for line in lines))
    ids = [fact.id or 0 for fact in facts(root)]
    wrong: list[Exception] = []

    def decide(who: str, id: int) -> None:
        desk = Desk(root, who)
        try:
            for n in range(10):
                desk.decide.correct(id, {"place": f"{who} {n}"})
        except Exception as error:
            wrong.append(error)

    def take() -> None:
        with opened(root) as db:
            wrong.extend(intake.take(db, root, jobs.load(root), [source], Silent()))  # type: ignore[arg-type]

    doing = [threading.Thread(target=decide, args=(who, id)) for who, id in zip("AB", ids, strict=False)]
    doing.append(threading.Thread(target=take))
    for each in doing:
        each.start()
    for each in doing:
        each.join()
    assert not wrong
    assert query(root, "SELECT who, count(*) FROM decisions GROUP BY who") == [("A", 10), ("B", 10)]
    assert [fact.place for fact in facts(root)[:2]] == ["A 9", "B 9"]
    assert query(root, "SELECT count(*) FROM memos WHERE id LIKE 'n%'") == [(12,)]


async def until(pilot: Pilot[None], holds: Callable[[], bool]) -> None:
    """Wait until it holds, for at most ten seconds."""
    for _ in range(1000):
        if holds():
            return
        await pilot.pause(0.01)
    raise AssertionError(text(pilot))


def test_two_windows_and_a_take_in_a_child_lose_nothing(root: Path, tmp_path: Path) -> None:
    source = tmp_path / "more.jsonl"
    told = [{"id": f"n{n:02}", "at": f"2026-03-05T08:{n:02}:00+00:00", "text": "Scullery. Cold is run."}
            for n in range(15)]  # fmt: skip
    source.write_text("".join(f"{json.dumps(line)}\n" for line in told))
    sizes = ("15", "28", "10", "42", "54", "35")  # never one that a list not read again yet may still show
    seen: dict[str, str] = {}

    async def window(who: str, down: int, meet: asyncio.Barrier) -> None:
        app = Review(root)
        async with app.run_test(size=(120, 40)) as pilot:
            app.change(replace(app.set, who=who))
            await settle(pilot)
            await press(pilot, "a", "home", "enter", *["down"] * down)
            await meet.wait()
            if who == "A":
                app.take([str(source)])
            while app.taking.running < 1 and who == "A":
                await pilot.pause(0.01)
            for size in sizes:
                await pilot.press("enter")
                await until(pilot, lambda: bool(app.screen.query("#size_mm")))
                app.screen.query_one("#size_mm", Select).value = float(size)
                await pilot.press("ctrl+s")
                await app.writes.join()
                await until(pilot, lambda: not app.screen.query("#size_mm"))
            await settle(pilot)
            await meet.wait()
            app._look()
            await settle(pilot)
            seen[who] = text(pilot)

    async def both() -> None:
        meet = asyncio.Barrier(2)
        await asyncio.gather(window("A", 0, meet), window("B", 1, meet))

    asyncio.run(both())
    assert query(root, "SELECT who, count(*) FROM decisions GROUP BY who") == [("A", 6), ("B", 6)]
    assert query(root, "SELECT count(*) FROM memos WHERE id LIKE 'n%'") == [(15,)]
    assert [(fact.size_mm, fact.by) for fact in facts(root)[:2]] == [(35, "A"), (35, "B")]
    assert not query(root, "SELECT * FROM problems")
    for shown in seen.values():  # each window shows what the other decided
        assert "put right by A" in " ".join(shown.split()) and "put right by B" in " ".join(shown.split())


def test_a_damaged_book_is_said_and_the_app_stays(root: Path) -> None:
    async def script(pilot: Pilot[None]) -> None:
        for name in ("book.db", "book.db-wal", "book.db-shm"):
            (root / name).unlink(missing_ok=True)
        (root / "book.db").write_bytes(b"no book at all" * 100)
        await press(pilot, "o")
        assert "the book is damaged" in " ".join(text(pilot).split())
        await press(pilot, "u")
        assert "Still open" in text(pilot)

    drive(root, script, (120, 40))


def test_user_text_is_never_markup_nor_terminal_code(root: Path) -> None:
    from contextlib import closing

    from notes import book

    nasty = "[bold red]Scullery[/] [@click=app.leave]x[/] \x1b[31mred\x1b[0m \u202eevil end"
    with closing(book.connect(root)) as db:
        evil = fact("m03", 0, nasty, quote=nasty, room="Scullery", subject="cold", place="[reverse]here[/reverse]")
        put(db, jobs.load(root), "m03", nasty, [evil], hours=30, speaker="[blink]B")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "a", "home", "down", "enter")
        shown = text(pilot)
        assert "[reverse]here[/reverse]" in " ".join(shown.split()) and "[blink]B" in shown
        assert "[@click=app.leave]x[/]" in " ".join(shown.replace("▏", " ").split())
        assert "\x1b" not in shown and "\u202e" not in shown
        await press(pilot, "enter")
        assert "[reverse]here" in text(pilot)
        await press(pilot, "escape", "slash", "text:evil")
        assert "[bold red]" in text(pilot)

    drive(root, script, (160, 40))


@pytest.mark.parametrize("size", [(80, 24), (200, 60)])
def test_every_screen_opens_at_both_sizes(root: Path, size: tuple[int, int]) -> None:
    async def script(pilot: Pilot[None]) -> None:
        for key, words in (("o", "Still open"), ("r", "Pipe runs"), ("p", "Photos"), ("d", "Dictate a memo"),
                           ("h", "What was decided"), ("k", "Settings"), ("t", "Take in files")):  # fmt: skip
            await press(pilot, key)
            assert words in text(pilot)

    drive(root, script, size)


def test_a_name_that_was_mistyped_is_told_and_stays_to_be_put_right(root: Path, tmp_path: Path) -> None:
    wrong = str(tmp_path / "nothing.m4a")

    async def script(pilot: Pilot[None]) -> None:
        await press(pilot, "t", f"text:{wrong}", "enter")
        assert "there is no" in text(pilot) and pilot.app.screen.query_one("#paths", Input).value == wrong

    drive(root, script)
    assert not query(root, "SELECT * FROM problems")
