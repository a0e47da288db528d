"""The labelled scenarios of tests/gold as values: facts as a careful reader would have them, flags from the words."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from notes.checking.due import sentence
from notes.checking.numerals import NUMBER, number
from notes.lexicon import load as lexicon_for
from notes.model import Fact, Job, Memo, Photo, Room, Status
from notes.reading.passing import in_passing

ROOT = Path(__file__).parent / "gold"
SCENARIOS = sorted(folder.name for folder in ROOT.iterdir() if (folder / "open.jsonl").exists())

_TEMPORARY = re.compile(r"temporar|for now|tide us over|daein a turn|get us by|for the time being", re.IGNORECASE)
_PUT_IN = frozenset(("cap", "connect", "run", "fit", "tee", "join", "seal", "clip"))
_CORRECTS = re.compile(
    r"\bI (?:said|called|told you\w*|recorded)\b|measured|call?ipers|in the end|in fact|(?:gauge|rule|tape) (?:on|to)"
    r"|been and (?:looked|measured)|had (?:a|another) (?:proper )?(?:look|measure)\b|I look now|read the print",
    re.IGNORECASE,
)
_DEPTH = re.compile(
    rf"(?:\ba )?(hundred|(?:one|two) {NUMBER}|{NUMBER}) deep"
    r"|\b((?:one|two)[ -][a-z]+ty(?:-five)?|hundred and [a-z]+ty)\b"
    r"|\b(hundred) mil\b|\b((?:one|two) hundred|hundred and fifty) (?:by|joists?)\b|out of (?:a )?((?:one|two) hundred)"
)
_MANY = {"fifties": "fifty", "fives": "five", "hundreds": "hundred"}
_BY = re.compile(rf"\b({NUMBER}) by (?:two|three|four)s?\b")
_INCHES = re.compile(rf"\b({NUMBER})[ -]inch\b")


@dataclass(frozen=True)
class Told:
    job: Job
    facts: list[Fact]
    memos: dict[str, Memo]
    photos: list[Photo]
    asks: list[dict[str, Any]]
    open: list[dict[str, Any]]

    @property
    def when(self) -> dict[str, datetime]:
        return {id: memo.at for id, memo in self.memos.items()}


def _lines(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]


def load(scenario: str) -> Told:
    folder = ROOT / scenario
    raw = json.loads((folder / "job.json").read_text(encoding="utf-8"))
    job = Job(raw["name"], tuple(Room(r["name"], r["floor"], tuple(r["aliases"])) for r in raw["rooms"]))
    rows = _lines(folder / "memos.jsonl")
    memos = {
        row["id"]: Memo(row["id"], datetime.fromisoformat(row["at"]), row["speaker"], row["text"], row["text"], order=i)
        for i, row in enumerate(rows)
    }
    facts = [
        fact for row in rows for fact in in_passing(_fact(row, n, dict(said)) for n, said in enumerate(row["facts"]))
    ]
    photos = [photo for row in rows for photo in _photos(row, job)]
    return Told(job, facts, memos, photos, _lines(folder / "asks.jsonl"), _lines(folder / "open.jsonl"))


def _fact(row: dict[str, Any], n: int, said: dict[str, Any]) -> Fact:
    start = row["text"].find(said["quote"])
    end = start + len(said["quote"])
    around = sentence(row["text"], start, end)
    laid = said["action"] in _PUT_IN and said["status"] == "done"
    said |= {"from_": said.pop("from", None), "status": Status(said["status"])}
    return Fact(
        **said, memo=row["id"], n=n, start=start, end=end, temporary=laid and bool(_TEMPORARY.search(said["quote"])),
        correction=bool(_CORRECTS.search(around)), depth_mm=_depth(row["text"]) if said["subject"] == "joist" else None,
    )  # fmt: skip


def _depth(text: str) -> float | None:
    """'a hundred deep', 'two twenty-five', 'one seventy-five', 'joists is six inch'; 'fifteen deep' is a notch."""
    text = re.sub("|".join(_MANY), lambda many: _MANY[many[0]], text.lower())
    said = [_millimetres("".join(words)) for words in _DEPTH.findall(text)]
    joists = " ".join(s for s in text.split(".") if "joist" in s)
    said += [25.4 * number(words) for words in _INCHES.findall(joists)]
    said += [25 * inches for words in _BY.findall(text) if 4 <= (inches := number(words)) <= 12]
    return next((depth for depth in said if depth >= 75), None)


def _millimetres(words: str) -> float:
    hundreds = re.fullmatch(r"(one|two)[ -]((?!hundred).+)", words)
    return 100 * number(hundreds[1]) + number(hundreds[2]) if hundreds else number(words)


def _photos(row: dict[str, Any], job: Job) -> list[Photo]:
    lexicon = lexicon_for(job)
    found = []
    for photo in row.get("photos", ()):
        named = [hit.key for hit in lexicon.scan(photo["caption"]) if hit.kind == "room"]
        rooms = named or [said["room"] for said in row["facts"] if said["room"]]
        at = datetime.fromisoformat(photo["at"])
        found.append(Photo(photo["id"], at, rooms[0] if rooms else None, row["id"], photo["caption"]))
    return found
