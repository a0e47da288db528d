"""What is to come out again was put in for the time being."""

from __future__ import annotations

import pytest
from short import fact

from notes.reading.passing import in_passing


@pytest.mark.parametrize(
    ("lines", "temporary"),
    [
        (("toilet fit done", 'toilet remove to-do quote="that\'s coming out again"'), [True, False]),
        (("hot run done", "hot run done", "hot remove to-do quote='it has to come off'"), [False, True, False]),
        (("hot run done", "hot remove to-do quote='the old hot has to come off'"), [False, False]),
        (("hot run done", "hot remove to-do quote='the hot has to come off'"), [False, False]),
        (
            (
                "waste run done material=upvc",
                "waste remove to-do quote='that has to come out'",
                "waste run to-do material=copper quote='it goes back in copper'",
            ),
            [False, False, False],
        ),
        (("hot run not-done", "hot remove to-do quote='it has to come off'"), [False, False]),
        (("hot test done", "hot remove to-do quote='it has to come off'"), [False, False]),
        (("cold fit done", "hot remove to-do quote='it has to come off'"), [False, False]),
        (("toilet fit done", "toilet remove done quote='that came out again'"), [False, False]),
    ],
)
def test_what_comes_out_again(lines: tuple[str, ...], temporary: list[bool]) -> None:
    said = in_passing(fact(f"{line} memo=m1", n) for n, line in enumerate(lines))
    assert [f.temporary for f in said] == temporary


def test_what_another_memo_put_in_is_left_as_it_was() -> None:
    said = in_passing([fact("hot run done", 0), fact("hot remove to-do quote='it has to come off'", 1)])
    assert not any(f.temporary for f in said)
