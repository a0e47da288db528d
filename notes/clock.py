"""When something was recorded, from what its file says of itself. Pure: the reader of the file brings the candidates.

Order of trust: EXIF with its offset, the container's creation time, EXIF without offset, a time or day in the file
name, the container's day, the file's date. Sources, from memory: EXIF 2.32 tags 0x9003 DateTimeOriginal and 0x9011
OffsetTimeOriginal; ISO 14496-12 mvhd creation_time, seconds since 1904 in UTC; the DATE of Vorbis comments.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from enum import StrEnum
from typing import NamedTuple
from zoneinfo import ZoneInfo

from notes.errors import JobError, MediaError

EARLIEST = datetime(2000, 1, 2, tzinfo=UTC)
"""Clocks that were never set say 1904, 1970, 1980 or the first of January 2000."""

SKEW = timedelta(days=1)
"""A clock may be ahead of ours by a zone, not by more."""


class Source(StrEnum):
    """What the time rests on."""

    EXIF_OFFSET = "EXIF with offset"
    CONTAINER = "container"
    EXIF = "EXIF"
    NAME = "file name"
    NAME_DATE = "date in the file name"
    TAG_DATE = "date in the container"
    FILE = "file date"


class Candidates(NamedTuple):
    """What a file says. `exif` has an offset where the photo has one; `container` and `modified` always have one.

    Nothing later than `now` by more than a day is believed.
    """

    name: str = ""
    exif: datetime | None = None
    container: datetime | None = None
    modified: datetime | None = None
    now: datetime | None = None
    day: date | None = None
    """A day without a time, as Vorbis comments carry it (the tag DATE)."""


class When(NamedTuple):
    """The instant in the zone of the job, what it rests on, and whether to rely on it."""

    instant: datetime
    source: Source
    sure: bool


def zone_of(name: str) -> ZoneInfo:
    """The time zone called `name`. Raises JobError."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise JobError(
            f"no time zone is called {name!r}", file="job.toml", todo="write one like 'Europe/London'"
        ) from None


def settle(candidates: Candidates, zone: tzinfo) -> When:
    """The most trusted believable candidate. Raises MediaError where there is none at all."""
    found = [w for w in _ranked(candidates, zone) if _believable(w.instant, candidates.now)]
    if not found:
        raise MediaError("nothing tells when it was made", file=candidates.name or None, todo="set the file's date")
    best = found[0]
    named = next((w for w in found if w.source is Source.NAME), best)
    # an edited or exported copy gets a new creation time, and keeps its old name
    agrees = abs(named.instant - best.instant) <= SKEW
    return When(best.instant.astimezone(zone), best.source, best.sure and agrees)


def _ranked(c: Candidates, zone: tzinfo) -> Iterator[When]:
    if c.exif and c.exif.tzinfo:
        yield When(c.exif, Source.EXIF_OFFSET, True)
    if c.container:
        yield When(c.container, Source.CONTAINER, True)
    if c.exif and not c.exif.tzinfo:
        yield _local(c.exif, Source.EXIF, zone)
    if (named := time_in(c.name)) is not None:
        yield When(named, Source.NAME, True) if named.tzinfo else _local(named, Source.NAME, zone)
    elif (day := date_in(c.name)) is not None:
        yield _on_day(day, c.modified, zone, Source.NAME_DATE)
    if c.day:
        yield _on_day(c.day, c.modified, zone, Source.TAG_DATE)
    if c.modified:
        yield When(c.modified, Source.FILE, False)


def _on_day(day: date, modified: datetime | None, zone: tzinfo, source: Source) -> When:
    """A date alone: the file's own time where it is of that day, else noon."""
    if modified and modified.astimezone(zone).date() == day:
        return When(modified, Source.FILE, False)
    return When(datetime.combine(day, time(12), zone), source, False)


def _local(wall: datetime, source: Source, zone: tzinfo) -> When:
    """Wall-clock time in `zone`. Not sure in the hour that a change of clocks skips or repeats."""
    first, second = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    # offsets differ between the folds in a gap as well as in an overlap (PEP 495)
    return When(first.astimezone(UTC), source, first.utcoffset() == second.utcoffset())


def _believable(instant: datetime, now: datetime | None) -> bool:
    return instant >= EARLIEST and (now is None or instant <= now + SKEW)


_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_DAY = r"(?<!\d)(?P<y>20\d\d)(?P<sep>[-_.]?)(?P<m>[01]\d)(?P=sep)(?P<d>[0-3]\d)"
_MONTH = rf"(?P<m>{'|'.join(_MONTHS)})[a-z]*\.?"
_SPOKEN = rf"(?<!\d)(?P<d>\d\d?)(?:st|nd|rd|th)?[ _-]{_MONTH}[ _,-]+(?P<y>20\d\d)"
_SPOKEN_US = rf"(?<![a-z]){_MONTH}[ _-](?P<d>\d\d?)(?:st|nd|rd|th)?[ _,-]+(?P<y>20\d\d)"
# a phone writes seconds with milliseconds right behind them
_CLOCK = r"(?P<H>[0-2]?\d)[-_.:h]?(?P<M>[0-5]\d)(?:[-_.:]?(?P<S>[0-5]\d)(?:\d{3})?)?(?!\d)\s?(?P<half>[ap]\.?m)?"
_GAP = r"[ _T,-]*(?:at[ _])?"
_DAYS = tuple(p + r"(?!\d)" for p in (_DAY, _SPOKEN, _SPOKEN_US))
_TIMES = tuple(p + _GAP + _CLOCK for p in (_DAY, _SPOKEN, _SPOKEN_US))


def time_in(name: str) -> datetime | None:
    """The date and time that a file name holds: wall-clock time, but UTC where the camera app writes UTC."""
    for pattern in _TIMES:
        for found in re.finditer(pattern, name, re.IGNORECASE):
            if (day := _day(found)) and (clock := _clock(found)):
                utc = name.upper().startswith("PXL_")  # that app names its pictures in UTC
                return datetime.combine(day, clock, UTC if utc else None)
    return None


def date_in(name: str) -> date | None:
    """The date that a file name holds."""
    return next((day for p in _DAYS for found in re.finditer(p, name, re.IGNORECASE) if (day := _day(found))), None)


def _day(found: re.Match[str]) -> date | None:
    month = found["m"].lower()[:3]
    try:
        return date(int(found["y"]), _MONTHS.index(month) + 1 if month in _MONTHS else int(month), int(found["d"]))
    except ValueError:
        return None


def _clock(found: re.Match[str]) -> time | None:
    hour, half = int(found["H"]), (found["half"] or "")[:1].lower()
    if half and not 1 <= hour <= 12:
        return None
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return time(hour, int(found["M"]), int(found["S"] or 0)) if hour < 24 else None


def file_time(seconds: float) -> datetime | None:
    """A file's date in seconds since 1970; None where it was never set, or no calendar goes so far."""
    try:
        made = datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError):
        return None
    return made if made >= EARLIEST else None


def exif_time(taken: object, offset: object = None) -> datetime | None:
    """EXIF's '2026:03:02 08:41:17' with its offset '+00:00', where it has one; None for blanks and nonsense."""
    try:
        wall = datetime.strptime(str(taken).strip(" \0"), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    found = re.fullmatch(r"([+-])(\d\d):?([0-5]\d)", str(offset).strip(" \0"))
    if not found or int(found[2]) > 14:  # no zone is further off
        return wall
    ahead = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return wall.replace(tzinfo=timezone(-ahead if found[1] == "-" else ahead))


def container_time(text: str | None) -> datetime | None:
    """A container's ISO time. Without an offset it is UTC, as ISO 14496-12 has it; a time with no date is nothing."""
    try:
        made = datetime.fromisoformat((text or "").strip())
    except ValueError:
        return None
    return made if made.tzinfo else made.replace(tzinfo=UTC)


def container_day(text: str | None) -> date | None:
    """A container's ISO date; None for a year alone and for nonsense."""
    try:
        return date.fromisoformat((text or "").strip()[:10])
    except ValueError:
        return None
