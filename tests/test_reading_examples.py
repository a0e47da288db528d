"""Short sentences of all actions, statuses and turns of speech, each with the facts it tells."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from dictation import told

from notes.model import ACTIONS, Status

RAW: dict[str, Any] = tomllib.loads((Path(__file__).parent / "reading_examples.toml").read_text(encoding="utf-8"))
GAPS = RAW.pop("known_gap")
EXAMPLES: dict[str, list[str]] = {say: facts for section in RAW.values() for say, facts in section.items()}


@pytest.mark.parametrize("say", EXAMPLES, ids=str)
def test_a_sentence_tells_its_facts(say: str) -> None:
    assert sorted(told(say)) == sorted(EXAMPLES[say])


@pytest.mark.parametrize("gap", GAPS, ids=lambda gap: gap["say"])
def test_a_known_gap_is_still_one(gap: dict[str, Any]) -> None:
    mended = sorted(told(gap["say"])) == sorted(gap["facts"])
    assert not mended, f"no gap any more: move {gap['say']!r} up among the examples"


def test_examples_speak_of_every_action_and_status() -> None:
    said = [fact for facts in EXAMPLES.values() for fact in facts]
    assert len(EXAMPLES) >= 150
    assert {a for a in ACTIONS if not any(f" {a} " in fact for fact in said)} == set()
    assert {s for s in Status if not any(fact.endswith(f" {s}") for fact in said)} == set()
