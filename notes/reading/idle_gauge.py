"""A gauge, its pressure or the water under test moves as pipes do: 'five bar, and it had gone back to three'."""

from __future__ import annotations

from notes.reading.look import Look
from notes.reading.mentions import PIPE_KINDS
from notes.reading.wordlists import words

_WORK = frozenset(("run", "move", "remove", "leave"))
_MOVES, _MOVER, _REST = words("gauge-moves"), words("gauge-movers"), words("gauge-rest")
_BETWEEN = frozenset(
    "'s is was has had have 'd would will only just then still all never not even now ever gone been the".split()
)
_WATER = frozenset(("water", "steam", "drip", "drips", "air", "rain"))
_TIMES = ("Q-min", "Q-hour")
_NO_UNITS = (None, "bar", "min", "hour", "other")


def gauge_moves(look: Look) -> bool:
    """Whether what moves is a pressure: told of with a test, by 'it' or a gauge, over nothing but figures and time."""
    if look.act.action not in _WORK or not _MOVES & set(look.said.norms(look.act.start, look.act.end)):
        return False
    i = _ahead(look)
    if i >= look.clause.start and look.said.norm(i) in _WATER:
        # 'there's water coming from the joint on the flow'
        return True
    return _tested(look) and _is_mover(look) and _only_figures(look)


def _tested(look: Look) -> bool:
    said = look.said
    if any(n.tag in ("Q-bar", "Q-millibar") for n in said.row[said.start : look.clause.end]):
        return True
    figures = any(n.qty is not None for n in said.row[look.act.end : look.clause.end])
    told = any(a.action == "test" and a.start < look.act.start for a in said.acts)
    return figures and (told or any(e.action == "test" for e in said.scene.recent))


def _is_mover(look: Look) -> bool:
    said, i = look.said, _ahead(look)
    if i >= look.clause.start:
        return said.norm(i) in _MOVER or said.row[i].qty is not None or said.norm(i) == ","
    rest = said.row[look.act.end : look.clause.end]
    if look.first.kind in PIPE_KINDS:
        # 'and the hot's stood there the full half hour'
        return any(n.tag in _TIMES for n in rest)
    return bool(rest or look.clause.lead)


def _ahead(look: Look) -> int:
    """The node that moves: the last before the verb and what leads it; one before the clause where there is none."""
    i = look.act.start - 1
    while i >= look.clause.start and look.said.norm(i) in _BETWEEN:
        i -= 1
    return i


def _only_figures(look: Look) -> bool:
    """'to three inside a quarter of an hour', 'a touch and stayed'; not 'to the hall', 'in twenty-two'."""
    rest = look.said.row[look.act.end : look.clause.end]
    return all((n.qty.unit in _NO_UNITS) if n.qty else n.norm in _REST or n.kind == "mark" for n in rest)
