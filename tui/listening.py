"""Hearing the seconds around a fact, or a whole memo, on any screen that has a fact to hear."""

from __future__ import annotations

from textual.timer import Timer

from tui.bridge import Fact
from tui.memo_pane import MemoPane
from tui.sound import NoSound
from tui.view import View

BEFORE, AFTER = 2.0, 1.0
"""Seconds heard before and after the words of a fact."""
FOLLOW = 0.2
"""Seconds between two looks at where the sound is."""


class Listening(View):
    """A screen on which memos can be heard."""

    _heard: tuple[str, int, bool] | None = None
    _following: Timer | None = None

    def listen(self, fact: Fact, pane: MemoPane | None = None, *, whole: bool = False) -> None:
        """Hear a fact, or its whole memo; where that is being heard, pause or go on."""
        wanted, player = (fact.memo, fact.n, whole), self.review.player
        if player.playing and self._heard == wanted:
            player.pause()
            self.trouble("paused; the same key goes on" if player.paused else "")
            return
        self._heard = wanted
        media = self.desk.media
        self.read(lambda: media.samples(fact.memo), lambda found: self._play(found, fact, pane, whole), "sound")

    def _play(self, samples: bytes | None, fact: Fact, pane: MemoPane | None, whole: bool) -> None:
        if samples is None:
            self.trouble("this memo was typed: there is nothing to hear")
            return
        start, until = (0.0, None) if whole else span(fact, pane)
        try:
            self.review.player.play(samples, start, until)
        except NoSound as wrong:
            self.trouble(str(wrong))
            return
        if self._following is None:
            self._following = self.set_interval(FOLLOW, lambda: self._follow(pane))

    def _follow(self, pane: MemoPane | None) -> None:
        player = self.review.player
        if not player.playing:
            player.stop()
            if self._following:
                self._following.stop()
                self._following = None
        elif pane and not player.paused and self._hears(pane):
            pane.follow(player.second)

    def _hears(self, pane: MemoPane) -> bool:
        """Whether the memo of `pane` is the one that is being heard."""
        return bool(self.review.player.playing and self._heard and pane.memo and pane.memo.id == self._heard[0])

    def on_memo_pane_moved(self, message: MemoPane.Moved) -> None:
        """What is heard goes to the word that a person went to."""
        word = message.pane.word
        if word and word.at is not None and self._hears(message.pane):
            self.review.player.seek(word.at)

    def on_screen_suspend(self) -> None:
        self.review.player.stop()


def span(fact: Fact, pane: MemoPane | None) -> tuple[float, float]:
    """The seconds to hear: from a little before the fact's first word to a little after its last."""
    spoken = pane.spoken(fact) if pane else None
    first, last = spoken or (fact.second or 0.0, (fact.second or 0.0) + 4.0)
    return max(0.0, first - BEFORE), last + AFTER
