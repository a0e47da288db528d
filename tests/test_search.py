"""Finding: the trade's words find each other, and nothing that can be typed is an error."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conftest import a_fact, put
from hypothesis import example, given
from hypothesis import strategies as st

from notes import book, query, search
from notes.errors import BookError, UsageError
from notes.lexicon import Lexicon, load
from notes.model import Job, Room


@pytest.fixture
def lexicon(a_job: Job) -> Lexicon:
    return load(a_job)


@pytest.fixture(scope="module")
def any_book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A book for many questions."""
    root = tmp_path_factory.mktemp("book")
    text = "Capped the circulation behind the basin, three-quarter copper, at the back wall of the scullery"
    with closing(book.connect(root)) as db:
        fact = a_fact("m01", 0, text, text, subject="hot return", size_mm=22.0, room="Scullery")
        put(db, Job("x", (Room("Scullery"),)), "m01", text, [fact])
        yield db


_TYPED = st.one_of(
    st.text(),
    st.text(alphabet="\"*^():-+{}[]\\'.,;/½¾\0 aAnNdDoOrRtTeEhH01234"),
    st.lists(
        st.sampled_from(("AND", "NOT", "NEAR(", "hot", "3/4", '"', "*", "twenty-two", "¾", "1 1/4", "(", "words:"))
    ).map(" ".join),
)


@given(_TYPED, st.booleans())
@example('"', False)
@example("NEAR(hot, 3)", True)
@example("words : hot", False)
@example("hot*", True)
@example("\ud800 hot", False)
def test_nothing_that_is_typed_is_an_error(any_book: Any, words: str, typing: bool) -> None:
    found, _ = search.find(any_book, words, load(Job("x", (Room("Scullery"),))), typing=typing)
    assert {hit.memo for hit in found} <= {"m01"}


@pytest.mark.parametrize(
    "words",
    [
        "hot return", "secondary return", "Circulation", "HWR", "three-quarter", "3/4", "¾", "22", "22mm", "22 mil",
        "twenty-two", "twenty two mil", "cap", "capping basin", "secondary return 22 copper", "scullery circulation",
        "where's the hot return capped",
    ],
)  # fmt: skip
def test_the_trades_words_find_each_other(any_book: Any, words: str) -> None:
    found, all_met = search.find(any_book, words, load(Job("x", (Room("Scullery"),))))
    assert ([hit.memo for hit in found], all_met) == (["m01"], True)


@pytest.mark.parametrize("words", ["gas", "15", "28 mil", "half inch", "bath", "hot return gas"])
def test_what_was_not_said_is_not_met(any_book: Any, words: str) -> None:
    found, all_met = search.find(any_book, words, load(Job("x")))
    assert found == [] or not all_met


def test_the_words_met_are_marked(filled: Any, lexicon: Lexicon) -> None:
    (hit,), _ = search.find(filled, "lagged cold", lexicon)
    assert hit.memo == "m01"
    assert "\x02Cold\x03" in hit.snippet
    assert "\x02lagging\x03" in hit.snippet
    (by_fact,), _ = search.find(filled, "waste leave", lexicon)  # 'leave' is the fact's word, the memo says 'left'
    assert by_fact.snippet == "…\x02Left the waste open under the sink\x03…"
    assert [fact.subject for fact in by_fact.facts] == ["waste"]


def test_rooms_are_found_by_their_nicknames(filled: Any, lexicon: Lexicon) -> None:
    found, _ = search.find(filled, "scullery waste", lexicon)
    assert [hit.memo for hit in found] == ["m02"]
    found, _ = search.find(filled, "family bathroom cold", lexicon)
    assert [hit.memo for hit in found] == ["m01"]


def test_what_was_done_to_it_in_the_room_comes_before_what_mentions_both(tmp_path: Path) -> None:
    job = Job("x", (Room("Kitchen"), Room("Kitchen store"), Room("Hall")))
    said = (
        ("m01", "Hall", "mains", "Mains to the kitchen run, hot kitchen pipes by others, hot kitchen, hot kitchen"),
        ("m02", "Kitchen", "cold", "Cold run beside the hot one, nearer the wall than the hot"),
        ("m03", "Kitchen store", "hot", "Hot run along the back of the racking"),
        ("m04", "Kitchen", "hot", "The long way round behind all of the tall units and down again, that is run now"),
    )
    with closing(book.connect(tmp_path)) as db:
        for memo, room, subject, text in said:
            put(db, job, memo, text, [a_fact(memo, 0, text, text, room=room, subject=subject)])
        found, all_met = search.find(db, "hot kitchen", load(job))
        half, _ = search.find(db, "hot kitch", load(job), typing=True)
    assert ([hit.memo for hit in found], all_met) == (["m04", "m03", "m02", "m01"], True)
    assert {hit.memo for hit in half} == {"m01", "m02", "m03", "m04"}


def test_the_last_word_may_be_half_typed(filled: Any, lexicon: Lexicon) -> None:
    assert search.find(filled, "circu", lexicon) == ([], True)
    found, _ = search.find(filled, "circu", lexicon, typing=True)
    assert [hit.memo for hit in found] == ["m01"]


def test_where_none_has_all_words_those_with_some_are_given(filled: Any, lexicon: Lexicon) -> None:
    found, all_met = search.find(filled, "waste chimney", lexicon)
    assert ([hit.memo for hit in found], all_met) == (["m02"], False)


def test_a_size_with_a_fraction_is_one_thing(lexicon: Lexicon) -> None:
    assert len(query.ways("1 1/2 waste", lexicon)) == 2
    assert "40" in query.ways("inch and a half", lexicon)[0]
    assert query.expression("?!", lexicon) is None
    # a stopcock is called many things, and is no other valve
    assert "stop tap" in query.ways("stopcock", lexicon)[0]
    assert "lockshield" not in query.ways("stopcock", lexicon)[0]
    assert query.ways("dishwasher", lexicon) == [("dishwasher",)]
    assert {"stopcock", "lockshield"} <= set(query.ways("valves", lexicon)[0])


def test_facts_are_narrowed_by_room_and_day(filled: Any) -> None:
    assert {s.fact.memo for s in search.said(filled, room="Scullery")} == {"m02"}
    assert {s.fact.memo for s in search.said(filled, day="2026-03-02")} == {"m01"}
    assert {s.fact.memo for s in search.said(filled, since="2026-03-03")} == {"m02"}
    assert [s.fact.memo for s in search.said(filled)] == ["m01", "m01", "m01", "m02"]


def test_followups_come_worst_first_then_oldest(filled: Any) -> None:
    order = ["high", "medium", "low", "reminder"]
    found = search.followups(filled)
    keys = [(order.index(item.severity.value), item.since) for item in found]
    assert len(found) >= 4
    assert keys == sorted(keys)


def test_rooms_are_counted_in_the_jobs_order(filled: Any, a_job: Job) -> None:
    tallies = search.tallies(filled, a_job)
    assert [(t.room.name, t.facts) for t in tallies] == [("House bathroom", 3), ("Scullery", 1), ("Boiler house", 0)]
    assert tallies[0].open == sum(item.room == "House bathroom" for item in search.followups(filled))


def test_an_unknown_memo_is_told_the_nearest(filled: Any) -> None:
    assert search.memo(filled, "M01").id == "m01"
    with pytest.raises(UsageError, match="did you mean 'm01'"):
        search.memo(filled, "m011")


def test_runs_are_joined_from_no_more_than_they_need(filled: Any) -> None:
    assert {f.subject for f in search.for_runs(filled, ["Scullery"])} == {"waste"}
    assert {f.subject for f in search.for_runs(filled, [], ["hot", "cold"])} == {"hot", "cold"}
    assert len(search.for_runs(filled)) == 4


def test_a_job_without_a_book_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="voidbook take"), search.opened(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []


class _Refused:
    """What SQLite gives where it can't make the files that WAL needs."""

    def execute(self, _sql: str) -> None:
        raise sqlite3.OperationalError("unable to open database file")

    def close(self) -> None: ...


def test_a_book_in_a_folder_without_rights_is_read(root: Path, filled: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    connect, tries = sqlite3.connect, []

    def connect_or_refuse(name: str, **options: Any) -> Any:
        tries.append("immutable" in name)
        return connect(name, **options) if tries[-1] else _Refused()

    monkeypatch.setattr(sqlite3, "connect", connect_or_refuse)
    with pytest.raises(BookError, match="can't be used"), search.opened(root):
        pass  # what the last writer left beside the book would be missed
    filled.close()
    with search.opened(root) as db:
        assert len(list(search.said(db))) == 4
    assert tries == [False, False, True]
