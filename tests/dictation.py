"""Sentences and whole scenarios read as they are dictated, for tests and benchmarks of the language part."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from notes.lexicon import Lexicon
from notes.lexicon import load as lexicon_for
from notes.model import Fact, Job, Memo, Room
from notes.reading import Carry, Reading, read
from notes.reading.mentions import Node, nodes
from notes.rows import fact_json

GOLD = Path(__file__).parent / "gold"
AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
NO_JOB = lexicon_for()
KEPT = (
    "almshouse", "brewery", "smokehouse", "retold/hotel",
    *(f"more/{name}" for name in ("customs", "infirmary", "museum", "packhorse", "rangers", "waterworks")),
)  # fmt: skip
"""Scenarios that nobody reads and nothing is learned from: they say how well dictation is read that is new to us."""


def lexicon(*rooms: Room) -> Lexicon:
    return lexicon_for(Job("a job", rooms))


def heard(text: str, *rooms: Room, before: Carry | None = None, speaker: str | None = "A") -> Reading:
    """One memo, read after `before`: all that the rules find in it, as it is they that single sentences try."""
    return read(Memo("m1", AT, speaker, text, text), lexicon(*rooms), before or Carry(), believed_only=False)


def told(text: str, *rooms: Room) -> list[str]:
    """What a memo tells, each as 'subject action status'."""
    return [short(fact) for fact in heard(text, *rooms).facts]


def short(fact: Fact) -> str:
    return f"{fact.subject} {fact.action} {fact.status}"


def row(text: str) -> list[Node]:
    return nodes(text, NO_JOB)


@dataclass(frozen=True)
class Scenario:
    """A labelled scenario: its lexicon, and its memos with what a careful reader finds in them."""

    name: str
    lexicon: Lexicon
    memos: tuple[dict[str, Any], ...]


def folders(kind: str) -> list[Path]:
    """Scenario folders: 'dev' those that rules were made by, 'own' those labelled here, 'retold' some of both in the
    words of other people, 'more' those that the second reader was shown; 57 also taught rules of rooms, slots."""
    root = GOLD if kind == "own" else GOLD / kind
    return sorted(folder for folder in root.iterdir() if (folder / "memos.jsonl").exists())


@lru_cache
def scenario(folder: Path) -> Scenario:
    raw = json.loads((folder / "job.json").read_text(encoding="utf-8"))
    rooms = tuple(Room(r["name"], r["floor"], tuple(r["aliases"])) for r in raw["rooms"])
    lines = (folder / "memos.jsonl").read_text(encoding="utf-8").splitlines()
    return Scenario(folder.name, lexicon(*rooms), tuple(json.loads(line) for line in lines if line.strip()))


def memo_of(told: dict[str, Any]) -> Memo:
    return Memo(told["id"], datetime.fromisoformat(told["at"]), told["speaker"], told["text"], told["text"])


def readings(of: Scenario, *, believed_only: bool = True) -> Iterator[tuple[dict[str, Any], Reading]]:
    """Every memo with what is read in it, each in the light of those before."""
    carry = Carry()
    for memo in of.memos:
        reading = read(memo_of(memo), of.lexicon, carry, believed_only=believed_only)
        carry = reading.after
        yield memo, reading


def as_rows(facts: Sequence[Fact]) -> list[dict[str, Any]]:
    return [fact_json(fact) for fact in facts]
