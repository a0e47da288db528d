"""Work that is only named, and what is said of it beside: 'capping the hot, done', 'what I've done is cap it'."""

from __future__ import annotations

from notes.model import Status
from notes.reading.actions import Act
from notes.reading.clauses import Clause
from notes.reading.mentions import NAME_KINDS
from notes.reading.said import Said
from notes.reading.wordlists import pattern, words

_LEADS = words("opening") | words("articles") | words("possessors") | {"only"}
_JOB_WAS = pattern("job-was")
_DID = pattern("did-was", after="$")
_AFTER = (
    (Status.NOT_DONE, pattern("verdict-not-done", "(?:^| )", "$")),
    (Status.TO_DO, pattern("verdict-to-do", "(?:^| )", "$")),
    (Status.DONE, pattern("verdict-done", "(?:^| )", "$")),
)
_HEADS = (
    (Status.NOT_DONE, pattern("heads-not-done")),
    (Status.TO_DO, pattern("heads-to-do")),
    (Status.DONE, pattern("heads-done")),
)
_KINDLY = pattern("asked-kindly", "^(if )?", "( just| please| kindly| possibly| maybe)*$")
_SAME_IN_BOTH = frozenset(("run", "take", "put", "cut", "set", "shut", "strip", "rip", "pull"))


def verdict_on(said: Said, act: Act, clause: Clause) -> Status | None:
    """What is said beside work that is only named; None where nothing is."""
    ahead = said.joined(clause.start, act.start)
    named = act.form in ("base", "done", "ing") or (act.form == "todo" and act.action == "order")
    if named and "not" not in ahead and _DID.search(ahead):
        return Status.DONE
    if act.form in ("base", "done") and asked_kindly(said, clause, act.start):
        return Status.TO_DO
    head = said.unmarked(said.start, clause.start)
    if act.start == clause.start and said.norm(act.start) in _SAME_IN_BOTH and _HEADS[1][1].fullmatch(head):
        # 'to do: run the cold'
        return Status.TO_DO
    opens = all(n in _LEADS for n in said.norms(clause.start, act.start)) or bool(_JOB_WAS.fullmatch(ahead))
    if opens and names_its_matter(said, act):
        # 'insulation of the hot is completed', 'testing of the cold is pending, material is awaited'
        rest = said.joined(act.end, clause.end)
        return next((s for s, p in _AFTER if p.search(rest)), None)
    if act.form != "ing" or not opens:
        return None
    if head and (status := next((s for s, p in _HEADS if p.fullmatch(head)), None)) is not None:
        return status
    if any(n.kind in NAME_KINDS for n in said.row[clause.end : said.end]):
        return None
    rest = " ".join(n.norm for n in said.row[act.end : said.end])
    return next((s for s, p in _AFTER if p.search(rest)), None)


def names_its_matter(said: Said, act: Act) -> bool:
    """'testing of the hot': work by its name, and what it is done to."""
    return act.form in ("ing", "noun") and said.norm(act.end) == "of"


def asked_kindly(said: Said, clause: Clause, end: int) -> bool:
    """'if you could cap it, that'd be great': asked for, no condition."""
    return clause.lead == "if" and bool(_KINDLY.search(said.joined(clause.start, end)))
