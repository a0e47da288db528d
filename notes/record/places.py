"""Where on earth photos were taken, read from the originals only when somebody asks for it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from notes.errors import VoidbookError
from notes.record.gather import Matter, Shot
from notes.store import Store


def with_places(matter: Matter, root: Path) -> Matter:
    """`matter` with the place of every photo whose EXIF tells one."""
    store = Store(root / "media")
    return replace(matter, shots=tuple(_placed(store, shot) for shot in matter.shots))


def _placed(store: Store, shot: Shot) -> Shot:
    from notes.probe import place_of

    try:
        spot = place_of(store.path(shot.media)) if shot.media else None
    except VoidbookError:
        return shot
    return replace(shot, spot=f"{spot[0]:.5f}, {spot[1]:.5f}") if spot else shot
