"""What one fact changes about the pipe it is said of. Pure: state in, state out."""

from __future__ import annotations

import re
from dataclasses import replace

from notes.model import STATES, Fact, Status
from notes.tracing.ends import DRAINS

LAID = frozenset(("run", "capped", "open", "connected", "insulated", "covered", "photographed", "tested", "failed"))
"""States that only a pipe which is there can have."""

# done action -> states that begin, states that end
_DONE: dict[str, tuple[frozenset[str], frozenset[str]]] = {
    "run": (frozenset({"run"}), frozenset({"removed", "dropped"})),
    "tee": (frozenset({"run"}), frozenset({"removed", "dropped"})),
    "clip": (frozenset({"run"}), frozenset({"removed", "dropped"})),
    "cap": (frozenset({"capped"}), frozenset({"open", "connected", "removed"})),
    "leave": (frozenset({"open"}), frozenset({"capped", "connected", "removed"})),
    "connect": (frozenset({"connected"}), frozenset({"open", "capped", "removed", "dropped"})),
    "insulate": (frozenset({"insulated"}), frozenset({"not insulated"})),
    "cover": (frozenset({"covered"}), frozenset()),
    "photograph": (frozenset({"photographed"}), frozenset()),
    "remove": (frozenset({"removed"}), LAID | {"temporary", "not insulated"}),
}
_ENDINGS = frozenset(("cap", "connect", "run"))


_LEVEL = re.compile(
    r"\b(?:metres?|mil|foot|feet|inch(?:es)?)(?: and a (?:half|quarter))?(?: head)? of water\b|\bhead of water\b"
    r"|\bto (?:the )?(?:brim|rim|spill\w*|overflow|flood|top)\b(?! joint| tee| floor)",
    re.IGNORECASE,
)

_AGAIN = re.compile(r"\b(?:re-?(?:made|mak\w+|did|done|press\w*|solder\w*|crimp\w*|joint\w*)|again)\b", re.IGNORECASE)


def measured(fact: Fact) -> bool:
    """Whether a test has its pressure on record, or of a drain the level that it was filled to."""
    return fact.pressure_bar is not None or (fact.subject in DRAINS and bool(_LEVEL.search(fact.quote)))


def passed(fact: Fact) -> bool:
    """Whether `fact` records a test that was passed."""
    return fact.action == "test" and fact.status is Status.DONE and not fact.failed


def under_pressure(fact: Fact) -> bool:
    """Whether a passed test shows that no end stood open: running water down a drain does not."""
    return passed(fact) and (fact.subject not in DRAINS or measured(fact))


def after(state: frozenset[str], fact: Fact) -> frozenset[str]:
    """The state of a pipe once `fact` was said of it; plans and doubts change nothing."""
    if fact.action == "insulate" and fact.status in (Status.NOT_DONE, Status.TO_DO):
        return state - {"insulated"} | {"not insulated"}
    if fact.status is Status.NOT_DONE:
        return state - {{"connect": "connected", "cover": "covered", "cap": "capped"}.get(fact.action, "")}
    if fact.status is Status.DROPPED and fact.action in ("run", "tee", "connect", "join", "fit"):
        return state | {"dropped"} if state & LAID else frozenset({"dropped"})
    if fact.status is Status.TO_DO and fact.action in ("run", "tee", "connect", "fit"):
        return state - {"dropped"}
    return _done(state, fact) if fact.status is Status.DONE else state


def _done(state: frozenset[str], fact: Fact) -> frozenset[str]:
    if fact.action == "test":
        return _tested(state, fact)
    if fact.action == "join":
        return _joined(state, fact)
    begins, ends = _DONE.get(fact.action, (frozenset(), frozenset()))
    state = state - ends | begins
    if fact.temporary:
        return state | {"temporary"}
    return state - {"temporary"} if fact.action in _ENDINGS else state


def _joined(state: frozenset[str], fact: Fact) -> frozenset[str]:
    """What a joint changes: it connects an end, but a reduction, or one made anew after a leak, leaves the far end."""
    closed = bool(state & {"capped", "connected"}) and "temporary" not in state
    if closed and (not fact.to or "failed" in state or fact.to_size_mm or _AGAIN.search(fact.quote)):
        return state - {"removed", "dropped"}
    return _done(state, replace(fact, action="connect"))


def _tested(state: frozenset[str], fact: Fact) -> frozenset[str]:
    if fact.failed:
        return state - {"tested"} | {"failed"}
    return state - {"failed"} - ({"open"} if under_pressure(fact) else frozenset()) | {"tested"}


def told(state: frozenset[str]) -> tuple[str, ...]:
    """The words of STATES true of a pipe, in order; 'not tested' where it is there and no passed test is on record."""
    untested = {"not tested"} if state & LAID and "tested" not in state else set()
    return tuple(word for word in STATES if word in state | untested)
