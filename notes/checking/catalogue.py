"""Loads and lints data/checks.toml: what opens a follow-up, what closes it, and how it is worded.

A pattern is a few words: an action (or `any`, or `same` for the action that opened it), a status (done, not-done,
to-do, unsure, dropped, passed, failed) and flags (complete, incomplete, pressured, temporary, lasting, onward,
extended, placed, corrected).
`passed` and `failed` are tests that were done. A subject may stand before, with a colon: 'fitting: remove done'.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from string import Formatter
from typing import Any

from notes.errors import VoidbookError
from notes.lexicon import data_text
from notes.model import ACTIONS, ITEMS, PIPES, Fact, Severity, Status
from notes.tracing.state import measured, passed, under_pressure

FILE = "checks.toml"
_STATUSES = {s.value.replace(" ", "-"): s for s in Status} | {"passed": Status.DONE, "failed": Status.DONE}
_CONFIDENCE = ("guide", "quoted", "found", "derived", "memory", "common practice")
_TEXTS = ("id", "title", "severity", "settled", "caution", "source", "confidence")
_LISTS = ("opens", "closes", "except", "words")
_KEYS = (*_TEXTS, *_LISTS, "subjects", "needs", "scope", "examples_open", "examples_shut")
_EXTENDED = re.compile(
    r"\b(?:exten[ds]\w*|lengthened|(?:carried|taken|brought|continued) (?:it |them )?on)\b", re.IGNORECASE
)
_FLAGS: dict[str, Callable[[Fact], bool]] = {
    "complete": lambda f: measured(f) and f.duration_min is not None,
    "incomplete": lambda f: not measured(f) or f.duration_min is None,
    "pressured": under_pressure,
    "temporary": lambda f: f.temporary,
    "lasting": lambda f: not f.temporary and "still" not in f.quote.lower(),
    "onward": lambda f: f.to is not None or f.to_size_mm is not None,
    "placed": lambda f: any((f.place, f.from_, f.to)),
    "extended": lambda f: bool(_EXTENDED.search(f.quote)),
    "corrected": lambda f: f.correction and f.size_mm is not None,
    "deep": lambda f: f.depth_mm is not None,
    "passed": passed,
    "failed": lambda f: f.failed,
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """Facts that open or close: an action, a status, flags; `subject` only where it is not the one that opened."""

    action: str
    status: Status
    flags: tuple[str, ...] = ()
    subject: str = ""

    def meets(self, fact: Fact) -> bool:
        """Whether the flags hold; action and status are looked up, not asked."""
        return not self.flags or all(_FLAGS[flag](fact) for flag in self.flags)


@dataclass(frozen=True, slots=True)
class Check:
    """One rule. `settled` words what closes it; `needs` names a judgement that must find something first."""

    id: str
    title: str
    severity: Severity
    opens: tuple[Pattern, ...]
    closes: tuple[Pattern, ...]
    settled: str
    source: str
    confidence: str
    caution: str = ""
    subjects: frozenset[str] = frozenset()
    excepted: frozenset[str] = frozenset()
    needs: str = ""
    scope: str = "room"
    words: tuple[str, ...] = ()
    examples_open: tuple[tuple[str, ...], ...] = ()
    examples_shut: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Rules:
    """The catalogue; `does` maps a planned or doubted action to what else settles it, `done` to its word in titles."""

    checks: tuple[Check, ...]
    does: Mapping[str, frozenset[str]]
    done: Mapping[str, str]


@lru_cache(maxsize=1)
def rules() -> Rules:
    """The catalogue that ships with the program."""
    return parse(data_text(FILE))


def parse(text: str) -> Rules:
    """A catalogue from TOML. Raises VoidbookError naming the check, the key, what is allowed and the nearest name."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise VoidbookError(str(error), file=FILE) from error
    known("the file", table, ("check", "does", "done"))
    checks = tuple(_check(row) for row in table.get("check", ()))
    does = {action: frozenset(others) for action, others in table.get("does", {}).items()}
    for action, others in does.items():
        known("does", (action, *others), ACTIONS)
    done = dict(table.get("done", {}))
    known("done", done, ACTIONS)
    return Rules(checks, does, done)


def _check(row: Mapping[str, Any]) -> Check:
    where = f"check {row.get('id', '?')!r}"
    known(where, row, _KEYS)
    if missing := [key for key in _TEXTS if key not in row and key != "caution"]:
        raise VoidbookError(f"{where} lacks {', '.join(missing)}", file=FILE)
    known(where, (row["severity"],), [s.value for s in Severity])
    known(where, (row["confidence"],), _CONFIDENCE)
    known(where, (row.get("scope", "room"),), ("room", "job"))
    known(where, row.get("except", ()), ACTIONS)
    known(where, (name for _, name, _, _ in Formatter().parse(row["title"]) if name), ("subject", "finding", "done"))
    texts = {key: row.get(key, "") for key in _TEXTS if key != "severity"}
    return Check(
        **texts, severity=Severity(row["severity"]), opens=_patterns(where, row.get("opens", ())),
        closes=_patterns(where, row.get("closes", ())), subjects=_subjects(where, row.get("subjects", ())),
        excepted=frozenset(row.get("except", ())), needs=row.get("needs", ""), scope=row.get("scope", "room"),
        words=tuple(row.get("words", ())), examples_open=tuple(map(tuple, row.get("examples_open", ()))),
        examples_shut=tuple(map(tuple, row.get("examples_shut", ()))),
    )  # fmt: skip


def _subjects(where: str, names: Iterable[str]) -> frozenset[str]:
    known(where, names, ("pipes", "water", "drains", *PIPES, *ITEMS))
    groups = {
        "pipes": PIPES,
        "water": ("hot", "cold", "hot return", "mains"),
        "drains": ("waste", "soil", "condensate"),
    }
    return frozenset(one for name in names for one in groups.get(name, (name,)))


def _patterns(where: str, lines: Iterable[str]) -> tuple[Pattern, ...]:
    return tuple(_pattern(where, line) for line in lines)


def _pattern(where: str, line: str) -> Pattern:
    subject, _, rest = line.rpartition(": ")
    action, status, *flags = rest.split()
    known(where, (action,), (*ACTIONS, "any", "same"))
    known(where, (status,), tuple(_STATUSES))
    known(where, flags, tuple(_FLAGS))
    if subject:
        known(where, (subject,), (*PIPES, *ITEMS))
    done = {"passed": ("passed",), "failed": ("failed",)}.get(status, ())
    return Pattern(action, _STATUSES[status], (*done, *flags), subject)


def known(where: str, given: Iterable[str], allowed: Iterable[str]) -> None:
    """Refuse a name that is not allowed, with what is and the nearest."""
    names = list(allowed)
    for name in given:
        if name not in names:
            near = difflib.get_close_matches(name, names, 1)
            nearest = f"; nearest: {near[0]}" if near else ""
            raise VoidbookError(f"{where}: no {name!r}{nearest}", file=FILE, todo=f"allowed: {', '.join(names)}")


def spoken(words: Iterable[str]) -> re.Pattern[str] | None:
    """A pattern that finds any of `words` in what was said; None where there are none."""
    found = "|".join(words)
    return re.compile(rf"(?<!\w)(?:{found})(?!\w)", re.IGNORECASE) if found else None
