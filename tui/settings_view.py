"""Changing keys, colours, and who one is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from textual.app import ComposeResult
from textual.content import Content
from textual.events import Event, Key

from tui import drawing, keys, settings
from tui.bridge import Wrong
from tui.forms import Form, entry, field
from tui.host import host
from tui.rows import Row, Rows
from tui.view import View


class WhoForm(Form):
    """Who one is."""

    title_ = "Who are you?"

    def note(self) -> Content:
        return Content("Your name stands with what you decide and sign.")

    def ask(self) -> ComposeResult:
        yield field("Name", entry("who", self.desk.who))

    def keep(self) -> None:
        who = self.text("who")
        if not who:
            raise Wrong("a name has at least one letter")
        host(self).change(replace(host(self).set, who=who))


class SettingsView(View):
    """Every action with its key."""

    name_ = "settings"
    title_ = "Settings"
    BINDINGS = keys.bindings("settings")

    _waiting: keys.Action | None = None

    def body(self) -> ComposeResult:
        yield Rows(id="keys")

    def load(self) -> None:
        now = self.review.set
        self.head("Settings", f"{'light' if now.light else 'dark'} (ctrl+l) · you are {drawing.plain(now.who)}")
        self.query_one(Rows).show(list(_rows(now, self._waiting)))

    def on_screen_resume(self) -> None:
        self.load()

    def action_change(self) -> None:
        self.action_choose()

    def on_rows_chosen(self, message: Rows.Chosen) -> None:
        self._wait(message.row.item)

    def _wait(self, action: object) -> None:
        self._waiting = action if isinstance(action, keys.Action) else None
        self.trouble(f"press the new key for: {self._waiting.line} (esc leaves it)" if self._waiting else "")
        self.load()

    async def on_event(self, event: Event) -> None:
        # the next key is the new one, whatever it would do otherwise
        if isinstance(event, Key) and self._waiting:
            event.stop()
            event.prevent_default()
            self._set(self._waiting, event.key)
            return
        await super().on_event(event)

    def _set(self, action: keys.Action, key: str) -> None:
        self._wait(None)
        if key == "escape":
            return
        if key in keys.FIXED:
            self.trouble(f"{keys.named(key)} is kept for lists")
            return
        if other := keys.clash(action.id, key, self.review.set.keys):
            self.trouble(f"{keys.named(key)} is taken: {other.line}; press enter to try another")
            return
        self.review.change(settings.with_key(self.review.set, action.id, key))
        self.load()

    def action_plain(self) -> None:
        row = self.query_one(Rows).marked
        if row and isinstance(row.item, keys.Action):
            self.review.change(settings.with_key(self.review.set, row.item.id, None))
            self.load()

    def action_who(self) -> None:
        self.review.push_screen(WhoForm(self.desk))


def _rows(now: settings.Settings, waiting: keys.Action | None) -> Iterator[Row]:
    screen = ""
    for action in keys.ACTIONS:
        if action.screen != screen:
            screen = action.screen
            yield Row(Content(screen.capitalize()), gutter=0)
        key = "press a key…" if action is waiting else keys.named(keys.keys_of(action, now.keys))
        own = "  (changed)" if action.id in now.keys else ""
        text = Content.assemble((f"{key:<16}", "bold $text-accent"), action.line, (own, "italic"))
        yield Row(text, action, action.id, gutter=1)
