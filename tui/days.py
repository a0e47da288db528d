"""The days of a job: the strip to step through them, and the steps, for every screen that shows one day or all."""

from __future__ import annotations

from dataclasses import dataclass

from textual.content import Content, Span
from textual.events import Click
from textual.message import Message
from textual.style import Style
from textual.widgets import Static

from tui import drawing
from tui.bridge import wording


class Days(Static):
    """The days of the job in one line, the one looked at in the middle; click one to go there."""

    @dataclass
    class Picked(Message):
        """A day was clicked; None for all of them."""

        day: str | None

    def show(self, days: list[tuple[str, int]], day: str | None) -> None:
        """`days` with how many memos each has, the first first."""
        labels: list[tuple[str | None, str]] = [(None, "All days")]
        for name, memos in days:
            many = wording.count(memos, "memo")
            labels.append((name, f"{drawing.day(name)}, {many}" if name == day else drawing.day(name)))
        here = next((n for n, (name, _) in enumerate(labels) if name == day), 0)
        self.update(self._drawn(labels, here))

    def _drawn(self, labels: list[tuple[str | None, str]], here: int) -> Content:
        room = max(20, self.size.width - 6)
        first, last = here, here + 1
        used = len(labels[here][1]) + 4
        while first > 0 or last < len(labels):
            onward = last < len(labels) and (first == 0 or last - here <= here - first)
            there = last if onward else first - 1
            used += len(labels[there][1]) + 4
            if used > room:
                break
            first, last = (first, last + 1) if onward else (first - 1, last)
        text, spans = "‹ " if first else "  ", []
        for n in range(first, last):
            name, label = labels[n]
            start = len(text)
            text += f"[{label}]" if n == here else f" {label} "
            spans.append(Span(start, len(text), Style.from_meta({"day": name or ""})))
            spans += [Span(start, len(text), "bold $text-primary")] if n == here else []
            text += "  "
        return Content(text + (" ›" if last < len(labels) else ""), spans)

    def on_click(self, event: Click) -> None:
        if (day := event.style.meta.get("day")) is not None:
            self.post_message(self.Picked(day or None))


class Stepping:
    """What a screen is that steps through days: `days` are all there are, `day` the one that it shows."""

    days: list[str] = []  # noqa: RUF012 - replaced, never changed

    @property
    def day(self) -> str | None:
        raise NotImplementedError

    def to_day(self, day: str | None) -> None:
        """Show this day; None for all of them."""
        raise NotImplementedError

    def on_days_picked(self, message: Days.Picked) -> None:
        self.to_day(message.day)

    def action_day_before(self) -> None:
        self._step(-1)

    def action_day_after(self) -> None:
        self._step(1)

    def action_every_day(self) -> None:
        self.to_day(None)

    def _step(self, by: int) -> None:
        if self.days:
            self.to_day(stepped(self.days, self.day, by))


def stepped(days: list[str], day: str | None, by: int) -> str:
    """The day before or after `day`; from all days one comes to the last."""
    if day is None:
        return days[-1]
    before = [d for d in days if d < day]
    after = [d for d in days if d > day]
    return (before[-1] if before else days[0]) if by < 0 else (after[0] if after else days[-1])
