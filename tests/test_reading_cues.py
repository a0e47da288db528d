"""Every cue of cues.toml by its own two sentences, and the file itself."""

from __future__ import annotations

import tomllib

import pytest
from dictation import row

from notes.lexicon import data_text
from notes.model import Status
from notes.reading import scope
from notes.reading.actions import acts
from notes.reading.clauses import clauses, sentences

CUES = tomllib.loads(data_text("cues.toml"))["cue"]
NAMES = [raw["id"] for raw in CUES]


def _reaching(text: str) -> set[str]:
    """The cues that reach any work in `text`."""
    nodes = row(text)
    seen = scope.found(nodes)
    return {
        c.cue.id
        for start, end in sentences(nodes)
        for part in clauses(nodes, start, end)
        for act in acts(nodes) if part.start <= act.start < part.end
        for c in seen if scope.reaches(c, act, nodes, (part.start, part.end), (start, end))
    }  # fmt: skip


@pytest.mark.parametrize("raw", CUES, ids=NAMES)
def test_a_cue_is_seen_where_it_applies(raw: dict[str, str]) -> None:
    assert raw["id"] in {f.cue.id for f in scope.found(row(raw["applies"]))}


@pytest.mark.parametrize("raw", CUES, ids=NAMES)
def test_a_cue_reaches_no_work_where_it_does_not_apply(raw: dict[str, str]) -> None:
    assert raw["id"] not in _reaching(raw["not"])


def test_a_cue_that_governs_reaches_its_work() -> None:
    for raw in CUES:
        if raw["status"] in ("not done", "to do", "unsure"):
            assert raw["id"] in _reaching(raw["applies"]), raw["id"]


@pytest.mark.parametrize("raw", CUES, ids=NAMES)
def test_a_cue_is_made_of_closed_choices(raw: dict[str, object]) -> None:
    assert raw["status"] in {*Status, "future", "void", "nil"}
    assert raw["direction"] in ("before", "after", "both")
    assert raw["within"] in ("clause", "sentence")
    assert set(raw.get("forms", ())) <= {"done", "base", "ing", "noun", "todo", "future"}  # type: ignore[call-overload]


def test_ids_and_words_stand_once() -> None:
    assert len(NAMES) == len(set(NAMES))
    for raw in CUES:
        assert len(raw["words"]) == len(set(raw["words"])), raw["id"]


def test_a_stop_word_ends_the_reach() -> None:
    assert "not" in _reaching("the hot is not capped")
    assert "not" not in _reaching("not but capped")
