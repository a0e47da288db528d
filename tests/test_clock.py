"""When a file was made: what is trusted before what, and when it is not sure.

Sources, from memory: EXIF 2.32 (CIPA DC-008) tags 0x9003 DateTimeOriginal and 0x9011 OffsetTimeOriginal; ISO 14496-12
mvhd creation_time in seconds since 1904 in UTC; PEP 495 for hours that clocks skip or repeat.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes.clock import (
    EARLIEST,
    Candidates,
    Source,
    container_time,
    date_in,
    exif_time,
    file_time,
    settle,
    time_in,
    zone_of,
)
from notes.errors import JobError, MediaError

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 8, 1, 12, tzinfo=UTC)


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[misc, arg-type]


SETTLED = [
    # EXIF with offset before everything
    (
        Candidates("20260302_0900", utc(2026, 3, 2, 8, 41, 17), utc(2026, 3, 2, 9), utc(2026, 7, 1)),
        (utc(2026, 3, 2, 8, 41, 17), Source.EXIF_OFFSET, True),
    ),
    # the container before EXIF that has no offset
    (
        Candidates("", datetime(2026, 3, 2, 9), utc(2026, 3, 2, 8)),
        (utc(2026, 3, 2, 8), Source.CONTAINER, True),
    ),
    # EXIF without offset is in the zone of the job: summer time in July
    (Candidates("", datetime(2026, 7, 2, 9)), (utc(2026, 7, 2, 8), Source.EXIF, True)),
    # the name before the file's date
    (
        Candidates("IMG_20260702_090000.jpg", modified=utc(2026, 7, 9)),
        (utc(2026, 7, 2, 8), Source.NAME, True),
    ),
    (Candidates("m04.ogg", modified=utc(2026, 7, 9)), (utc(2026, 7, 9), Source.FILE, False)),
    # a date alone: the file's time where it is of that day, else noon
    (
        Candidates("IMG-20260302-WA0007.jpg", modified=utc(2026, 3, 2, 17, 5)),
        (utc(2026, 3, 2, 17, 5), Source.FILE, False),
    ),
    (
        Candidates("IMG-20260302-WA0007.jpg", modified=utc(2026, 3, 9)),
        (utc(2026, 3, 2, 12), Source.NAME_DATE, False),
    ),
    (
        Candidates("m04.ogg", modified=utc(2026, 7, 9), day=date(2026, 3, 3)),
        (utc(2026, 3, 3, 12), Source.TAG_DATE, False),
    ),
    # clocks that were never set, and clocks that run ahead
    (
        Candidates("", container=utc(1904, 1, 1), modified=utc(2026, 7, 9)),
        (utc(2026, 7, 9), Source.FILE, False),
    ),
    (
        Candidates("", utc(1970, 1, 1), utc(2000, 1, 1, 0, 3), utc(2026, 7, 9)),
        (utc(2026, 7, 9), Source.FILE, False),
    ),
    (
        Candidates("", container=utc(2036, 3, 2), modified=utc(2026, 7, 9)),
        (utc(2026, 7, 9), Source.FILE, False),
    ),
    (Candidates("", container=NOW + timedelta(hours=20)), (NOW + timedelta(hours=20), Source.CONTAINER, True)),
    # an exported copy: new creation time, old name
    (
        Candidates("20260302_084117.m4a", container=utc(2026, 7, 9, 20)),
        (utc(2026, 7, 9, 20), Source.CONTAINER, False),
    ),
    # 29 March 2026, 01:30 does not exist in London; 25 October 2025, 01:30 comes twice
    (Candidates("", datetime(2026, 3, 29, 1, 30)), (utc(2026, 3, 29, 1, 30), Source.EXIF, False)),
    (Candidates("20251026_013000.wav"), (utc(2025, 10, 26, 0, 30), Source.NAME, False)),
    (Candidates("PXL_20260702_090000123.jpg"), (utc(2026, 7, 2, 9), Source.NAME, True)),
]


@pytest.mark.parametrize(("candidates", "expected"), SETTLED)
def test_settled(candidates: Candidates, expected: tuple[datetime, Source, bool]) -> None:
    when = settle(candidates._replace(now=NOW), LONDON)
    # by UTC: Python holds an hour that comes twice for equal to nothing in another zone (PEP 495)
    assert (when.instant.astimezone(UTC), when.source, when.sure) == expected
    assert when.instant.tzinfo is LONDON


def test_with_nothing_to_go_by_it_is_an_error() -> None:
    with pytest.raises(MediaError, match="nothing tells when it was made"):
        settle(Candidates("m01.m4a", container=utc(1904, 1, 1)), LONDON)


NAMES = [
    ("20260302_084117.m4a", datetime(2026, 3, 2, 8, 41, 17)),
    ("20260302084117.m4a", datetime(2026, 3, 2, 8, 41, 17)),
    ("REC-20260302-0841.amr", datetime(2026, 3, 2, 8, 41)),
    ("IMG_20260302_084117_2.jpg", datetime(2026, 3, 2, 8, 41, 17)),
    ("2026-03-02 08.41.17.wav", datetime(2026, 3, 2, 8, 41, 17)),
    ("2026-03-02T08:41:17.wav", datetime(2026, 3, 2, 8, 41, 17)),
    ("2026_03_02_08_41_17.wav", datetime(2026, 3, 2, 8, 41, 17)),
    ("Audio 2026-03-02 at 8.41.17 PM.ogg", datetime(2026, 3, 2, 20, 41, 17)),
    ("2026-03-02 12.05 am.ogg", datetime(2026, 3, 2, 0, 5)),
    ("Memo 2 Mar 2026 08:41.m4a", datetime(2026, 3, 2, 8, 41)),
    ("Memo 2nd March 2026 at 08.41.m4a", datetime(2026, 3, 2, 8, 41)),
    ("Mar 2, 2026 8:41 PM.m4a", datetime(2026, 3, 2, 20, 41)),
    ("PXL_20260302_084117123.jpg", utc(2026, 3, 2, 8, 41, 17)),
    ("IMG-20260302-WA0007.jpg", None),
    ("20260230_084117.m4a", None),
    ("20260302_256117.m4a", None),
    ("2026-03-02 13.05 pm.ogg", None),
    ("boiler 12345678901234567890.jpg", None),
    ("22 mm tails 15.jpg", None),
    ("m01.m4a", None),
    ("", None),
]


@pytest.mark.parametrize(("name", "expected"), NAMES)
def test_time_in_a_name(name: str, expected: datetime | None) -> None:
    assert time_in(name) == expected


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("IMG-20260302-WA0007.jpg", date(2026, 3, 2)),
        ("bath 2026-03-02.m4a", date(2026, 3, 2)),
        ("2 March 2026.txt", date(2026, 3, 2)),
        ("Mar 2 2026.txt", date(2026, 3, 2)),
        ("2026-13-02.txt", None),
        ("20260302999.txt", None),
    ],
)
def test_date_in_a_name(name: str, expected: date | None) -> None:
    assert date_in(name) == expected


@given(st.text(max_size=60))
def test_no_name_is_too_odd(name: str) -> None:
    found = time_in(name)
    assert found is None or date_in(name) is None or found.date() <= date(2099, 12, 31)
    assert settle(Candidates(name, modified=utc(2026, 7, 9), now=NOW), LONDON).instant >= EARLIEST


@given(st.datetimes(datetime(2001, 1, 1), datetime(2026, 7, 1)))
def test_a_written_time_is_read_back(at: datetime) -> None:
    at = at.replace(microsecond=0)
    for form in ("%Y%m%d_%H%M%S", "%Y-%m-%d %H.%M.%S", "%d %b %Y %H:%M:%S", "%Y-%m-%d at %I.%M.%S %p"):
        assert time_in(f"memo {at.strftime(form)}.m4a") == at


@pytest.mark.parametrize(
    ("taken", "offset", "expected"),
    [
        ("2026:03:02 08:41:17", "+00:00", utc(2026, 3, 2, 8, 41, 17)),
        ("2026:07:02 08:41:17", "+01:00", utc(2026, 7, 2, 7, 41, 17)),
        ("2026:07:02 08:41:17", "-03:30", utc(2026, 7, 2, 12, 11, 17)),
        ("2026:07:02 08:41:17\0", None, datetime(2026, 7, 2, 8, 41, 17)),
        ("2026:07:02 08:41:17", "   :  ", datetime(2026, 7, 2, 8, 41, 17)),
        ("2026:07:02 08:41:17", "+99:00", datetime(2026, 7, 2, 8, 41, 17)),
        ("0000:00:00 00:00:00", "+00:00", None),
        ("    :  :     :  :  ", None, None),
        (None, None, None),
        (20260302, None, None),
    ],
)
def test_exif_time(taken: object, offset: object, expected: datetime | None) -> None:
    assert exif_time(taken, offset) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-03-02T08:25:00.000000Z", utc(2026, 3, 2, 8, 25)),
        ("2026-07-02T09:25:00+0100", utc(2026, 7, 2, 8, 25)),
        ("2026-03-02 08:25:00", utc(2026, 3, 2, 8, 25)),
        ("08:25:00", None),
        ("", None),
        (None, None),
    ],
)
def test_container_time(text: str | None, expected: datetime | None) -> None:
    assert container_time(text) == expected


def test_an_instant_keeps_its_value_in_another_zone() -> None:
    when = settle(Candidates("", datetime(2026, 7, 2, 9, tzinfo=timezone(timedelta(hours=5)))), LONDON)
    assert when.instant.isoformat() == "2026-07-02T05:00:00+01:00"


@pytest.mark.parametrize("name", ["Europe/Londn", "", "../etc/passwd", "/etc/localtime"])
def test_an_unknown_zone_is_an_error_of_the_job(name: str) -> None:
    with pytest.raises(JobError, match="no time zone is called"):
        zone_of(name)


def test_a_known_zone() -> None:
    assert zone_of("Europe/London") == LONDON


@pytest.mark.parametrize("seconds", [-99_999_999_999_999, -1, 0, 99_999_999_999_999, float("inf")])
def test_a_file_date_that_no_clock_shows_is_none(seconds: float) -> None:
    assert file_time(seconds) is None


def test_a_file_date_is_in_utc() -> None:
    assert file_time(1_772_438_400) == datetime(2026, 3, 2, 8, tzinfo=UTC)
