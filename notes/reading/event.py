"""An action with its subjects, on the way to becoming facts."""

from __future__ import annotations

from dataclasses import dataclass, field

from notes.model import PIPES, Status
from notes.reading.actions import Act


@dataclass(slots=True)
class Event:
    """An action with its subjects, before it is written down as facts."""

    act: Act
    clause: int
    status: Status
    cue: str
    keys: tuple[str, ...]
    serves: str | None = None
    rooms: tuple[str | None, ...] = ()
    slots: dict[str, object] = field(default_factory=dict)
    span: tuple[int, int] = (0, 0)
    per_key_size: tuple[float | None, ...] = ()
    per_key_count: tuple[int | None, ...] = ()
    like: Event | None = None
    """The event whose pressure and time this one repeats ('same again')."""
    reaches: str | None = None
    """Where the words say that it ends: 'to the far wall', not only what it serves."""

    @property
    def piped(self) -> bool:
        return bool(self.keys) and self.keys[0] in PIPES

    @property
    def work(self) -> tuple[int, int]:
        """The nodes of its words of work, one at least."""
        return self.act.start, max(self.act.end, self.act.start + 1)

    @property
    def action(self) -> str:
        return self.act.action

    @property
    def start(self) -> int:
        return self.act.start
