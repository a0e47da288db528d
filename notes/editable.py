"""What a person may set in a fact. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from notes.errors import UsageError
from notes.model import ACTIONS, ITEMS, MATERIALS, PIPES, Job, Status

_NUMBERS = ("size_mm", "to_size_mm", "length_m", "pressure_bar", "duration_min", "depth_mm")
_TEXTS = ("place", "from_", "to")
_CHOICES: Mapping[str, tuple[str, ...]] = {
    "subject": PIPES + ITEMS,
    "action": ACTIONS,
    "status": tuple(s.value for s in Status),
    "material": MATERIALS,
}
_FLAGS = ("failed", "temporary")
FIELDS = ("room", *_CHOICES, *_NUMBERS, "count", *_TEXTS, *_FLAGS)
"""The fields of a fact that a person can put right."""


def checked(name: str, value: object, job: Job) -> object:
    """`value` as the field `name` may hold it. Raises UsageError with what is allowed."""
    choices = {**_CHOICES, "room": tuple(room.name for room in job.rooms)}.get(name)
    if name not in FIELDS:
        raise UsageError(f"a fact has no field {name!r}", todo=f"known: {', '.join(FIELDS)}")
    if value is None and name not in ("subject", "action", "status", *_FLAGS):
        return None
    if choices is not None and value not in choices:
        raise UsageError(f"{name} can't be {value!r}", todo=f"known: {', '.join(choices)}")
    if name in (*_NUMBERS, "count"):
        return _number(name, value)
    if name in _FLAGS and not isinstance(value, bool):
        raise UsageError(f"{name} is yes or no, not {value!r}")
    return value


def _number(name: str, value: object) -> float | int:
    try:
        number = float(str(value))
    except ValueError:
        number = -1.0
    if not 0 <= number < 1e6:
        raise UsageError(f"{name} must be a number, not {value!r}")
    return int(number) if name == "count" else number
