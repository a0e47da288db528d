"""Speech that a model passed over: stretches where somebody talks and no word was written. Pure.

With a long list of hotwords the base model now and then jumps over ten seconds of speech; heard again on their own,
without the list, such stretches come out.
"""

from __future__ import annotations

from collections.abc import Sequence

Span = tuple[float, float]
"""Seconds from and to."""

LEAST = 2.0
"""Shorter holes are breath and hammering, by the recordings we measured."""
LONGEST = 1.5
"""Seconds that a word takes at most: where the model got stuck it stretches one over all that it passed over."""
EDGE = 0.3
"""Seconds heard before and after a hole, so that no word is cut."""


def unheard(speech: Sequence[Span], words: Sequence[Span], least: float = LEAST) -> list[Span]:
    """Stretches of `speech` of at least `least` seconds in which none of `words` stands, in order."""
    out: list[Span] = []
    for start, end in speech:
        at = start
        for from_, until in sorted(words):
            if until <= at:
                continue
            if from_ >= end:
                break
            if from_ - at >= least:
                out.append((at, from_))
            at = max(at, until)
        if end - at >= least:
            out.append((at, end))
    return _joined(out)


def shortened(words: Sequence[Span]) -> list[Span]:
    """The words, none longer than LONGEST."""
    return [(start, min(end, start + LONGEST)) for start, end in words]


def _joined(spans: Sequence[Span]) -> list[Span]:
    """Holes that nearly touch are one: a pause inside them is no reason to hear them apart."""
    out: list[Span] = []
    for span in spans:
        if out and span[0] - out[-1][1] < 1.0:
            out[-1] = (out[-1][0], span[1])
        else:
            out.append(span)
    return out


def widened(span: Span, total: float, edge: float = EDGE) -> Span:
    """The span with its edges, inside `total` seconds."""
    return max(0.0, span[0] - edge), min(total, span[1] + edge)
