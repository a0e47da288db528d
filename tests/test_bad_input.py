"""Bad input through the commands: one clear line each, an exit code of its kind, everything else still filed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import Ran, jsonl, said

from notes import search

Run = Callable[..., Ran]
GOOD = "In the scullery. Capped the hot."


def _bad_files(folder: Path) -> dict[str, str]:
    """File names and what is said of each."""
    from PIL import Image

    folder.mkdir()
    (folder / "empty.m4a").write_bytes(b"")
    (folder / "text.m4a").write_text("I am no sound at all.\n" * 50)
    (folder / "cut.m4a").write_bytes(b"\0\0\0\x20ftypM4A \0\0\0\0" + b"\0" * 400)
    (folder / "bomb.png").write_bytes(_bomb())
    Image.new("RGB", (64, 64)).save(folder / "half.jpg")
    whole = (folder / "half.jpg").read_bytes()
    (folder / "half.jpg").write_bytes(whole[: len(whole) // 2])
    (folder / "words.txt").write_bytes(b"caf\xe9 \xff\xfe\x80")
    (folder / "blank.txt").write_text("  \n")
    return {
        "empty.m4a": "the file is empty", "text.m4a": "it holds text", "cut.m4a": "no sound",
        "bomb.png": "million pixels", "half.jpg": "cut short", "words.txt": "it holds no text",
        "blank.txt": "there are no words in it",
    }  # fmt: skip


def _bomb() -> bytes:
    """A PNG that says it is 60,000 pixels wide and high."""
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 9000))
        + chunk(b"IEND", b"")
    )


def test_each_bad_file_is_one_clear_line_and_the_good_ones_are_filed(voidbook: Run, root: Path, tmp_path: Path) -> None:
    folder = tmp_path / "phone"
    wrong = _bad_files(folder)
    (folder / "good.txt").write_text(GOOD)
    taken = voidbook("take", folder)
    assert taken.code == 4
    assert "good.txt: filed as good, 1 fact" in taken.err
    for name, what in wrong.items():
        (line,) = [line for line in taken.err.splitlines() if name in line]
        assert what in line
    assert "Traceback" not in taken.err
    assert taken.out == ""
    listed = voidbook("problems", "--json").rows
    assert {Path(row["file"]).name for row in listed} == set(wrong)
    assert all(wrong[Path(row["file"]).name] in row["reason"] for row in listed)


def test_a_mended_file_is_filed_by_again(voidbook: Run, tmp_path: Path) -> None:
    file = tmp_path / "note.txt"
    file.write_text("")
    assert voidbook("take", file).code == 4
    assert voidbook("take", "--again").code == 4
    file.write_text(GOOD)
    assert voidbook("take", "--again").code == 0
    assert voidbook("problems").out == "Every file that was taken is filed.\n"
    assert voidbook("take", "--again").err == "there is nothing to try again\n"


def test_a_file_nobody_wants_is_struck_off_the_list(voidbook: Run, tmp_path: Path) -> None:
    for name in ("a.txt", "b.txt"):
        (tmp_path / name).write_text("")
    voidbook("take", tmp_path / "a.txt", tmp_path / "b.txt")
    assert "b.txt" in voidbook("problems", "--forget", tmp_path / "a.txt").out
    assert [Path(row["file"]).name for row in voidbook("problems", "--json").rows] == ["b.txt"]


def test_a_name_of_two_lines_is_told_on_one(voidbook: Run, tmp_path: Path) -> None:
    (tmp_path / "a\nvoidbook: all is well.txt").write_text(GOOD)
    (tmp_path / "b\nvoidbook: all is well.txt").write_bytes(b"")
    for line in voidbook("take", *sorted(tmp_path.glob("*.txt"))).err.splitlines():
        assert not line.startswith("voidbook: all")


def test_a_file_that_is_gone_is_said(voidbook: Run, tmp_path: Path) -> None:
    taken = voidbook("take", tmp_path / "gone.m4a")
    assert taken.code == 4
    assert taken.err.splitlines()[0] == (
        f"{tmp_path}/gone.m4a: there is no such file any more; check the name and take it again"
    )


def test_a_file_that_vanishes_while_it_is_taken_is_said(
    voidbook: Run, root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from notes import kinds

    file = tmp_path / "a.txt"
    file.write_text(GOOD)
    look = kinds.kind_of

    def look_and_lose(path: Path) -> kinds.Kind:
        kind = look(path)
        path.unlink()
        return kind

    monkeypatch.setattr(kinds, "kind_of", look_and_lose)
    taken = voidbook("take", file)
    assert (taken.code, taken.err.count("there is no such file any more")) == (4, 1)
    assert not list((root / "media").rglob("*.txt"))


def test_a_folder_without_rights_is_said_and_the_others_filed(
    voidbook: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("closed", "open"):
        (tmp_path / "phone" / name).mkdir(parents=True)
        (tmp_path / "phone" / name / f"{name}.txt").write_text(f"{GOOD} {name}")
    look = os.scandir

    def closed(path: Any) -> Any:  # root may read all, so the right is taken away here
        if str(path).endswith("closed"):
            raise PermissionError(13, "Permission denied", str(path))
        return look(path)

    monkeypatch.setattr(os, "scandir", closed)
    taken = voidbook("take", tmp_path / "phone")
    assert taken.code == 4
    assert "open.txt: filed as open" in taken.err
    assert f"{tmp_path}/phone/closed: this folder can't be read (Permission denied); change its rights" in taken.err


_SMALL_DISK = """
import resource, signal, sys
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), resource.RLIM_INFINITY))
from notes.cli import main
main(sys.argv[2:])
"""


@pytest.mark.skipif(not hasattr(signal, "SIGXFSZ"), reason="no limit on file sizes here")
def test_a_full_disk_is_said_and_nothing_is_half_filed(voidbook: Run, root: Path, tmp_path: Path) -> None:
    long = jsonl(
        tmp_path / "long.jsonl",
        *(said(f"m{n}", f"{GOOD} {n}. " + "Went for a brew. " * 60, hours=n) for n in range(60)),
    )
    limit = str(180_000)  # enough for the media, too little for the book
    command = [sys.executable, "-c", _SMALL_DISK, limit, "take", str(long)]
    full = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    assert full.returncode in (1, 5)
    assert "Traceback" not in full.stderr
    assert "long.jsonl" in full.stderr.splitlines()[0] or "book.db" in full.stderr.splitlines()[0]
    with search.opened(root) as db:
        assert db.execute("SELECT count(*) FROM memos").fetchone()[0] == 0
    assert voidbook("take", long).code == 0
    with search.opened(root) as db:
        assert db.execute("SELECT count(*) FROM memos").fetchone()[0] == 60


@pytest.mark.parametrize(
    ("words", "code", "line"),
    [
        (["log", "--room", "sculery"], 2, "no room is called 'sculery'; did you mean 'Scullery'?"),
        (["followups", "--room", "bakc kitchen"], 2, "no room is called 'bakc kitchen'; did you mean 'Scullery'?"),
        (["log", "--room", "zzz"], 2, "no room is called 'zzz'; see them with: voidbook rooms"),
        (["log", "--day", "31/12"], 2, "'31/12' is no day; write 2026-03-02, today or monday"),
        (["lgo"], 2, "no command is called 'lgo'; did you mean 'log'?"),
        (["log", "--rom", "x"], 2, "No such option '--rom'"),
        (["close", "x", "--why", "y"], 2, "'x' is not a valid integer"),
        (["close", "999", "--why", "y"], 2, "no follow-up has the number 999; see the numbers with"),
        (["memo", "nope"], 2, "no memo is called 'nope'; see them with: voidbook log"),
        (["take"], 2, "name a recording, photo, note or folder"),
        (["trace", ""], 2, "ask for a pipe"),
        (["log", "--job", "/"], 3, "no job here or in any folder above; make one with: voidbook new DIR"),
        (["new", "."], 3, "there is a job here already"),
        (["new", "x", "--from", "none.json"], 3, "none.json: it can't be read (No such file or directory); check the"),
        (["new", "x", "--zone", "Mars"], 3, "no time zone is called 'Mars'"),
    ],
)  # fmt: skip
def test_a_wrong_word_is_one_line_with_what_to_do(voidbook: Run, words: list[str], code: int, line: str) -> None:
    ran = voidbook(*words)
    assert (ran.code, ran.out) == (code, "")
    assert line in ran.err
    assert ran.err.count("\n") == 1
    assert ran.err.startswith("voidbook: ")


def test_a_wrong_key_in_the_job_is_named_by_every_command(voidbook: Run, root: Path) -> None:
    (root / "job.toml").write_text('name = "x"\nroms = []\n')
    for words in (["log"], ["take", "x"], ["find", "x"]):
        ran = voidbook(*words)
        assert ran.code == 3
        assert f"{root}/job.toml: no key of the job is called 'roms'; did you mean 'rooms'? known: name" in ran.err


def test_a_damaged_book_is_one_line(voidbook: Run, root: Path) -> None:
    (root / "book.db").write_bytes(b"no book" * 1000)
    for words in (["log"], ["take", "."], ["find", "x"], ["recheck"]):
        ran = voidbook(*words)
        assert (ran.code, ran.err.count("\n")) == (5, 1)
        assert "the book is damaged" in ran.err
