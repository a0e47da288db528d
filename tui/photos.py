"""The photos of a room, one at a time, turned the right way."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.events import Resize
from textual.strip import Strip
from textual.widgets import Static

from tui import drawing, keys, picture
from tui.bridge import Picture, Where, wording
from tui.view import View

PIXELS = 1600
"""The longer side of what is drawn; enough for any terminal."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A photo as it is shown: half blocks, or the bytes for true pixels."""

    lines: list[Strip]
    jpeg: bytes


class PhotosView(View):
    """One photo, with what is known of it below."""

    name_ = "photos"
    title_ = "Photos"
    BINDINGS = keys.bindings("photos")
    AUTO_FOCUS = ""

    def __init__(self, where: Where) -> None:
        super().__init__()
        self.where = where
        self._photos: list[Picture] = []
        self._here = 0

    @property
    def room(self) -> str | None:
        return None if self.where.anywhere else self.where.room

    def body(self) -> ComposeResult:
        with Vertical(id="picture"):
            yield picture.Blocks(id="blocks")
        yield Static("", id="caption", markup=False)

    def load(self) -> None:
        place = "all rooms" if self.where.anywhere else drawing.room(self.where.room)
        self.head(drawing.said(f"Photos · {place}"))
        self.read(lambda: self.desk.photos(self.where), self._show)

    def _show(self, found: list[Picture]) -> None:
        self._photos = found
        self._here = min(self._here, max(0, len(found) - 1))
        self._draw()

    def on_resize(self, event: Resize) -> None:
        self._draw()

    @property
    def picture(self) -> Picture | None:
        return self._photos[self._here] if self._photos else None

    def _draw(self) -> None:
        place = "all rooms" if self.where.anywhere else drawing.room(self.where.room)
        count = f"{self._here + 1} of {len(self._photos)}" if self._photos else "none"
        self.head(drawing.said(f"Photos · {place}"), count)
        caption, blocks = self.query_one("#caption", Static), self.query_one(picture.Blocks)
        shown = self.picture
        if shown is None:
            caption.update("No photo is filed here. Press t to take some in.")
            blocks.show([])
            return
        caption.update(_caption(shown))
        size, sha = self.query_one("#picture").size, shown.media
        if sha is None:
            blocks.show([])
            caption.update(Content("\n").join([_caption(shown), Content("its file was named in a memo, never taken")]))
        elif size.width and size.height:
            self.read(lambda: self._drawn(sha, size.width, size.height), self._put, "picture")

    def _drawn(self, sha: str, width: int, height: int) -> Drawn:
        jpeg = self.desk.media.upright(sha, PIXELS)
        return Drawn([] if picture.PIXELS else picture.strips(jpeg, width, height), jpeg)

    def _put(self, drawn: Drawn) -> None:
        blocks = self.query_one(picture.Blocks)
        blocks.display = bool(drawn.lines)
        blocks.show(drawn.lines)
        for old in self.query(".pixels"):
            old.remove()
        if not drawn.lines and (widget := picture.pixels(drawn.jpeg)):
            widget.add_class("pixels")
            self.query_one("#picture").mount(widget)

    def action_before(self) -> None:
        self._step(-1)

    def action_after(self) -> None:
        self._step(1)

    def _step(self, by: int) -> None:
        there = self._here + by
        if 0 <= there < len(self._photos):
            self._here = there
            self._draw()

    def action_choose_room(self) -> None:
        from tui.pick import pick_room

        self.review.push_screen(pick_room(self.desk, self.room, self._to, all_=True))

    def _to(self, room: str | None) -> None:
        self.where, self._here = Where(room, anywhere=room is None), 0
        self.reload()

    def action_move(self) -> None:
        from tui.pick import pick_room

        if shown := self.picture:
            then, title = partial(self._move, shown), "Which room does it show?"
            self.review.push_screen(pick_room(self.desk, shown.photo.room, then, title=title))
        else:
            self.tell("no photo is here to move", bad=True)

    def _move(self, shown: Picture, room: str) -> None:
        self.review.write(lambda: self.desk.decide.place_photo(shown.photo.id, room))

    def action_boards(self) -> None:
        from tui.boards import BoardsView

        self.review.jump(BoardsView(self.room))

    def action_view(self) -> None:
        """A copy is opened: the original must never be changed."""
        shown = self.picture
        if shown and (sha := shown.media):
            self.read(lambda: self._view(sha, shown.photo.id), self.trouble, "view")

    def _view(self, sha: str, name: str) -> str:
        """Open a copy; what went wrong, if anything."""
        file = self.desk.media.copy_to_look_at(sha, name)
        return "" if picture.view(file) else f"no program is here that shows pictures; the copy is {file}"

    def action_memo(self) -> None:
        shown = self.picture
        if shown is None or shown.photo.memo is None:
            self.trouble("it belongs to no memo")
            return
        memo = shown.photo.memo
        self.read(lambda: self.desk.first_of(memo), self._go, "memo")

    def _go(self, fact: object) -> None:
        from tui.bridge import Fact
        from tui.room import RoomView

        if isinstance(fact, Fact):
            self.review.jump(RoomView(Where(fact.room), fact))
        else:
            self.trouble("that memo has no entry to go to")


def _caption(shown: Picture) -> Content:
    photo = shown.photo
    unsure = "" if photo.sure else " (not sure)"
    sharp = "" if photo.sharp else "too blurred or dark to prove anything"
    parts = (f"{drawing.room(photo.room)}{unsure}", wording.moment(photo.at), photo.caption, sharp,
             f"with memo {photo.memo}" if photo.memo else "with no memo", photo.id)  # fmt: skip
    return drawing.said(" · ".join(part for part in parts if part))
