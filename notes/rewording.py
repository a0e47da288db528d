"""Words of a memo that a person put right, before it is read again. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from notes.decisions import Decision, Kind, Values, standing
from notes.model import Memo, Word


def reworded(memo: Memo, decisions: Iterable[Decision]) -> Memo:
    """`memo` as heard, with the words that a person put right; what was heard stays in each word's `raw`."""
    for decision in standing(decisions):
        if decision.kind is Kind.WORD:
            memo = _put_right(memo, decision.about, decision.value["now"])
    return memo


def _put_right(memo: Memo, about: Values, now: str) -> Memo:
    start = _place_of(memo.text, about)
    if start is None:
        return memo
    end = start + len(about["quote"])
    longer = len(now) - (end - start)
    text = memo.text[:start] + now + memo.text[end:]
    before = [w for w in memo.words if w.end <= start]
    hit = [w for w in memo.words if w.end > start and w.start < end]
    after = [replace(w, start=w.start + longer, end=w.end + longer) for w in memo.words if w.start >= end]
    return replace(memo, text=text, words=(*before, *_one_word(text, hit, longer), *after))


def _one_word(text: str, hit: list[Word], longer: int) -> list[Word]:
    """What now stands in the place of the words `hit`, in `text` that has become `longer` by so much."""
    if not hit:
        return []
    start, end = hit[0].start, hit[-1].end + longer
    raw = " ".join(w.raw or w.text for w in hit)
    return [Word(text[start:end], start, end, hit[0].at, hit[-1].until, 1.0, raw)]


def _place_of(text: str, about: Values) -> int | None:
    """Where the words of `about` stand in `text`: the place nearest to where they stood."""
    quote, start = about["quote"], about["start"]
    places = [i for i in range(len(text)) if text.startswith(quote, i)] if quote else []
    return min(places, key=lambda i: abs(i - start), default=None)
