"""Words of the trade, rooms and dialect as spans of the memo's own text."""

from __future__ import annotations

import pytest
from dictation import NO_JOB, lexicon, row
from hypothesis import given
from hypothesis import strategies as st

from notes.errors import VoidbookError
from notes.model import Room
from notes.reading.mentions import dialect, nodes, tokens
from notes.reading.wordlists import parse, pattern, words


def _named(text: str) -> list[tuple[str, tuple[str, ...]]]:
    return [(n.kind, n.keys) for n in row(text) if n.kind not in ("word", "mark", "qty")]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("hot and cold", [("service", ("hot",)), ("service", ("cold",))]),
        ("the secondary return", [("service", ("hot return",))]),
        ("flow and return", [("pair", ("heating",))]),
        ("a push-fit cap", [("item", ("fitting",))]),
        ("isolation valve", [("item", ("valve",))]),
        ("wash hand basin", [("item", ("basin",))]),
        ("soil vent pipe", [("service", ("soil",))]),
        ("pex-al-pex", [("material", ("multilayer",))]),
        ("the kitchen", [("head", ("kitchen",))]),
        ("the plant room", [("head", ("plant room",))]),
    ],
)
def test_longest_term_wins(text: str, wanted: list[tuple[str, tuple[str, ...]]]) -> None:
    assert _named(text) == wanted


def test_a_room_of_the_job_goes_before_a_bare_noun() -> None:
    found = nodes("in the back kitchen", lexicon(Room("Scullery", "Ground", ("back kitchen",))))
    assert [(n.kind, n.keys) for n in found if n.keys] == [("room", ("Scullery",))]


@pytest.mark.parametrize(
    ("text", "norms"),
    [
        ("isn't", ["is", "not"]),
        ("it’s", ["it", "'s"]),
        ("the watter's cauld", ["the", "water", "'s", "cold"]),
        ("gonna cap", ["going", "to", "cap"]),
        ("I've na done it", ["i", "have", "no", "done", "it"]),
        ("'ead", ["head"]),
        ("ay up", ["ay", "up"]),
        ("it ay capped", ["it", "not", "capped"]),
    ],
)
def test_dialect_is_evened_out(text: str, norms: list[str]) -> None:
    assert [t.norm for t in tokens(text)] == norms


def test_dialect_table_changes_something() -> None:
    assert all(heard != norm for heard, norm in dialect().items())
    assert all(heard == heard.lower() for heard in dialect())


@given(st.text(max_size=300))
def test_nodes_cover_the_text_in_order(text: str) -> None:
    found = nodes(text, NO_JOB)
    at = 0
    for node in found:
        assert 0 <= node.start < node.end <= len(text)
        assert node.start >= at or node.start == found[max(0, found.index(node) - 1)].start
        at = node.start


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('[a]\nabout = "x"\nwords = "a b a"', "'a' stands there twice"),
        ('[a]\nabout = "x"\nwords = "A"', "must be in lower case"),
        ('[a]\nwords = "a"', "wants 'about'"),
        ('[a]\nabout = "x"', "wants 'about', and one of"),
        ('[a]\nabout = "x"\nwords = "a"\nany = ["b"]', "one of 'words' and 'any'"),
        ('[a]\nabout = "x"\nany = ["("]', "not a pattern"),
        ('[a]\nabout = "x"\nword = "a"', "no key 'word'"),
    ],
)
def test_word_lists_are_checked(text: str, what: str) -> None:
    with pytest.raises(VoidbookError, match="a: ") as wrong:
        parse(text)
    assert what in str(wrong.value)


def test_word_lists_are_read() -> None:
    assert "underneath" in words("places")
    assert pattern("failed").search("it went down overnight")
    assert not pattern("taken-back", "^", "$").search("no problem")
