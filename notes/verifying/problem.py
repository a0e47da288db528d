"""What was found wrong."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field

BACKUP = "restore it from a backup"
BAD = (ValueError, KeyError, TypeError, AttributeError, OverflowError, IndexError)
"""What reading a row raises that does not hold what it should."""

Mend = Callable[[sqlite3.Connection], None]
"""Puts it right, inside a write transaction."""


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, with what, and what to do. `mend` where it can be put right without losing anything."""

    what: str
    about: str
    todo: str
    mend: Mend | None = field(default=None, compare=False)
    error: bool = True
    """Whether something is lost or not to be trusted; if not, it is litter."""


def litter(what: str, about: str, todo: str, mend: Mend) -> Problem:
    """A left-over that does no harm."""
    return Problem(what, about, todo, mend, error=False)
