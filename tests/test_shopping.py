"""What is to be ordered or fetched: it stays until it has come, and a table of it is no formula."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest

from notes import ruling, search, shopping
from notes.checking.things import named_in
from notes.model import Job, Status
from tests.conftest import Ran, a_fact, put

WISH = {"action": "order", "status": Status.TO_DO}


@pytest.fixture
def wished(db: Any, a_job: Job) -> Any:
    first = "Order six fifteen elbows. Order two more. Need a pump."
    elbow = {**WISH, "subject": "fitting", "size_mm": 15.0}
    put(db, a_job, "m01", first, [
        a_fact("m01", 0, first, "Order six fifteen elbows", **elbow, count=6),
        a_fact("m01", 1, first, "Order two more", **elbow, count=2, room="Scullery"),
        a_fact("m01", 2, first, "Need a pump", **WISH, subject="pump", room=None),
    ])  # fmt: skip
    return db


def named(items: list[shopping.Item]) -> list[tuple[str, str]]:
    return [(item.named(), item.amount()) for item in items]


def test_one_kind_and_size_is_one_line(wished: Any) -> None:
    found = shopping.joined(shopping.wishes(wished))
    assert named(found) == [("elbow, 15 mm", "6"), ("fitting, 15 mm", "2"), ("pump", "how many not said")]


def test_a_room_keeps_what_is_wanted_of_each_kind_until_that_kind_has_come(db: Any, a_job: Job) -> None:
    def order(memo: str, text: str, hours: float, **more: Any) -> None:
        fact = a_fact(memo, 0, text, text, **{**WISH, "subject": "fitting", "size_mm": 22.0, **more})
        put(db, a_job, memo, text, [fact], hours=hours)

    order("m01", "Order four elbows", 0, count=4)
    order("m02", "Need two equal tees", 1, count=2)
    order("m03", "Get a stop end and a union", 2, count=1)
    wanted = [("elbow, 22 mm", "4"), ("equal tee, 22 mm", "2"), ("fitting (stop end, union), 22 mm", "as said")]
    assert named(shopping.joined(shopping.wishes(db))) == wanted
    order("m04", "The elbows came", 3, status=Status.DONE)
    order("m05", "The union came", 4, status=Status.DONE)  # of a stop end and a union
    assert named(shopping.joined(shopping.wishes(db))) == wanted[1:]
    order("m06", "All the fittings came", 5, status=Status.DONE)
    assert not shopping.wishes(db)


@pytest.mark.parametrize(
    ("quote", "kinds"),
    [
        ("two lockshield valves and a gate  valve", ("lockshield valve", "gate valve")),
        ("two VALVES", ("valve",)),
        ("two more", ()),
    ],
)
def test_things_are_called_what_they_were_called(quote: str, kinds: tuple[str, ...]) -> None:
    assert named_in("valve", quote) == kinds


def test_some_of_a_number_is_told(db: Any, a_job: Job) -> None:
    text = "Order a few valves. Order 3 valves."
    put(db, a_job, "m01", text, [
        a_fact("m01", 0, text, "Order a few valves", **WISH, subject="valve"),
        a_fact("m01", 1, text, "Order 3 valves", **WISH, subject="valve", count=3, room="Scullery"),
    ])  # fmt: skip
    assert named(shopping.joined(shopping.wishes(db))) == [("valve", "3 and some")]


def test_each_room_has_its_own_in_the_order_of_the_job(wished: Any, a_job: Job) -> None:
    found = shopping.by_room(shopping.wishes(wished), a_job)
    assert list(found) == ["House bathroom", "Scullery", None]
    assert named(found["House bathroom"]) == [("elbow, 15 mm", "6")]
    assert named(found["Scullery"]) == [("fitting, 15 mm", "2")]


def test_what_has_come_is_off_the_list(wished: Any, a_job: Job) -> None:
    text = "The elbows came."
    put(
        wished,
        a_job,
        "m02",
        text,
        [a_fact("m02", 0, text, text, subject="fitting", size_mm=15.0, action="order")],
        hours=5,
    )
    assert named(shopping.joined(shopping.wishes(wished))) == [("fitting, 15 mm", "2"), ("pump", "how many not said")]


def test_what_a_person_closed_is_off_the_list(wished: Any, a_job: Job) -> None:
    item = next(i for i in search.followups(wished) if i.subject == "pump")
    ruling.close(wished, a_job, item.id or 0, "Ann", "in the van")
    assert [w.fact.subject for w in shopping.wishes(wished)] == ["fitting", "fitting"]


def test_the_list_names_the_words_and_who_fetches(wished: Any, a_job: Job, voidbook: Callable[..., Ran]) -> None:
    item = next(i for i in search.followups(wished) if i.subject == "pump")
    ruling.assign(wished, a_job, item.id or 0, "Ann", "Bob", "2026-03-05")
    ran = voidbook("shopping")
    assert ran.out.index("Together") < ran.out.index("House bathroom") < ran.out.index("No room named")
    assert '"Need a pump" · for Bob · due 2026-03-05' in ran.out
    assert [row["subject"] for row in voidbook("shopping", "--room", "scullery", "--json").rows] == ["fitting"]


def test_a_table_holds_no_formula(db: Any, a_job: Job, voidbook: Callable[..., Ran]) -> None:
    text = "=cmd|' /C calc'!A0"
    put(db, a_job, "m01", text, [a_fact("m01", 0, text, text, **WISH, subject="valve")], speaker="@SUM(A1)")
    rows = list(csv.DictReader(StringIO(voidbook("shopping", "--csv").out)))
    assert [(row["in these words"], row["by"]) for row in rows] == [(f"'{text}", "'@SUM(A1)")]


def test_an_empty_list_says_so(filled: Any, voidbook: Callable[..., Ran]) -> None:
    assert voidbook("shopping").out == "Nothing on record waits to be ordered or fetched.\n"
