"""The only caller of `notes`: what the screens read and decide, a file for each thing it serves. Every call opens the
book anew, so that any thread may make it; reads never stand in a writer's way."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from notes import wording
from notes.decisions import Decision, Kind
from notes.errors import BookError
from notes.errors import VoidbookError as Wrong
from notes.looked import keep as keep_looked
from notes.looked import looked
from notes.model import Fact, FollowUp, Memo, Run, Severity, Status, Word
from notes.paging import PAGE, Picture, RoomLine, Seen, Wanted, Where
from notes.plain import clean
from notes.search import MARKS, Found, Said
from notes.signing import Signed
from tui.bridge.looking import House, Log, Looking, Opened

if TYPE_CHECKING:
    from tui.bridge.bringing import Bringing
    from tui.bridge.deciding import Deciding
    from tui.bridge.media import Media
    from tui.bridge.pipes import Pipes

__all__ = [
    "MARKS", "PAGE", "BookError", "Decision", "Desk", "Fact", "FollowUp", "Found", "House", "Kind", "Log", "Memo",
    "Opened", "Picture", "RoomLine", "Run", "Said", "Seen", "Severity", "Signed", "Status", "Wanted", "Where", "Word",
    "Wrong", "clean", "keep_looked", "looked", "wording",
]  # fmt: skip


class Desk(Looking):
    """One job, looked at and decided on. What the first paint has no use for is loaded when it is first asked for."""

    @cached_property
    def pipes(self) -> Pipes:
        from tui.bridge.pipes import Pipes

        return Pipes(self)

    @cached_property
    def decide(self) -> Deciding:
        from tui.bridge.deciding import Deciding

        return Deciding(self)

    @cached_property
    def media(self) -> Media:
        from tui.bridge.media import Media

        return Media(self)

    @cached_property
    def bring(self) -> Bringing:
        from tui.bridge.bringing import Bringing

        return Bringing(self)
