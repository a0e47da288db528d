"""How each service is told from the others: letters, a line style that needs no colour, and a colour.

Colours follow BS 1710 (identification of pipelines) where the project's notes on it name one. The colour words and
BS 4800 references were found with sign makers; the bands of each service are from memory. How a BS 4800 reference
looks on a screen is an approximation. A schematic is no marking on a pipe.
"""

from __future__ import annotations

from dataclasses import dataclass

from notes.model import PIPES


@dataclass(frozen=True, slots=True)
class Mark:
    """`letters` stand on the line; `dashes` are lengths on and off, none for a whole line; `code` is BS 1710's."""

    letters: str
    colour: str
    dashes: tuple[float, ...]
    width: float = 2.0
    code: str = ""


_BLUE, _CRIMSON, _OCHRE, _BROWN, _BLACK, _NEUTRAL = "#0060a8", "#a3293d", "#a77a1e", "#6b4423", "#222222", "#5c5c5c"
_HOT = "green | white, crimson, white (from memory)"
_HEATING = "green | blue, crimson, blue (from memory)"
_DRAIN = "black (drainage, found)"

MARKS = {
    "cold": Mark("C", _BLUE, (), code="green | white, blue, white (from memory)"),
    "mains": Mark("M", _BLUE, (), 3.4, "green | auxiliary blue 18 E 53 (found)"),
    "hot": Mark("H", _CRIMSON, (9, 3), code=_HOT),
    "hot return": Mark("HR", _CRIMSON, (9, 3, 2, 3), code=f"{_HOT}; with its name"),
    "heating flow": Mark("F", _CRIMSON, (14, 3), 3.0, _HEATING),
    "heating return": Mark("R", _BLUE, (14, 3, 3, 3), 3.0, _HEATING),
    "ufh flow": Mark("UF", _CRIMSON, (4, 2), code=_HEATING),
    "ufh return": Mark("UR", _BLUE, (4, 2, 1, 2), code=_HEATING),
    "gas": Mark("G", _OCHRE, (16, 3, 3, 3, 3, 3), 2.6, "yellow ochre 08 C 35 (found) | yellow (from memory)"),
    "oil": Mark("O", _BROWN, (10, 4, 1, 2, 1, 4), 2.6, "brown 06 C 39 (found) | white (from memory)"),
    "waste": Mark("W", _BLACK, (1.5, 2.5), 2.6, _DRAIN),
    "soil": Mark("S", _BLACK, (), 5.0, _DRAIN),
    "rainwater": Mark("RW", _BLACK, (6, 6), 4.2, _DRAIN),
    "condensate": Mark("CD", _NEUTRAL, (1.5, 4)),
    "overflow": Mark("OF", _NEUTRAL, (5, 5)),
    "discharge": Mark("D", _NEUTRAL, (5, 2, 1.5, 2, 1.5, 2)),
}


def mark(service: str) -> Mark:
    """The mark of a service; a neutral one for what is none."""
    return MARKS.get(service, Mark(service[:2].upper(), _NEUTRAL, (2, 2)))


def used(services: set[str]) -> list[str]:
    """The services of a drawing in the trade's order, others last."""
    return [s for s in PIPES if s in services] + sorted(services - set(PIPES))
