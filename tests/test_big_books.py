"""Books of any size: short text loses nothing, no more is read in a bigger book, and what is common is not ranked."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes import answering, book, concerning, export, hits, search, short, timed
from notes import job as jobs
from notes.lexicon import load
from notes.model import Job, Word
from notes.reading.scene import ROOMS_KEPT, Carry
from notes.runs import everywhere

HERE = Path(__file__).parent
sys.path.append(str(HERE / "bench"))

TIMES = st.none() | st.integers(0, 10**6).map(lambda n: n / 100)


@given(st.text())
def test_short_text_comes_back(text: str) -> None:
    assert short.full(short.short(text)) == short.full(text) == text


@given(st.integers(0, 400), st.integers(0, 7))
def test_a_flipped_bit_in_short_text_is_found(at: int, bit: int) -> None:
    said = "Capped the hot behind the basin. " * 9 + "Left the waste open under the sink, forty mil."
    kept = bytearray(short.short(said))
    kept[at % len(kept)] ^= 1 << bit
    with suppress(ValueError):  # a bit that no reader of zlib looks at does no harm
        assert short.full(bytes(kept)) == said


@st.composite
def spoken(draw: st.DrawFn) -> tuple[str, tuple[Word, ...]]:
    """A text with words that stand anywhere in it, one behind the other."""
    text = draw(st.text(alphabet="abé -\n'", max_size=60))
    cuts = sorted(draw(st.lists(st.integers(0, len(text)), unique=True)))
    words = []
    for start, end in zip(cuts[::2], cuts[1::2], strict=False):
        at = draw(TIMES)
        until = (
            draw(TIMES)
            if at is None
            else draw(st.none() | st.integers(0, 500).map(lambda n, at=at: round(at + n / 100, 2)))
        )
        sure, raw = (
            draw(st.none() | st.integers(0, 10_000).map(lambda n: n / 10_000)),
            draw(st.none() | st.just("rore")),
        )
        words.append(Word(text[start:end], start, end, at, until, sure, raw))
    return text, tuple(words)


@given(spoken())
def test_words_come_back_from_short_json(told: tuple[str, tuple[Word, ...]]) -> None:
    text, words = told
    kept = timed.packed(words, text)
    assert timed.unpacked(kept, text) == words
    assert timed.agree(kept, text)
    assert not timed.agree(kept, text + "x")


def test_words_as_they_are_heard_take_few_characters() -> None:
    text = "Capped the hot behind the basin, twenty-two mil."
    words = [
        Word(w, text.index(w), text.index(w) + len(w), n / 4, n / 4 + 0.2, 0.9876) for n, w in enumerate(text.split())
    ]
    assert timed.packed(words, text)["words"][:2] == [[0, 20, 9876], [25, 20, 9876]]


def test_only_the_rooms_spoken_of_last_are_carried(monkeypatch: pytest.MonkeyPatch) -> None:
    from dictation import heard

    from notes.model import Room

    rooms = [Room(f"Flat {n} kitchen") for n in range(ROOMS_KEPT + 3)]
    carry = Carry()
    for room in [*rooms, rooms[5]]:
        carry = heard(f"In the {room.name.lower()}. Capped the hot.", *rooms, before=carry).after
    assert list(Carry.from_json(carry.to_json()).known) == [
        *(r.name for r in rooms[3:] if r != rooms[5]),
        rooms[5].name,
    ]


# --- books of before


_TRANSCRIPT = (
    '{"words": [{"text": "Capped", "start": 0, "end": 6, "at": 0.12, "until": 0.3400000001, '
    '"sure": 0.8517503142356873, "raw": null}], "text": "Capped", "seconds": 1.0, "model": "m", '
    '"settings": {"hotwords": "", "options": {}, "compute": "int8", "library": "", "hygiene": 3}}'
)
_WORDS = '[["Capped",0,6,0.12,0.3400000001,0.8517503142356873,null]]'


@pytest.fixture
def old(tmp_path: Path, a_job: Job) -> Path:
    """A job whose book is of version 2, with a recording."""
    jobs.create(tmp_path / "old", a_job)
    with closing(sqlite3.connect(tmp_path / "old" / book.NAME)) as db:
        db.executescript((HERE / "books" / "v2.sql").read_text())
        db.execute("INSERT INTO media VALUES ('aa', 'recording', 'r.wav', 1, '2026')")
        db.execute("INSERT INTO transcripts VALUES ('k', 'aa', ?, '2026')", (_TRANSCRIPT,))
        carry = (
            '{"asked": [], "known": {"Scullery": ["waste", "hot"]}, "last_room": "Scullery", "rooms": {}, "sized": {}}'
        )
        told = (
            "r",
            "r",
            "aa",
            "k",
            1772438500.0,
            "2026-03-02T08:01:40+00:00",
            "name",
            1,
            "A",
            "Capped",
            "Capped",
            _WORDS,
        )
        db.execute(f"INSERT INTO memos VALUES (2, {', '.join('?' * 12)}, 1.0, '[]', ?)", (*told, carry))
        db.commit()
    return tmp_path / "old"


def test_no_word_of_an_older_book_is_lost(old: Path) -> None:
    with search.opened(old) as db:  # read only: as it was
        before = [search.memo(db, id) for id in ("m1", "r")]
    with book.opened(old) as db:
        assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        row = db.execute("SELECT carry FROM memos JOIN transcripts ON key = memos.transcript").fetchone()
        kept = db.execute("SELECT transcript FROM transcripts").fetchone()["transcript"]
        assert short.full(kept) == _TRANSCRIPT
        assert Carry.from_json(short.full(row["carry"])).known == {"Scullery": ("waste", "hot")}
        assert [search.memo(db, id) for id in ("m1", "r")] == before
        assert before[1].words == (Word("Capped", 0, 6, 0.12, 0.3400000001, 0.8517503142356873),)


def test_an_export_holds_plain_text(old: Path, tmp_path: Path) -> None:
    with closing(book.connect(old)) as db:
        db.execute("DELETE FROM media WHERE sha NOT IN (SELECT media FROM memos)")
        assert export._lines(db, "transcripts").decode().count(_TRANSCRIPT[:30].replace('"', '\\"')) == 1
        assert _WORDS.replace('"', '\\"') in export._lines(db, "memos").decode()


# --- no more is done in a bigger book


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    """Two books, one six times the other."""
    import bigbook

    made = {facts: tmp_path_factory.mktemp("big") / str(facts) for facts in (1_000, 6_000)}
    for facts, root in made.items():
        bigbook.make(root, facts)
    return made


def steps(db: sqlite3.Connection, do: Callable[[], Any]) -> int:
    """Hundreds of steps of SQLite's machine that `do` takes: what it has to look at, whatever the clock says."""
    count = 0

    def tell() -> int:
        nonlocal count
        count += 1
        return 0

    db.set_progress_handler(tell, 100)
    do()
    db.set_progress_handler(None, 0)
    return count


def looked_at(root: Path) -> dict[str, int]:
    import measures

    job, lexicon = jobs.load(root), load(jobs.load(root))
    room = job.rooms[1].name
    with search.opened(root) as db:
        found = {
            "trace": steps(db, lambda: answering.answers(db, job, f"where does the hot go in the {room.lower()}")),
            "find": steps(db, lambda: search.find(db, "waste", lexicon, limit=10)),
            "log": steps(db, lambda: list(search.said(db, room=room))),
            "follow-ups": steps(db, lambda: search.followups(db, room=room)),
        }
    with book.opened(root) as db:
        takes = [
            steps(db, lambda name=name: measures._file_one(db, job, name)) for name in [r.name for r in job.rooms[:4]]
        ]  # type: ignore[misc]
    return found | {"take": min(takes)}


def test_no_more_is_looked_at_in_a_bigger_book(books: dict[int, Path], common: None) -> None:
    small, big = map(looked_at, books.values())
    # six times the facts; the full-text index has some parts more, of which each is asked
    assert all(big[what] < 2.5 * small[what] for what in small), (small, big)


def test_what_a_room_is_worked_out_from(books: dict[int, Path]) -> None:
    with search.opened(books[1_000]) as db:
        every = concerning.facts(db, ())
        rooms = {every[0].room, every[-1].room}
        assert len(every) == db.execute("SELECT count(*) FROM facts").fetchone()[0]
        for wanted in (rooms, {None}, {*rooms, None}):
            own = [f for f in every if f.room in wanted or everywhere(f)]
            assert concerning.facts(db, wanted, roomless=False) == own
            assert concerning.facts(db, wanted) == [f for f in every if f in own or f.room is None]
        hot = [f for f in every if f.subject == "hot" and (f.room in rooms or f.room is None)]
        assert hot and concerning.facts(db, rooms, ["hot"]) == hot


def test_a_made_book_is_whole(books: dict[int, Path]) -> None:
    from notes import verify

    root = books[1_000]
    wrong = [p for p in verify.check(root, jobs.load(root)) if "original" not in p.what]  # it has rows alone
    assert wrong == []


# --- what is common


@pytest.fixture
def common(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(hits, "COMMON", 20)
    yield


def test_what_many_say_comes_newest_first(books: dict[int, Path], common: None) -> None:
    with search.opened(books[1_000]) as db:
        filed = [row["id"] for row in db.execute("SELECT id FROM memos ORDER BY row DESC")]
        found, met = search.find(db, "hot", load(jobs.load(books[1_000])), limit=10)
        places = [filed.index(hit.memo) for hit in found]
        assert met and len(found) == 10 and places == sorted(places) and places[0] < 10


def test_a_rare_word_beside_a_common_one_is_found_first(books: dict[int, Path], common: None) -> None:
    lexicon = load(jobs.load(books[1_000]))
    with closing(book.connect(books[1_000])) as db:
        db.execute("UPDATE memos SET text = text || ' The zebrano.' WHERE row = 3")
        said = {row["row"]: row["text"].lower() for row in db.execute("SELECT row, text FROM memos")}
        found, met = search.find(db, "zebrano xylophone hot", lexicon)
        third = db.execute("SELECT id FROM memos WHERE row = 3").fetchone()["id"]
        assert sum("hot" in text for text in said.values()) > hits.COMMON
        assert not met and [hit.memo for hit in found] == [third]
        assert search.find(db, "xylophone", lexicon) == ([], True)
