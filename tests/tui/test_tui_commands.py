"""The commands that decide what the app decides, and the reading that keeps it quick."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from notes import hits, joining, paging, search, signing
from notes.book import opened
from notes.decisions import Decision, Kind, now
from notes.lexicon import load
from notes.model import Status
from notes.paging import Where
from tests.conftest import Ran
from tests.tui.desk import ROOMS, facts, query
from tui.bridge import Desk

Command = Callable[..., Ran]


def kinds(root: Path) -> list[str]:
    return [str(kind) for (kind,) in query(root, "SELECT kind FROM decisions ORDER BY id")]


def test_a_fact_is_accepted_corrected_and_taken_out(root: Path, voidbook: Command) -> None:
    hot, circulation, cold = (fact.id for fact in facts(root))
    assert voidbook("accept", circulation).code == 0
    assert voidbook("correct", hot, "size", "28").code == 0
    assert voidbook("correct", hot, "room", "the shed").code == 0
    assert voidbook("reject", cold, "--by", "Kay").code == 0
    now_hot, now_circulation = facts(root)
    assert (now_hot.size_mm, now_hot.room, now_circulation.doubts) == (28, "Boiler house", ())
    refused = voidbook("correct", hot, "status", "finished")
    assert refused.code == 2 and "known: done, not done" in refused.err
    assert kinds(root) == ["accept", "correct", "correct", "reject"]


@pytest.mark.parametrize("listing", [["facts"], ["memo", "m01"]])
def test_the_number_that_a_person_sees_is_the_one_that_is_taken(
    root: Path, voidbook: Command, listing: list[str]
) -> None:
    line = next(line for line in voidbook(*listing).out.splitlines() if "cold: to insulate" in line)
    number, sign = line.split()[:2]
    assert sign == ">"
    assert voidbook("reject", number).code == 0
    assert "cold: to insulate" not in voidbook(*listing).out


def test_an_entry_is_added_on_the_words_that_say_it(root: Path, voidbook: Command) -> None:
    words = "behind the basin"
    assert (
        voidbook("add", "m01", "waste", "connect", "--room", "main bathroom", "--words", words, "--size", 40).code == 0
    )
    added = facts(root)[-1]
    assert (added.subject, added.room, added.size_mm, added.quote) == ("waste", "House bathroom", 40, words)
    assert added.end - added.start == len(words)


def test_what_was_decided_is_listed_and_taken_back(root: Path, voidbook: Command) -> None:
    assert voidbook("decisions").out.strip() == "Nothing was decided yet."
    voidbook("reject", facts(root)[0].id)
    voidbook("sign", "--room", "back kitchen", "--by", "Kay")
    assert [row["stands"] for row in voidbook("decisions", "--json").rows] == [True, True]
    assert "taken back: 1 reject" in voidbook("undo", 1).err
    assert len(facts(root)) == 3
    assert "taken back: 2 sign off by Kay" in voidbook("undo").err
    assert voidbook("undo").code == 2
    assert "    1 - " in voidbook("decisions").out


def test_a_closed_follow_up_is_opened_again(root: Path, voidbook: Command) -> None:
    voidbook("close", 1, "--why", "seen")
    assert voidbook("reopen", 1).code == 0
    assert not query(root, "SELECT * FROM followups WHERE closed_by IS NOT NULL")


def test_a_word_that_a_memo_does_not_say_is_refused(root: Path, voidbook: Command) -> None:
    refused = voidbook("word", "m01", "zebra", "tails")
    assert refused.code == 2 and "does not say 'zebra'" in refused.err
    assert kinds(root) == []


def test_the_newest_come_first_where_very_much_is_met(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def find(words: str) -> tuple[list[str], bool]:
        found, met = search.find(db, words, lexicon, limit=20, typing=True)
        return [hit.memo for hit in found], met

    with search.opened(root) as db:
        lexicon = load(Desk(root).job)
        best, met = find("the")
        assert met and set(best) == {"m01", "m02"}
        some = find("under behind")
        monkeypatch.setattr(hits, "COMMON", 0)
        assert find("the basi") == (["m01"], True)
        assert find("b") == (["m02", "m01"], True)
        newest, met = find("under behind")
        assert (set(newest), met) == (set(some[0]), some[1])


def test_a_page_goes_on_where_the_one_before_ended(root: Path) -> None:
    with search.opened(root) as db:
        everywhere = Where(anywhere=True)
        whole = [(s.fact.memo, s.fact.n) for s in paging.said(db, everywhere)]
        pages = [paging.said(db, everywhere, offset, 2) for offset in (0, 2, 4)]
        assert [(s.fact.memo, s.fact.n) for page in pages for s in page] == whole
        assert whole == [("m02", 0), ("m01", 0), ("m01", 1), ("m01", 2)]
        monday = paging.said(db, Where("House bathroom", "2026-03-02"))
        assert [s.fact.n for s in monday] == [0, 1, 2]
        assert paging.said(db, Where("House bathroom", "2026-03-03")) == []


def test_a_signature_covers_its_part_and_no_more(root: Path) -> None:
    with opened(root) as db:
        assert signing.sign(db, "Kay", Where("Scullery")) == 1
        found = signing.signatures(db)
        assert signing.over(found, Where("Scullery", "2026-03-03")) == found[0]
        assert signing.over(found, Where("House bathroom")) is None
        assert signing.over(found, Where(anywhere=True)) is None
        (left,) = search.of_memo(db, "m02")
        assert not found[0].changed(left)
        assert found[0].changed(replace(left, status=Status.UNSURE))
        assert not found[0].changed(replace(left, start=left.start + 3, by="A"))


def test_the_log_in_text_tells_what_was_signed_and_what_came_of_it(root: Path, voidbook: Command) -> None:
    assert "signed off" not in voidbook("log").out
    voidbook("sign", "--day", "2026-03-02", "--by", "Kay")
    assert voidbook("log").out.count("signed off by Kay") == 1
    hot, circulation, _ = (fact.id for fact in facts(root))
    voidbook("correct", hot, "size", "28")
    voidbook("reject", circulation)
    told = " ".join(voidbook("log", "--room", "main bathroom").out.split())
    assert ", 1 changed since, 1 gone since" in told
    assert (
        told.count("changed since signed") == 1 and "28 mm, behind the basin" in told.split("changed since signed")[0]
    )


def test_follow_ups_are_narrowed_by_check_and_person(root: Path, voidbook: Command) -> None:
    everything = voidbook("followups", "--json").rows
    check = everything[0]["check"]
    one_kind = voidbook("followups", "--check", check.replace("-", " ").upper(), "--json").rows
    assert one_kind and one_kind == [row for row in everything if row["check"] == check]
    wrong = voidbook("followups", "--check", "caped not tested")
    assert wrong.code == 2 and "did you mean 'capped not tested'?" in wrong.err
    assert voidbook("followups", "--check", "joist cut", "--room", "Boiler house", "--json").rows == []
    assert voidbook("followups", "--for", "tommo", "--json").rows == []
    voidbook("assign", everything[0]["id"], "Tommo")
    assert [row["id"] for row in voidbook("followups", "--for", "tommo", "--json").rows] == [everything[0]["id"]]


def test_runs_that_are_one_have_the_steps_and_state_of_both(root: Path) -> None:
    desk = Desk(root)
    hot, circulation = (run for run in desk.pipes.runs(ROOMS[0].name) if run.subject in ("hot", "hot return"))
    other = replace(circulation, subject="hot")
    said = [Decision(kind, "Kay", now(), None, {"key": hot.key, "other": other.key}, id=n)
            for n, kind in enumerate((Kind.MERGE, Kind.PART), start=1)]  # fmt: skip
    (one,) = joining.ruled([hot, other], said[:1])
    assert one.key == hot.key and len(one.steps) == len(hot.steps) + len(other.steps)
    assert set(one.state) >= set(hot.state)
    assert joining.ruled([hot, other], said) == (hot, other)
    assert joining.ruled([hot, circulation], said[:1]) == (hot, circulation)  # of two services: never one
    assert joining.merged_into(hot.key, said[:1]) == (other.key,)
