"""A job: the folder with job.toml, found from here upward, read and checked, made and added to."""

from __future__ import annotations

import json
import os
import tomllib
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from notes.errors import JobError
from notes.model import PIPES, Job, Room

NAME = "job.toml"
_JOB_KEYS = ("name", "zone", "rooms", "services", "crew", "words", "working_pressure_bar")
_ROOM_KEYS = ("name", "floor", "nicknames")


def find(start: Path) -> Path:
    """The folder of the job that `start` is in. Raises JobError where there is none."""
    here = start.absolute()
    for folder in (here, *here.parents):
        with suppress(PermissionError):
            if (folder / NAME).is_file():
                return folder
    raise JobError("no job here or in any folder above", file=start, todo="make one with: voidbook new DIR")


def load(root: Path) -> Job:
    """The job in folder `root`. Raises JobError with the file, the key and what is allowed."""
    file = root / NAME
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise JobError("no job here", file=file, todo="make one with: voidbook new DIR") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as wrong:
        raise JobError(f"not valid TOML: {wrong}", file=file, todo="put that line right") from None
    return _job(table, file)


def from_json(file: Path) -> Job:
    """The job that a JSON file describes: name, rooms (name, floor, aliases), services."""
    try:
        table = json.loads(file.read_text(encoding="utf-8"))
    except OSError as wrong:
        raise JobError(f"it can't be read ({wrong.strerror})", file=file, todo="check the name") from None
    except (ValueError, RecursionError) as wrong:
        raise JobError(f"not valid JSON: {wrong}", file=file, todo="put that line right") from None
    if isinstance(table, dict) and isinstance(table.get("rooms"), list):
        table["rooms"] = [_renamed(room, "aliases", "nicknames") for room in table["rooms"]]
    return _job(table, file)


def create(root: Path, job: Job) -> None:
    """Make the folder and its job.toml. Raises JobError where a job stands already."""
    file = root / NAME
    if file.exists():
        raise JobError("there is a job here already", file=file, todo="choose another folder")
    _job(tomllib.loads(as_toml(job)), file)
    root.mkdir(mode=0o700, parents=True, exist_ok=True)
    _write(file, as_toml(job))


def add_word(root: Path, heard: str, meant: str) -> None:
    """Add to the job's own words that `heard` means `meant`, leaving the rest of the file as it was typed."""
    file = root / NAME
    job = load(root)
    text = file.read_text(encoding="utf-8")
    added = _with_word(text, f"{_quoted(heard)} = {_quoted(meant)}\n")
    words = {**job.words, heard: meant}
    _write(file, added if _words_of(added) == words else as_toml(_replaced(job, words)))


def drop_word(root: Path, heard: str) -> str:
    """Take `heard` out of the job's own words; returns what it meant. Raises JobError where it isn't one."""
    file = root / NAME
    job = load(root)
    if heard not in job.words:
        close = near(heard, job.words)
        todo = f"did you mean {close!r}?" if close else "see them with: voidbook words list"
        raise JobError(f"the job has no own word {heard!r}", file=file, todo=todo)
    words = {key: meant for key, meant in job.words.items() if key != heard}
    head, table, rest = file.read_text(encoding="utf-8").partition("[words]\n")
    own, bracket, others = rest.partition("\n[")
    kept = [line for line in own.splitlines(keepends=True) if _key_of(line) != heard]
    text = head + table + "".join(kept) + bracket + others
    _write(file, text if _words_of(text) == words else as_toml(_replaced(job, words)))
    return job.words[heard]


def _key_of(line: str) -> object:
    try:
        return next(iter(tomllib.loads(line)), None)
    except tomllib.TOMLDecodeError:
        return None


def _with_word(text: str, line: str) -> str:
    head, table, rest = text.partition("[words]\n")
    return head + table + line + rest if table else text.rstrip("\n") + "\n\n[words]\n" + line


def _words_of(text: str) -> object:
    try:
        return tomllib.loads(text).get("words")
    except tomllib.TOMLDecodeError:  # the word stands there already, or the table is written in another way
        return None


def _replaced(job: Job, words: Mapping[str, str]) -> Job:
    from dataclasses import replace

    return replace(job, words=words)


def _write(file: Path, text: str) -> None:
    # written beside and moved over, so that no reader or crash ever meets half a file
    part = file.with_name(f".{NAME}.{os.getpid()}")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)


def as_toml(job: Job) -> str:
    """The text of job.toml for `job`."""
    lines = [f"name = {_quoted(job.name)}", f"zone = {_quoted(job.zone)}"]
    lines += [f"{key} = [{', '.join(map(_quoted, names))}]" for key, names in _lists(job) if names]
    for room in job.rooms:
        lines += ["", "[[rooms]]", f"name = {_quoted(room.name)}"]
        lines += [f"floor = {_quoted(room.floor)}"] if room.floor else []
        lines += [f"nicknames = [{', '.join(map(_quoted, room.aliases))}]"] if room.aliases else []
    if job.words:
        lines += ["", "[words]", *(f"{_quoted(heard)} = {_quoted(meant)}" for heard, meant in job.words.items())]
    if job.working_pressure_bar:
        lines += ["", "[working_pressure_bar]"]
        lines += [f"{_quoted(service)} = {float(bar)}" for service, bar in job.working_pressure_bar.items()]
    return "\n".join(lines) + "\n"


def _lists(job: Job) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return ("services", job.services), ("crew", job.crew)


def _quoted(text: str) -> str:
    # JSON and TOML escape alike, but TOML takes no bare DEL and neither can hold half a surrogate pair
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return json.dumps(whole, ensure_ascii=False).replace("\x7f", "\\u007f")


def machine_zone() -> str:
    """The IANA name of this machine's time zone; UTC where it can't be told."""
    named = os.environ.get("TZ", "").lstrip(":") or _linked(Path("/etc/localtime"))
    return named if _is_zone(named) else "UTC"


def _linked(link: Path) -> str:
    with suppress(OSError):
        return str(link.readlink()).partition("zoneinfo/")[2]
    return ""


def _is_zone(name: str) -> bool:
    from zoneinfo import ZoneInfo

    try:
        return bool(name) and ZoneInfo(name) is not None
    except (KeyError, ValueError, OSError):
        return False


def near(word: str, known: Iterable[str]) -> str | None:
    """The one of `known` that `word` was probably meant to be."""
    from difflib import get_close_matches

    by_lower = {name.lower(): name for name in known}
    close = get_close_matches(word.lower(), by_lower, n=1, cutoff=0.5)
    return by_lower[close[0]] if close else None


def _renamed(room: object, old: str, new: str) -> object:
    return {new if key == old else key: value for key, value in room.items()} if isinstance(room, dict) else room


def _job(table: object, file: Path) -> Job:
    """`table` checked and made a Job."""
    top = _Checked(table, "the job", _JOB_KEYS, file)
    rooms = tuple(_room(entry, n, file) for n, entry in enumerate(top.list_of("rooms"), start=1))
    _no_twins([room.name for room in rooms], file)
    services = top.strings("services")
    pressures = top.table("working_pressure_bar", (int, float), "a number of bar")
    for service in (*services, *pressures):
        _known(service, PIPES, "service", file)
    zone = top.string("zone", "UTC")
    if zone != "UTC" and not _is_zone(zone):
        raise JobError(f"no time zone is called {zone!r}", file=file, todo='write it as in zone = "Europe/London"')
    words = top.table("words", (str,), "text")
    return Job(top.string("name"), rooms, services, top.strings("crew"), words, zone, pressures)


def _room(entry: object, number: int, file: Path) -> Room:
    room = _Checked(entry, f"room {number}", _ROOM_KEYS, file)
    return Room(room.string("name"), room.string("floor", ""), room.strings("nicknames"))


def _no_twins(names: list[str], file: Path) -> None:
    seen: set[str] = set()
    for name in names:
        if name.lower() in seen:
            raise JobError(f"two rooms are called {name!r}", file=file, todo="rename one of them")
        seen.add(name.lower())


def _known(word: str, known: tuple[str, ...], what: str, file: Path) -> None:
    if word in known:
        return
    close = near(word, known)
    raise JobError(
        f"no {what} is called {word!r}",
        file=file,
        todo=(f"did you mean {close!r}? " if close else "") + f"known: {', '.join(known)}",
    )


class _Checked:
    """A table of which only known keys and right types are taken."""

    def __init__(self, table: object, where: str, keys: tuple[str, ...], file: Path) -> None:
        self.where, self.file = where, file
        if not isinstance(table, dict):
            raise self._wrong("must be a table")
        for key in table:
            _known(key, keys, f"key of {where}", file)
        self.values: dict[str, Any] = table

    def _wrong(self, what: str) -> JobError:
        return JobError(f"{self.where}: {what}", file=self.file, todo="put it right and run the command again")

    def string(self, key: str, default: str | None = None) -> str:
        value = self.values.get(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self._wrong(f"{key} must be text" + (" in quotes" if value is not None else ", and is missing"))
        return value

    def list_of(self, key: str) -> list[object]:
        value = self.values.get(key, [])
        if not isinstance(value, list):
            raise self._wrong(f"{key} must be a list")
        return value

    def strings(self, key: str) -> tuple[str, ...]:
        values = self.list_of(key)
        if not all(isinstance(v, str) and v.strip() for v in values):
            raise self._wrong(f"{key} must be a list of texts")
        return tuple(map(str, values))

    def table(self, key: str, types: tuple[type, ...], what: str) -> dict[str, Any]:
        value = self.values.get(key, {})
        if not isinstance(value, dict) or not all(type(v) in types for v in value.values()):
            raise self._wrong(f"{key} must be a table whose values are {what}")
        return value
