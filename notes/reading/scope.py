"""Which cue governs which action: cues with a direction, a reach and words that stop them.

After ConText (Harkema, Dowling, Thornblade, Chapman 2009, J Biomed Inform 42:839), itself after NegEx
(Chapman et al. 2001): a trigger, a direction, a scope that ends at a terminating word.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from notes.errors import VoidbookError
from notes.lexicon import data_text
from notes.model import Status
from notes.reading.actions import Act
from notes.reading.mentions import PIPE_KINDS, Node, tokens
from notes.reading.patterns import Matcher

_KEYS = frozenset(("id", "status", "direction", "reach", "within", "forms", "stops", "words", "applies", "not"))


@dataclass(frozen=True, slots=True)
class Cue:
    """One rule of cues.toml."""

    id: str
    status: str
    direction: str
    reach: int
    within: str
    forms: frozenset[str]
    stops: frozenset[str]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """A cue seen at nodes `start:end`."""

    cue: Cue
    start: int
    end: int


@lru_cache(maxsize=1)
def cues() -> dict[str, Cue]:
    """All cues by id. Raises VoidbookError with the key that is wrong."""
    out = {}
    for raw in tomllib.loads(data_text("cues.toml"))["cue"]:
        if unknown := sorted(set(raw) - _KEYS):
            near = difflib.get_close_matches(unknown[0], _KEYS, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"allowed: {', '.join(sorted(_KEYS))}"
            raise VoidbookError(f"cue {raw.get('id')}: no key {unknown[0]!r}", file="cues.toml", todo=hint)
        out[raw["id"]] = Cue(
            raw["id"], raw["status"], raw["direction"], raw["reach"], raw["within"], frozenset(raw.get("forms", ())),
            frozenset(raw.get("stops", ())), tuple(raw["words"]),
        )  # fmt: skip
    return out


@lru_cache(maxsize=1)
def _matcher() -> Matcher:
    return Matcher([(c.id, " ".join(t.norm for t in tokens(w))) for c in cues().values() for w in c.words])


def found(row: Sequence[Node]) -> list[Found]:
    """Every cue in a row of nodes."""
    seen = [Found(cues()[p.label], p.start, p.end) for p in _matcher()(row)]
    # 'do not forget' is an instruction, 'forget it' calls off
    doubts = [f for f in seen if f.cue.status == "unsure"]
    idioms = [f for f in seen if f.cue.status == "nil" or f.cue.id == "crossed-off"]
    return [
        f for f in seen
        if not any(_inside(f, i) for i in idioms)
        and not (f.cue.status == "dropped" and f.start and row[f.start - 1].norm == "not")
        and not (f.cue.status == "dropped" and row[f.end - 1].norm == "dead" and _out_of_use(row, f))
        and not (f.cue.status == "dropped" and row[f.start].norm in ("gone", "went") and _pipe_goes(row, f.start))
        and not (f.cue.status == "dropped" and row[f.end - 1].norm == "off" and _at_a_valve(row, f.end))
        and not (f.cue.status == "to do" and row[f.start].norm == "get" and _managed(row, f))
        and not (f.cue.status in ("to do", "not done") and any(d.start <= f.start and f.end <= d.end for d in doubts))
    ]  # fmt: skip


def _out_of_use(row: Sequence[Node], f: Found) -> bool:
    """'the old gas is dead', '... dead, cut back and capped': a pipe that is there, no plan called off."""
    ahead = [n.norm for n in row[f.end : f.end + 14]]
    ahead = ahead[: ahead.index(".")] if "." in ahead else ahead
    old = {"old", "existing"} & {n.norm for n in row[max(0, f.start - 6) : f.start]}
    return bool(old) or bool(_MADE_AWAY & set(ahead))


def _managed(row: Sequence[Node], f: Found) -> bool:
    """'managed to get the hot run' has done it."""
    before = [n.norm for n in row[max(0, f.start - 2) : f.start]]
    return before in (["managed", "to"], ["able", "to"]) or before[-1:] == ["did"]


def _inside(one: Found, other: Found) -> bool:
    """'not' of 'do not forget' is no cue of its own."""
    shorter = one.end - one.start < other.end - other.start
    return shorter and other.start <= one.start and one.end <= other.end


def _pipe_goes(row: Sequence[Node], i: int) -> bool:
    """'the cold's gone off the main in fifteen', but 'she's gone off the bath': the node before `i`, or one further."""
    ahead = [n for n in row[max(0, i - 2) : i] if n.norm not in ("has", "have", "'s", "is")]
    return bool(ahead) and ahead[-1].kind in PIPE_KINDS


def _at_a_valve(row: Sequence[Node], i: int) -> bool:
    """'the main's split, so it's off at the street'."""
    return i < len(row) and row[i].norm in ("at", "by", "outside")


_MADE_AWAY = frozenset(("cut", "capped", "taken", "stripped", "drained", "isolated", "removed", "out", "bunged"))


def reaches(seen: Found, act: Act, row: Sequence[Node], clause: tuple[int, int], sentence: tuple[int, int]) -> bool:
    """Whether a cue governs an action: right form, direction and distance, and nothing that stops it between."""
    cue = seen.cue
    if cue.forms and act.form not in cue.forms:
        return False
    low, high = clause if cue.within == "clause" else sentence
    if seen.start < low or seen.end > high:
        return False
    before, after = act.start - seen.end, seen.start - act.end
    inside = seen.start >= act.start and seen.end <= act.end
    if inside:
        return cue.status in ("not done", "unsure")
    if before >= 0 or (before < 0 <= act.start - seen.start):
        gap, between = max(before, 0), row[seen.end : act.start]
        right_way = cue.direction in ("before", "both")
    else:
        gap, between = after, row[act.end : seen.start]
        right_way = cue.direction in ("after", "both")
    return right_way and gap <= cue.reach and not any(n.norm in cue.stops for n in between)


def decide(act: Act, governing: Sequence[Found], opening: bool, nobody: bool = False) -> tuple[Status | None, str]:
    """The status of an action under the cues that reach it, and the rule that decided.

    `opening` says that the action opens its clause with nobody doing it, as an instruction does; `nobody` that it
    follows 'nobody' as one ('nobody fill anything').
    None means that the words state no fact.
    """
    by: dict[str, str] = {}
    for seen in governing:
        by.setdefault(seen.cue.status, seen.cue.id)
    if "void" in by and not (by["void"] == "on-paper" and "dropped" in by):
        # 'they had a condensate on the drawing, and you may rub it out'
        return None, by["void"]
    if act.form == "dropped":
        return Status.DROPPED, "said so"
    if by.get("dropped") == "after-all" and "not done" not in by:
        del by["dropped"]
    bothers = any(seen.cue.id == "do-not-bother" for seen in governing)
    if "dropped" in by and (bothers or act.action not in ("ask", "photograph", "test")):
        return Status.DROPPED, by["dropped"]
    if act.form == "todo":
        if "not done" in by and act.action != "decide":
            return Status.NOT_DONE, by["not done"]
        return Status.TO_DO, "said so"
    if act.form == "state":
        return (Status.UNSURE, by["unsure"]) if "unsure" in by else (Status.DONE, "said so")
    if act.form == "notdone":
        return Status.NOT_DONE, "said so"
    if "not done" in by and act.action == "decide":
        return Status.TO_DO, by["not done"]
    if "not done" in by:
        return (None, "order to nobody") if nobody and act.form == "base" else (Status.NOT_DONE, by["not done"])
    if "unsure" in by and "to do" not in by and act.form not in ("noun", "ing"):
        return Status.UNSURE, by["unsure"]
    if "to do" in by:
        return Status.TO_DO, by["to do"]
    if "future" in by:
        return Status.TO_DO, by["future"]
    if "done" in by:
        return Status.DONE, by["done"]
    return _plain(act, opening)


def _plain(act: Act, opening: bool) -> tuple[Status | None, str]:
    if act.form in ("done", "future"):
        return Status.DONE, "said so"
    if act.form == "base":
        return (Status.TO_DO, "instruction") if opening else (None, "bare verb")
    return None, "no cue"
