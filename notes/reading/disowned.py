"""Sizes that are not told as the pipe's own: denied, or on somebody's word or a drawing where it has another."""

from __future__ import annotations

from collections.abc import Sequence

from notes.reading.clauses import ENDS
from notes.reading.mentions import PIPE_KINDS
from notes.reading.nominal import is_size
from notes.reading.said import Said
from notes.reading.wordlists import pattern

_ON_HIS_WORD = pattern("on-his-word")
_CORRECTS = pattern("corrects")
_LOOKED = pattern("looked-at-size")


def disown(said: Said) -> None:
    """Strike out the sizes that are denied, and those of a clause of saying where another is told of the pipe."""
    void = said.scene.void
    told = [i for i in range(said.start, said.end) if is_size(said.row, i) and i not in void]
    denied = [i for i in told if _denied(said, i)]
    own = [i for i in told if i not in denied and not _on_his_word(said, i)]
    gone = {i for i in told if i in denied or any(_in_its_place(said, i, j, own) for j in own)}
    if told and not own and _put_right_next(said):
        gone = {*told, *(i + 1 for i in told if _material_after(said, i))}
    # 'in ten mil, not ten, fifteen'
    gone |= {i for d in denied for i in own if i < d and value_of(said, i) == value_of(said, d) and own[-1] > d}
    void |= gone
    if any(_material_after(said, i) for i in own if i not in gone):
        void |= {i + 1 for i in gone if _material_after(said, i)}


def _material_after(said: Said, i: int) -> bool:
    return i + 1 < said.end and said.row[i + 1].kind == "material"


def _denied(said: Said, i: int) -> bool:
    """'it's not twenty-five, it's twenty-eight', 'turns out it's fifteen, not ten', 'sixteen, ignore fifteen'."""
    j = i - 1
    while j > said.start and said.norm(j) in _BETWEEN:
        j -= 1
    return j >= said.start and said.norm(j) in ("not", "never", "ignore")


_BETWEEN = frozenset(("in", "was", "were", "been", "the", "a", "no"))


def _on_his_word(said: Said, i: int) -> bool:
    """'Ray said it was fifteen', 'the drawing says forty-two'."""
    return bool(_ON_HIS_WORD.search(said.joined(said.clauses[said.clause_of(i)].start, i)))


def _put_right_next(said: Said) -> bool:
    """'Ray told you it's twenty-two. I've measured it and it's twenty-six.'"""
    end = next((i for i in range(said.end + 1, len(said.row)) if said.norm(i) in ENDS), len(said.row))
    ahead = range(said.end + 1, end)
    if any(said.row[i].kind in PIPE_KINDS for i in ahead) or not any(is_size(said.row, i) for i in ahead):
        return False
    return bool(_CORRECTS.search(said.joined(said.end + 1, end)))


def _found(said: Said, i: int) -> bool:
    """'twenty-two, hmm, it's actually stamped twenty'."""
    return bool(_LOOKED.search(said.joined(said.clauses[said.clause_of(i)].start, i)))


def _in_its_place(said: Said, i: int, j: int, own: Sequence[int]) -> bool:
    """Whether the size at node j is told of the pipe that has the one at i on somebody's word, or was found on it."""
    if value_of(said, i) == value_of(said, j) or (i in own and not (j > i and _found(said, j))):
        return False
    clause = said.clauses[said.clause_of(j)]
    if {clause.lead, *said.norms(clause.start, j)} & _FURTHER_ON or said.norm(j + 1) in ("to", "drop", "drops"):
        return False
    first, second = pipe_of(said, i), pipe_of(said, j)
    return not first or not second or first == second


def value_of(said: Said, i: int) -> tuple[float, bool] | None:
    q = said.row[i].qty
    return (q.value, q.unit == "inch") if q else None


_FURTHER_ON = frozenset(("then", "with", "drops", "drop", "dropping", "down", "each", "reduces"))


def pipe_of(said: Said, i: int) -> tuple[str, ...]:
    """The pipes named last before node i, or else in its clause."""
    clause = said.clauses[said.clause_of(i)]
    before = [g for g in said.groups if g.start < i and not g.referred] or said.mentioned(clause)
    return before[-1].keys if before else ()
