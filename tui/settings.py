"""What a person set for this machine: keys, light or dark, their name."""

from __future__ import annotations

import json
import os
import tomllib
from dataclasses import dataclass, field, replace
from getpass import getuser
from pathlib import Path

import platformdirs

from tui import keys


@dataclass(frozen=True, slots=True)
class Settings:
    """`keys` maps the id of an action to its key. `wrong` says what in the file could not be used."""

    who: str = ""
    light: bool = False
    keys: dict[str, str] = field(default_factory=dict)
    wrong: tuple[str, ...] = ()


def file() -> Path:
    """Where settings are kept."""
    return platformdirs.user_config_path("voidbook") / "review.toml"


def load() -> Settings:
    """The settings; what can't be read is said and left aside."""
    try:
        table = tomllib.loads(file().read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings(who=_me())
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        return Settings(who=_me(), wrong=(f"{file()} can't be read: {error}",))
    told = table.get("keys", {})
    good, wrong = keys.sound(told) if isinstance(told, dict) else ({}, ["keys must be a table"])
    who = table.get("who")
    return Settings(who if isinstance(who, str) and who else _me(), table.get("light") is True, good, tuple(wrong))


def save(settings: Settings) -> None:
    """Keep the settings."""
    lines = [f"who = {_quoted(settings.who)}", f"light = {str(settings.light).lower()}", "", "[keys]"]
    lines += [f"{_quoted(id)} = {_quoted(key)}" for id, key in sorted(settings.keys.items())]
    _write(file(), "\n".join(lines) + "\n")


def with_key(settings: Settings, id: str, key: str | None) -> Settings:
    """`settings` with another key for an action; None gives it its own again."""
    others = {name: kept for name, kept in settings.keys.items() if name != id}
    return replace(settings, keys=others if key is None else {**others, id: key})


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}")
    part.write_text(text, encoding="utf-8")
    part.replace(path)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _me() -> str:
    try:
        return getuser()
    except (KeyError, OSError, ImportError):  # a container may run as a number without a name
        return "somebody"
