"""The one owner of stdout (data) and stderr (talk). Text from recordings and file names is hostile: all is cleaned."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import click

from notes.errors import VoidbookError
from notes.plain import clean as clean


def prepare() -> None:
    """Let no text end in an error for want of a letter in the terminal's alphabet."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def width() -> int:
    """Columns to write in: those of the terminal, never so many that a line gets hard to follow."""
    return max(40, min(shutil.get_terminal_size((80, 24)).columns, 100))


def _colour() -> bool | None:
    # None lets click ask whether it is a terminal
    return False if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb" else None


def line(text: str = "", *, bold: bool = False) -> None:
    """One line for a person."""
    cleaned = clean(text)
    click.echo(click.style(cleaned, bold=True) if bold and cleaned else cleaned, color=_colour())


def paragraph(text: str, *, first: str = "", rest: str = "") -> None:
    """Words wrapped to the width; `first` stands before the first line, `rest` before the others."""
    import textwrap

    cleaned = clean(text)
    wrapped = textwrap.wrap(cleaned, width(), initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)
    for row in wrapped or [first.rstrip()]:
        click.echo(row)


def records(rows: Iterable[Mapping[str, Any]]) -> None:
    """Data for programs: one JSON object a line, all of it in ASCII, so that nothing in it can drive a terminal."""
    for row in rows:
        click.echo(json.dumps(row, ensure_ascii=True, default=str))


def say(text: str) -> None:
    """One line of talk."""
    click.echo("\n".join(map(clean, text.split("\n"))), err=True, color=_colour())


def wrong(error: VoidbookError) -> int:
    """An error in one line; its exit code."""
    say(clean(f"voidbook: {error}"))
    return error.exit_code


def stopped() -> int:
    """The person pressed Ctrl-C."""
    say("\nstopped; what was filed stays filed")
    return 130


def reader_gone() -> int:
    """Whoever read stdout has enough. Nothing is left to say, not even at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 1


def counter(*, live: bool) -> Callable[[str, int, int], None]:
    """Tells, on a terminal, what is being done and how much of it."""

    def tell(what: str, done: int, of: int) -> None:
        if live:
            last = done + 1 >= of
            sys.stderr.write("\r\x1b[K" + ("" if last else f"{clean(what)}: {done + 1} of {of}"[: width() - 1]))
            sys.stderr.flush()

    return tell


def kept(done: str, memos: int, copied: int, problems: Iterable[VoidbookError]) -> int:
    """How a backup or its restoring went; the exit code."""
    say(f"{done}: {memos} memos, {copied} originals copied")
    codes = [wrong(each) for each in problems]
    return codes[0] if codes else 0
