"""Work that is spoken of: verbs and phrases from data, found over the nodes of a memo."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from notes.errors import VoidbookError
from notes.lexicon import data_rows
from notes.model import ACTIONS
from notes.reading.mentions import JUST_DONE, Node, tokens
from notes.reading.patterns import Matcher
from notes.reading.wordlists import pattern

FORMS = frozenset(("done", "base", "ing", "noun", "todo", "notdone", "future", "state", "dropped"))
ON = frozenset(("pipe", "item", "joist", "any"))


@dataclass(frozen=True, slots=True)
class Act:
    """An action found at nodes `start:end`.

    `form`: done (said as a state or past), base, ing, noun (needs a cue), todo, notdone, state and dropped (say it
    themselves), future (present tense that a time makes a plan). `on` is what it is usually done to. An action `nil`
    in the data is an idiom that only keeps its words from being read as work.
    """

    action: str
    form: str
    on: str
    start: int
    end: int


def _rows(name: str, wanted: Iterable[str]) -> list[dict[str, str]]:
    rows = data_rows(name)
    for number, row in enumerate(rows, start=2):
        if set(row) != set(wanted) or None in row.values():
            raise VoidbookError(f"line {number}: wants the columns {', '.join(wanted)}", file=name)
        if row["action"] not in (*ACTIONS, "nil") or row["on"] not in ON:
            raise VoidbookError(f"line {number}: no action {row['action']!r} on {row['on']!r}", file=name)
    return rows


def _plain(words: str) -> str:
    return " ".join(t.norm for t in tokens(words))


@lru_cache(maxsize=1)
def _verbs() -> list[dict[str, str]]:
    return _rows("verbs.csv", ("action", "on", "base", "done", "ing", "particles"))


@lru_cache(maxsize=1)
def verb_forms() -> dict[str, frozenset[str]]:
    """First word of every verb -> its forms, of base, done and ing."""
    table: dict[str, set[str]] = {}
    for row in _verbs():
        for form in ("base", "done", "ing"):
            for verb in filter(None, row[form].split("|")):
                table.setdefault(verb.split()[0], set()).add(form)
    return {word: frozenset(forms) for word, forms in table.items()}


@lru_cache(maxsize=1)
def patterns() -> tuple[tuple[str, str], ...]:
    """(label, words) for the matcher, from verbs.csv and phrases.csv."""
    out: list[tuple[str, str]] = []
    for row in _verbs():
        must = row["particles"].startswith("!")
        more = row["particles"].lstrip("!").split()
        tail = " " + "|".join(more) + ("" if must else "?") if more else ""
        for form in ("base", "done", "ing"):
            label = f"{row['action']}|{form}|{row['on']}"
            for verb in filter(None, row[form].split("|")):
                for said in (verb, _third(verb)) if form == "base" else (verb,):
                    plain, gaps = _plain(said), _GAPS if said == verb else _NARROW
                    parted = _around(plain, "|".join(more), gaps) if must else _parted(plain, gaps)
                    out += [(label, way) for way in (plain + tail, *parted)]
                if form == "base" and verb.endswith(" the"):
                    out += [(f"{row['action']}|future|{row['on']}", way) for way in _worked_by(verb[:-4])]
    for row in _rows("phrases.csv", ("action", "form", "on", "words")):
        if row["form"] not in FORMS:
            raise VoidbookError(f"no form is called {row['form']!r}", file="phrases.csv")
        out.append((f"{row['action']}|{row['form']}|{row['on']}", row["words"]))
    return tuple(dict.fromkeys(out))


_GAPS = ("~4", "THEM", "my|the|your? SVC and my|the|your? SVC")
"""'sent the lot up', 'sent it up', 'sent hot and cold up': what may stand between a verb and its particle."""
_NARROW = ("my|the|your|that|old? SVC|ITEM", *_GAPS[1:])
"""The same of a third person: 'hooks the gas up', but not 'pipes sticking up'."""


def _worked_by(verb: str) -> tuple[str, str]:
    """'I drain hot and cold': who works tells the verb from a noun, as an article does."""
    return f"i|we|they {verb}", f"he|she|somebody|someone {_third(verb)}"


def _parted(verb: str, gaps: Sequence[str]) -> list[str]:
    """'pump ~4 up' of 'pump up': 'haven't pumped the hot up'."""
    first, _, particle = verb.partition(" ")
    return _around(first, particle, gaps) if particle in _PARTICLES and first not in _LIGHT else []


def _around(verb: str, particle: str, gaps: Sequence[str]) -> list[str]:
    """A verb with its object before its particle: 'pump the hot up'."""
    return [f"{verb} {gap} {particle}" for gap in gaps]


_LIGHT = frozenset(
    "take takes took taken taking put puts putting come comes came coming pick picks picked picking stop stops "
    "turn turns".split()
)
"""Verbs that mean something else beside each object."""
_PARTICLES = frozenset("up down in on off out over back round".split())


def _third(verb: str) -> str:
    """'closes up' of 'close up', 'ties' of 'tie', 'carries' of 'carry'."""
    first, _, rest = verb.partition(" ")
    if first[-1:] == "y" and first[-2:-1] not in "aeiou":
        first, end = first[:-1], "ies"
    else:
        end = "es" if first.endswith(("s", "sh", "ch", "x")) else "s"
    return f"{first}{end} {rest}".rstrip()


@lru_cache(maxsize=1)
def _matcher() -> Matcher:
    return Matcher(patterns())


def acts(row: Sequence[Node]) -> list[Act]:
    """The actions in a row of nodes; where spans overlap the longest stays, phrases before single verbs."""
    found = []
    for hit in _matcher()(row):
        action, form, on = hit.label.split("|")
        if form == "ing" and hit.start and row[hit.start - 1].norm in _OVER:
            form = "done"
        form = _after_to(row, hit.start, form)
        if (hit.end - hit.start == 1 and _only_named(row, hit.start)) or (action == "fit" and _built(row[hit.start])):
            continue
        found.append(Act(action, form, on, hit.start, hit.end))
    found.sort(
        key=lambda a: (
            _STRANGE * _strange(row, a) - (a.end - a.start),
            _LAST.get(a.action, 0),
            _FORM_RANK[a.form],
            a.start,
        )
    )
    kept: list[Act] = []
    for act in found:
        if all(act.end <= k.start or act.start >= k.end for k in kept):
            kept.append(act)
    return sorted((a for a in kept if a.action != "nil"), key=lambda a: a.start)


def _only_named(row: Sequence[Node], i: int) -> bool:
    """'over the loops', 'them sleeves want sealing': things, nobody loops or sleeves."""
    if row[i].kind == "pair":
        return True
    if row[i].norm in ("pipe", "pipes") and i and (row[i - 1].kind != "word" or row[i - 1].norm in _OWNED):
        return True
    return row[i].kind == "item" and i > 0 and row[i - 1].norm in ("the", "them", "those", "these", "my", "his", "both")


_OWNED = frozenset("the a an our my his her their your this that old new other every each any no same of with".split())


def _built(node: Node) -> bool:
    """'on the far wall on Monday', 'the floor's in': nobody fits a part of the building."""
    return node.kind == "item" and node.keys[0] in _BUILDING


def _strange(row: Sequence[Node], act: Act) -> bool:
    """Whether it is work on pipes where a thing is told of, or the other way about."""
    if act.action not in _UNLIKELY:
        return False
    if act.action == "fit" and row[act.start].kind == "item" and row[act.start].keys[0] in _WORKED_WITH:
        # 'the screed's gone down in the tea room' covers, nobody fits a floor
        return True
    worked = [_KINDS[n.kind] for n in row[act.end : act.end + 3] if n.kind in _KINDS]
    direct = act.action == "fit" or (
        act.action == "run"
        and "pipe" not in worked
        and row[act.end - 1].norm == "out"
        and row[act.end : act.end + 1]
        and row[act.end].norm != "of"
    )
    # 'the flow isn't lagged, the bath's gone in' names what it tells of
    own = _KINDS.get(row[act.start].kind) if act.action == "fit" and not _led(row, act.start) else None
    told = own or (worked[0] if direct and worked else _told_of(row, act))
    return told == _UNLIKELY[act.action]


def _told_of(row: Sequence[Node], act: Act) -> str | None:
    """'pipe' or 'item': what the sentence names last before the work and not by a preposition; None for neither."""
    for i in range(act.start - 1, -1, -1):
        node = row[i]
        if node.norm in (".", "?", "!"):
            break
        kind = _KINDS.get(node.kind)
        if kind and not _WORKED_WITH & set(node.keys) and not _led(row, i):
            return kind
    return None


def _led(row: Sequence[Node], i: int) -> bool:
    """Whether a preposition leads to node i."""
    for node in row[max(0, i - 3) : i][::-1]:
        if node.norm in _PREPOSITIONS:
            return True
        if node.norm in _BREAKS:
            return False
    return False


_STRANGE = 1.5
"""Words that a reading must be longer than another one to win where it is strange."""
_UNLIKELY = {"run": "item", "leave": "item", "clip": "item", "fit": "pipe"}
"""Work, and what it is seldom done to."""
_WORKED_WITH = frozenset(("clips", "insulation", "joist", "wall", "floor"))
"""Things that are told of with the pipes that they hold, wrap or hide."""
_BUILDING = frozenset(("joist", "wall", "floor"))
_KINDS = {"service": "pipe", "pair": "pipe", "half": "pipe", "item": "item"}
_PREPOSITIONS = frozenset(
    "to at by in on under behind for off from near beside above below into onto with through over".split()
)
_BREAKS = frozenset((",", ";", "and", "but"))


def _after_to(row: Sequence[Node], i: int, form: str) -> str:
    """'I had to reroute it' is past, 'still to set up' is not: what looks the same in both is told by what leads it."""
    lead = [n.norm for n in row[max(0, i - 2) : i]]
    if form in ("base", "done") and _was_done(row, i):
        return "done"
    ordered = not lead or lead[-1] in _OPENS or (lead == ["do", "not"] and (i < 3 or row[i - 3].norm in _OPENS))
    if form == "done" and row[i].norm in _ORDERED and ordered:
        # 'rip that toilet out', 'it's staying, don't rip it out'
        return "base"
    return "base" if form == "done" and lead[-1:] == ["to"] and row[i].norm in _SAME_IN_BOTH else form


def _was_done(row: Sequence[Node], i: int) -> bool:
    """'had to cap it', 'took care to cap it', 'got the boy to cap it', 'had him cap it': node i the verb."""
    to = i > 0 and row[i - 1].norm == "to"
    if not to and (i == 0 or row[i - 1].norm not in _SOMEBODY):
        return False
    ahead = " ".join(n.norm for n in row[max(0, i - _FAR) : i - to])
    return bool((_DID_TO if to else _HAD_HIM).search(ahead))


_DID_TO, _HAD_HIM = pattern("did-to", r"(?<!\S)", "$"), pattern("had-him", r"(?<!\S)", "$")
_SOMEBODY = frozenset("him her them boy lad lads boys apprentice mate labourer".split())
_FAR = 8
_ORDERED = frozenset("take rip pull strip chop whip knock turn lift dig haul".split())
_OPENS = frozenset((".", ",", ";", "!", "and", "then", "please", "kindly", "just", "so"))
_SAME_IN_BOTH = frozenset("run set shut put cut take rip pull strip chop whip knock turn lift dig leave".split())
_OVER = frozenset((JUST_DONE, "finished", "completed"))
"""Before a verb in -ing: 'finished lagging the return'."""
_LAST = {"nil": -1, "fit": 1, "order": 2}
"""Of two readings of the same words, an idiom comes first and those that say less come last."""
_FORM_RANK = {"todo": 0, "notdone": 0, "state": 0, "dropped": 0, "done": 1, "future": 2, "base": 3, "ing": 3, "noun": 4}
