"""How far the person at this machine has looked in each job: kept beside their settings, never in the job."""

from __future__ import annotations

import json
from pathlib import Path

import platformdirs

from notes import files
from notes.paging import Seen


def looked(job: Path) -> Seen:
    """What was filed when the person last left the review of a job; nothing where they never did."""
    try:
        memo, followup = _known()[str(job)]
        return Seen(int(memo), int(followup))
    except (ValueError, KeyError, TypeError):
        return Seen()


def keep(job: Path, seen: Seen) -> None:
    """Remember how far a person has looked in a job. Raises OSError, VoidbookError where that can't be written."""
    _file().parent.mkdir(parents=True, exist_ok=True)
    told = {**_known(), str(job): [seen.memo, seen.followup]}
    files.write(_file(), json.dumps(told).encode(), private=True)


def _known() -> dict[str, list[int]]:
    try:
        known = json.loads(_file().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return known if isinstance(known, dict) else {}


def _file() -> Path:
    return platformdirs.user_state_path("voidbook") / "looked.json"
