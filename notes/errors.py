"""What can go wrong, worded once.

    VoidbookError              exit 1   something is wrong; says with what and what to do
    ├── UsageError             exit 2   the command's words are off (unknown room, bad date)
    ├── JobError               exit 3   no job here, or job.toml is wrong
    ├── MediaError             exit 4   a file that can't be read: empty, cut short, not what it says, too big
    ├── BookError              exit 5   the book is damaged, too new, or busy for too long
    ├── SpeechError            exit 6   no speech weights, or they are not what they should be
    └── ClusterError           exit 7   the other machines can't be reached, are gone, or are not like this one

Every error is one line: what is wrong, with which file, what to do.
"""

from __future__ import annotations

from pathlib import Path


class VoidbookError(Exception):
    """The root of all errors that a person gets to read.

    `what` says what is wrong, `file` which file it is about, `todo` what the reader can do.
    """

    exit_code = 1

    def __init__(self, what: str, *, file: str | Path | None = None, todo: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.file = str(file) if file is not None else None
        self.todo = todo

    def __str__(self) -> str:
        line = f"{self.file}: {self.what}" if self.file else self.what
        return f"{line}; {self.todo}" if self.todo else line


class UsageError(VoidbookError):
    """The words of a command are off."""

    exit_code = 2


class JobError(VoidbookError):
    """There is no job here, or its job.toml is wrong."""

    exit_code = 3


class MediaError(VoidbookError):
    """A recording, photo or note that can't be read."""

    exit_code = 4


class BookError(VoidbookError):
    """The book can't be opened, written or trusted."""

    exit_code = 5


class SpeechError(VoidbookError):
    """Speech weights are missing or wrong."""

    exit_code = 6


class ClusterError(VoidbookError):
    """Other machines can't do the work."""

    exit_code = 7
