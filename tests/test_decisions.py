"""What people decide stands: replayed over new readings, taken back, kept where it finds nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from conftest import a_fact, jsonl, put, said
from hypothesis import given
from hypothesis import strategies as st

from notes import decisions, derive, editable, filing, intake, ledger, ruling, search
from notes.decisions import Decision, Kind
from notes.errors import UsageError
from notes.model import Fact, FollowUp, Job, Memo, Severity, Status, Word
from notes.rewording import reworded
from notes.short import full

NOW = datetime(2026, 3, 5, tzinfo=UTC)
TEXT = "I've capped the hot behind the basin and run the cold in fifteen to the bath"
HOT = a_fact("m01", 0, TEXT, "capped the hot behind the basin", doubts=("size_mm",))
COLD = a_fact("m01", 1, TEXT, "run the cold in fifteen to the bath", subject="cold", action="run", size_mm=15.0)


def decide(kind: Kind, fact: Fact = HOT, id: int = 1, **value: Any) -> Decision:
    return Decision(kind, "Ann", NOW, fact.memo, decisions.about_fact(fact), value, None, id)


def undo(id: int, of: int) -> Decision:
    return Decision(Kind.UNDO, "Ann", NOW, "m01", undoes=of, id=id)


def test_each_decision_does_what_it_says() -> None:
    both = (HOT, COLD)
    assert decisions.replay(both, [decide(Kind.REJECT)]) == (COLD,)
    assert decisions.replay(both, [decide(Kind.ACCEPT)]) == (replace(HOT, doubts=()), COLD)
    sized = decide(Kind.CORRECT, field="size_mm", value=22.0)
    assert decisions.replay(both, [sized]) == (replace(HOT, size_mm=22.0, doubts=(), by="Ann"), COLD)
    status = decide(Kind.CORRECT, COLD, field="status", value="not done")
    assert decisions.replay(both, [status])[1].status is Status.NOT_DONE
    new = {"room": "Scullery", "subject": "gas", "action": "cap", "status": "done", "quote": "", "start": 0, "end": 0}
    added = decisions.replay(both, [Decision(Kind.ADD, "Ann", NOW, "m01", {}, new, None, 1)])[2]
    assert (added.memo, added.n, added.subject, added.by) == ("m01", 2, "gas", "Ann")


def test_a_decision_finds_its_fact_after_better_rules_read_it_otherwise() -> None:
    moved = replace(HOT, n=4, start=HOT.start + 30, end=HOT.end + 30)  # the words before it were put right
    assert decisions.replay([COLD, moved], [decide(Kind.REJECT)]) == (COLD,)
    shorter = replace(HOT, quote="capped the hot", end=HOT.start + 14)
    assert decisions.replay([shorter], [decide(Kind.REJECT)]) == ()
    other_subject = replace(HOT, subject="cold")
    corrected = decisions.replay([other_subject], [decide(Kind.CORRECT, field="subject", value="cold")])
    assert corrected == (replace(other_subject, by="Ann"),)


def test_a_rejection_never_takes_another_fact_of_the_same_words() -> None:
    run = replace(HOT, action="run", n=1)
    assert decisions.replay([run], [decide(Kind.REJECT)]) == (run,)


def test_a_decision_that_finds_no_fact_is_kept_and_told() -> None:
    settled = decisions.settle([COLD], [decide(Kind.REJECT)])
    assert settled.facts == (COLD,)
    assert [d.about["quote"] for d in settled.lost] == [HOT.quote]


def test_undo_takes_back_and_can_be_taken_back() -> None:
    rejected = decide(Kind.REJECT)
    assert decisions.replay([HOT], [rejected, undo(2, of=1)]) == (HOT,)
    assert decisions.replay([HOT], [rejected, undo(2, of=1), undo(3, of=2)]) == ()


_KINDS = st.sampled_from((Kind.ACCEPT, Kind.REJECT, Kind.CORRECT))


@given(st.lists(st.tuples(_KINDS, st.sampled_from((HOT, COLD))), max_size=8))
def test_undoing_all_gives_what_the_machine_read(made: list[tuple[Kind, Fact]]) -> None:
    value = {"field": "place", "value": "elsewhere"}
    done = [
        decide(kind, fact, id=n, **(value if kind is Kind.CORRECT else {})) for n, (kind, fact) in enumerate(made, 1)
    ]
    undone = [undo(len(done) + n, of=n) for n in range(1, len(done) + 1)]
    assert decisions.replay([HOT, COLD], [*done, *undone]) == (HOT, COLD)
    rejected = {fact.n for kind, fact in made if kind is Kind.REJECT}
    assert {f.n for f in decisions.replay([HOT, COLD], done)} == {0, 1} - rejected


def test_a_closed_followup_stays_closed_and_its_twin_open() -> None:
    item = FollowUp("to-do", "Scullery", "cold", "m01", "Cold: to do", Severity.LOW, NOW, "lag the cold by the door")
    twin = replace(item, quote="lag the cold under the sink")
    about = decisions.about_followup(twin)
    closed = Decision(Kind.CLOSE, "Ann", NOW, "m01", about, {"why": "done on Friday"}, None, 1)
    first, second = decisions.overlay([item, twin], [closed])
    assert first.closed_by is None
    assert (second.closed_by, second.closed_at) == ("Ann: done on Friday", NOW)
    elsewhere = replace(twin, room="Boiler house")  # somebody put the room of its fact right
    assert decisions.overlay([elsewhere], [closed])[0].closed_by == "Ann: done on Friday"
    assert decisions.overlay([replace(twin, memo="m02")], [closed])[0].closed_by is None


def test_words_put_right_keep_what_was_heard() -> None:
    words = tuple(
        Word(w, TEXT.index(w), TEXT.index(w) + len(w), at=n / 2) for n, w in enumerate(("capped", "hot", "basin"))
    )
    memo = Memo("m01", NOW, "A", TEXT, TEXT, words)
    about = {"start": TEXT.index("hot"), "quote": "hot"}
    right = reworded(memo, [Decision(Kind.WORD, "Ann", NOW, "m01", about, {"now": "heating flow"}, None, 1)])
    assert right.text == TEXT.replace("hot", "heating flow")
    assert right.raw == TEXT
    assert [right.text[w.start : w.end] for w in right.words] == ["capped", "heating flow", "basin"]
    assert [w.raw for w in right.words] == [None, "hot", None]
    assert [w.at for w in right.words] == [0, 0.5, 1.0]


def test_only_what_a_field_can_hold_is_taken(a_job: Job) -> None:
    assert editable.checked("size_mm", "22", a_job) == 22.0
    assert editable.checked("room", "Scullery", a_job) == "Scullery"
    assert editable.checked("material", None, a_job) is None
    wrong = [
        ("room", "Attic"),
        ("subject", "water"),
        ("size_mm", "big"),
        ("size_mm", "nan"),
        ("status", None),
        ("cue", "x"),
    ]
    for name, value in [*wrong, ("failed", "yes")]:
        with pytest.raises(UsageError):
            editable.checked(name, value, a_job)


# --- in the book


def fact_id(db: Any, subject: str) -> int:
    return int(db.execute("SELECT id FROM facts WHERE subject = ?", (subject,)).fetchone()["id"])


def sizes(db: Any) -> dict[str, float | None]:
    return {f.subject: f.size_mm for f in search.of_memo(db, "m01")}


def test_a_correction_outlives_new_rules_and_is_undone(filled: Any, a_job: Job) -> None:
    id = fact_id(filled, "hot")
    ruling.correct(filled, a_job, id, "Ann", "size_mm", 15)
    assert sizes(filled)["hot"] == 15.0
    assert fact_id(filled, "hot") == id  # what is on a screen stays valid
    said = full(filled.execute("SELECT said FROM memos WHERE id = 'm01'").fetchone()["said"])
    assert '"size_mm":22.0' in said  # what the machine read is never edited
    filled.execute("UPDATE memos SET said = ? WHERE id = 'm01'", (said.replace('"n":0,', '"n":9,'),))
    derive.settle(filled, "m01")
    assert sizes(filled)["hot"] == 15.0
    assert ruling.undo(filled, a_job, "Ann").kind is Kind.CORRECT
    assert sizes(filled)["hot"] == 22.0
    with pytest.raises(UsageError, match="nothing to undo"):
        ruling.undo(filled, a_job, "Ann")


def test_a_rejected_fact_takes_its_followups_with_it(filled: Any, a_job: Job) -> None:
    before = {(i.check, i.subject) for i in search.followups(filled)}
    assert ("capped-not-tested", "hot return") in before
    ruling.reject(filled, a_job, fact_id(filled, "hot return"), "Ann")
    after = {(i.check, i.subject) for i in search.followups(filled)}
    assert before - after == {("capped-not-tested", "hot return")}
    ruling.undo(filled, a_job, "Ann")
    assert {(i.check, i.subject) for i in search.followups(filled)} == before


def test_a_fact_added_by_hand_closes_a_followup(filled: Any, a_job: Job) -> None:
    open_before = {(i.check, i.subject) for i in search.followups(filled)}
    tested = Fact("m02", 0, "House bathroom", "hot", "test", Status.DONE, "", 0, 0, pressure_bar=6.0, duration_min=60.0)
    ruling.add(filled, a_job, "Ann", tested)
    gone = open_before - {(i.check, i.subject) for i in search.followups(filled)}
    assert gone == {("capped-not-tested", "hot")}
    assert search.of_memo(filled, "m02")[-1].by == "Ann"


def test_a_closed_followup_keeps_its_number_and_stays_closed(filled: Any, a_job: Job) -> None:
    item = next(i for i in search.followups(filled) if i.subject == "waste")
    assert item.id is not None
    ruling.assign(filled, a_job, item.id, "Ann", "Bob", "2026-03-09")
    ruling.close(filled, a_job, item.id, "Ann", "piped up on Friday")
    with pytest.raises(UsageError, match="closed already, by Ann: piped up on Friday"):
        ruling.close(filled, a_job, item.id, "Ann", "again")
    derive.refresh(filled, a_job, None)
    again = search.followup(filled, item.id)
    assert (again.closed_by, again.assignee, again.due) == ("Ann: piped up on Friday", "Bob", "2026-03-09")
    assert item.id not in {i.id for i in search.followups(filled)}
    ruling.reopen(filled, a_job, item.id, "Ann")
    assert item.id in {i.id for i in search.followups(filled)}
    ruling.undo(filled, a_job, "Ann")
    assert item.id not in {i.id for i in search.followups(filled)}


def test_what_is_closed_in_one_room_stays_open_in_another_when_that_is_spoken_of(filled: Any, a_job: Job) -> None:
    """Only the rooms of a take are worked out again: a decision must not slip to the next most alike of these."""
    text = "Capped the hot."
    scullery, bathroom = (a_fact("two", n, text, text, room=room) for n, room in enumerate(("Scullery", "Bathroom")))
    put(filled, a_job, "two", text, [scullery, bathroom], hours=3)
    room = {f.room: f for f in search.followups(filled) if f.memo == "two"}
    ruling.close(filled, a_job, room["Scullery"].id or 0, "Ann", "looked at")
    put(filled, a_job, "three", text, [a_fact("three", 0, text, text, room="Bathroom", subject="cold")], hours=4)
    assert [f.room for f in search.followups(filled) if f.memo == "two"] == ["Bathroom"]


def test_a_reminder_comes_whatever_room_its_fact_is_of_and_goes_to_the_next_fact(filled: Any, a_job: Job) -> None:
    def reminded() -> list[str | None]:
        return [f.memo for f in search.followups(filled) if f.check == "registered-gas"]

    text, rooms = "Capped it.", {"g1": "Scullery", "g2": "Bathroom", "g3": "Scullery"}
    for hours, (memo, room) in enumerate(rooms.items(), start=3):
        subject = "waste" if memo == "g3" else "gas"
        put(filled, a_job, memo, text, [a_fact(memo, 0, text, text, room=room, subject=subject)], hours=hours)
        assert reminded() == ["g1"]
    ruling.reject(filled, a_job, search.of_memo(filled, "g1")[0].id or 0, "Ann")
    assert reminded() == ["g2"]
    ruling.undo(filled, a_job, "Ann")
    assert reminded() == ["g1"]


def test_every_decision_is_on_record_for_good(filled: Any, a_job: Job) -> None:
    ruling.accept(filled, a_job, fact_id(filled, "hot"), "Ann")
    capped_and_tested(filled, a_job)
    ruling.merge(filled, a_job, "Ann", "m01:0", "m03:0")
    ruling.part(filled, a_job, "Ann", "m01:0", "m03:0")
    ruling.undo(filled, a_job, "Ann")
    kinds = [d.kind for d in ledger.all_of(filled, Kind)]
    assert kinds == [Kind.ACCEPT, Kind.MERGE, Kind.PART, Kind.UNDO]
    for sql in ("DELETE FROM decisions", "UPDATE decisions SET who = 'Eve'"):
        with pytest.raises(Exception, match="only ever added to"):
            filled.execute(sql)


def capped_and_tested(db: Any, job: Job) -> None:
    """A second hot in the bathroom, in another size, and a test of one of the two."""
    text = "In the bathroom. Capped the hot in fifteen by the door. The twenty-two hot's been on test, six bar."
    test = {"action": "test", "size_mm": 22.0, "pressure_bar": 6.0, "duration_min": 60.0}
    capped = a_fact("m03", 0, text, "Capped the hot in fifteen", size_mm=15.0, place="by the door")
    put(db, job, "m03", text, [capped, a_fact("m03", 1, text, "hot's been on test", **test)], hours=30)


def hot_capped(db: Any) -> bool:
    return any((i.check, i.subject) == ("capped-not-tested", "hot") for i in search.followups(db))


def test_one_test_closes_the_caps_of_what_is_said_to_be_one_pipe(filled: Any, a_job: Job) -> None:
    capped_and_tested(filled, a_job)
    assert hot_capped(filled)  # the fifteen was not tested
    for decide_, opened in (
        (lambda: ruling.merge(filled, a_job, "Ann", "m01:0", "m03:0"), False),
        (lambda: ruling.part(filled, a_job, "Ann", "m01:0", "m03:0"), True),
        (lambda: ruling.undo(filled, a_job, "Ann"), False),
        (lambda: ruling.undo(filled, a_job, "Ann"), True),
    ):
        decide_()
        assert hot_capped(filled) is opened
        told = {(i.id, i.closed_by) for i in search.followups(filled, closed=True)}
        derive.refresh(filled, a_job, None)  # worked out whole it is the same
        assert {(i.id, i.closed_by) for i in search.followups(filled, closed=True)} == told


def test_only_runs_of_one_service_and_room_are_joined(filled: Any, a_job: Job) -> None:
    for other, why in (
        ("m01:1", "can't be one run: hot in House bathroom and hot return in House bathroom"),
        ("m02:0", "hot in House bathroom and waste in Scullery"),
        ("m09:7", "no pipe run has the key 'm09:7'"),
        ("m01:0", "is one run only"),
    ):
        with pytest.raises(UsageError, match=why):
            ruling.merge(filled, a_job, "Ann", "m01:0", other)
    assert ledger.all_of(filled, Kind) == ()


def test_lost_decisions_are_listed(filled: Any, a_job: Job) -> None:
    ruling.reject(filled, a_job, fact_id(filled, "hot"), "Ann")
    assert filing.lost(filled) == []
    filled.execute("UPDATE memos SET said = '[]' WHERE id = 'm01'")
    assert [(d.kind, d.memo) for d in filing.lost(filled)] == [(Kind.REJECT, "m01")]


# --- with the real rules


@pytest.fixture
def taken(db: Any, root: Path, a_job: Job, tmp_path: Path) -> Any:
    """One memo read by the rules; in it a word that was misheard."""
    text = "In the scullery. I've mapped the hot behind the sink. I've capped the cold behind the sink."
    file = jsonl(tmp_path / "a.jsonl", said("m01", text))
    assert intake.take(db, root, a_job, [file], Silent()) == []
    return db


class Silent:
    """Nobody to tell."""

    def begin(self, *_: Any) -> None: ...
    def doing(self, *_: Any) -> None: ...
    def filed(self, *_: Any) -> None: ...
    def failed(self, *_: Any) -> None: ...


def caps(db: Any) -> list[tuple[str, float | None]]:
    return [(f.subject, f.size_mm) for f in search.of_memo(db, "m01") if f.action == "cap"]


def test_a_word_put_right_is_read_and_undone(taken: Any, a_job: Job) -> None:
    assert caps(taken) == [("cold", None)]
    raw = search.memo(taken, "m01").raw
    ruling.put_word_right(taken, a_job, "m01", "Ann", raw.index("mapped"), "mapped", "capped")
    assert caps(taken) == [("hot", None), ("cold", None)]
    memo = search.memo(taken, "m01")
    assert (memo.raw, memo.text) == (raw, raw.replace("mapped", "capped"))
    assert {(i.check, i.subject) for i in search.followups(taken)} >= {("capped-not-tested", "hot")}
    ruling.undo(taken, a_job, "Ann")
    assert caps(taken) == [("cold", None)]
    assert search.memo(taken, "m01").text == raw


def test_reading_again_keeps_every_decision(taken: Any, a_job: Job) -> None:
    ruling.correct(taken, a_job, fact_id(taken, "cold"), "Ann", "size_mm", 22)
    item = next(i for i in search.followups(taken) if i.check == "capped-not-tested")
    assert item.id is not None
    ruling.close(taken, a_job, item.id, "Ann", "tested")
    assert filing.read_again(taken, a_job) == []
    raw = search.memo(taken, "m01").raw
    ruling.put_word_right(taken, a_job, "m01", "Ann", raw.index("mapped"), "mapped", "took down and capped")
    assert ("cold", 22.0) in caps(taken)  # its words stand elsewhere now
    assert search.followup(taken, item.id).closed_by == "Ann: tested"
    assert filing.lost(taken) == []
