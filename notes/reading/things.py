"""The thing that work is done to: fitted, ordered, filled; and things that only say where, or what a pipe serves."""

from __future__ import annotations

from notes.reading.actions import Act
from notes.reading.clauses import Clause, says_which, things_listed
from notes.reading.patterns import macro_words
from notes.reading.said import Said
from notes.reading.wordlists import words

PASSING = words("passing")
DETERMINERS = words("determiners")
POINTED = frozenset(("that", "the", "my", "her", "his", "our", "their", "a", "an", "which", "what"))
"""Before a thing that is named, or asked about."""
STRUCTURE = words("structure")
_ON_STRUCTURE = words("on-structure")
_NOT_TO_STRUCTURE = frozenset(("fit", "order", "remove", "commission"))


def key_of(said: Said, i: int) -> tuple[tuple[str, ...], None]:
    """The thing at node i, as a subject that serves nothing else."""
    return (said.row[i].keys[0],), None


def things_with(said: Said, clause: Clause, item: int) -> tuple[tuple[str, ...], None]:
    """The thing at node `item` and those that are listed with it: 'bath and toilet are out', 'two elbows and a tee'."""
    listing = next((g for g in things_listed(said.row, said.start, clause.end) if item in g), [item])
    apart = any(said.clause_of(i) != said.clause_of(item) for i in listing)
    if apart and not _MANY & set(said.norms(item, clause.end)):
        listing = [i for i in listing if said.clause_of(i) == said.clause_of(item)]
    return tuple(said.row[i].keys[0] for i in listing), None


def thing_in_mind(said: Said) -> str:
    """What 'it' means, where a thing was spoken of last; else ''."""
    last = said.scene.last
    return last[1] if last and last[0] == "item" else ""


def things_in_mind(said: Said, act: Act, clause: Clause) -> tuple[str, ...]:
    """What 'it', or 'they' and 'both', means, where things were spoken of last."""
    thing = thing_in_mind(said)
    told = said.told_last
    many = _MANY & set(said.norms(clause.start, min(act.end + 2, clause.end)))
    if many and told is not None and len(told.keys) > 1 and thing in told.keys:
        return told.keys
    if many and thing in said.scene.things:
        return said.scene.things
    return (thing,) if thing else ()


_MANY = frozenset("they them both neither none all those these lot pair three each".split())


def pipe_in_mind(said: Said) -> bool:
    """Whether pipes were spoken of last."""
    return said.scene.last == ("pipe", "")


def free_items(said: Said, clause: Clause) -> list[int]:
    """Things that don't just say what a pipe serves."""
    return [i for i in said.items(clause) if not serving(said, i) and not says_which(said.row, i, clause.end)]


def serving(said: Said, i: int) -> bool:
    """Whether an item only says what pipes serve: 'basin hot and cold', 'cold for the sink'."""
    thing = said.words(i, i + 1)
    return any(
        g.serves and (i in (g.start - 1, g.start - 2) or (g.end <= i < g.end + 6 and thing in g.serves))
        for g in said.groups
    )


def in_phrase(said: Said, i: int, also: str = "") -> bool:
    """Whether a thing stands after a preposition, or after `also`: 'behind the bath'."""
    j = i - 1
    while j >= said.start and (said.norm(j) in DETERMINERS or said.row[j].kind in _SKIPPED or said.norm(j) in _SIDES):
        if said.row[j].kind in ("room", "head") and said.norm(j + 1) in DETERMINERS:
            # 'in the loft the tank's drained', but 'on the loft tank'
            return False
        j -= 1
    if j > said.start and said.norm(j) == "of" and said.norm(j - 1) in _AMOUNTS:
        return False
    if j > said.start and said.norm(j) == "by" and said.row[j - 1].qty is not None:
        # 'two twenty-two by fifteen reducers'
        return False
    return j >= said.start and (said.norm(j) in PASSING or said.norm(j) == also)


_AMOUNTS = frozenset("pair pairs couple box boxes bag bags lot load few set length lengths handful half".split())
"""'a pair of valves': what there are two of."""
_SIDES = frozenset("back front far other side end opposite left right top bottom gable outside inside".split())
_SKIPPED = ("room", "head", "qty", "material")
"""'the valve on the bunk room radiator'."""


def mere_place(said: Said, i: int) -> bool:
    """A wall, floor or joist that only says where: 'is it on the wall or in the floor'."""
    if said.row[i].keys[0] not in STRUCTURE:
        return said.norm(i - 1) == "in"
    told = 2 if said.norm(i - 1) in DETERMINERS else 3
    return any(n in _ON_STRUCTURE for n in said.norms(max(said.start, i - told), i))


def take_heading(said: Said, clause: Clause) -> None:
    """'Shower, I've took hot and cold up': a thing alone says what the pipes serve."""
    rest = [
        n for n in said.row[clause.start : clause.end]
        if n.kind != "mark" and n.norm not in DETERMINERS and n.kind != "room"
    ]  # fmt: skip
    if clause.start != said.start or len(rest) not in (1, 2) or rest[-1].kind != "item":
        return
    if len(rest) == 1 or rest[0].kind == "word":
        said.headed = said.text[rest[0].start : rest[-1].end]


def note_things(said: Said, clause: Clause) -> None:
    """A thing named in a clause of its own is what 'it' means next."""
    free = free_items(said, clause)
    # 'what's happening with the bath?': a question is about all that it names
    free = free if clause.question else [i for i in free if not in_phrase(said, i)]
    # 'two urinals on the wall'
    free = [i for i in free if said.row[i].keys[0] not in STRUCTURE] or free
    # 'it's the valve on the hall radiator that's letting by'
    free = [i for i in free if not in_phrase(said, i, also="on")] or free
    if free and not said.named(clause):
        said.scene.think_of(said.row[free[-1]].keys[0])
        listed, _ = things_with(said, clause, free[-1])
        said.scene.things = listed if len(listed) > 1 else ()
    elif free:
        said.scene.thing = said.row[free[-1]].keys[0]


def item_for(said: Said, act: Act, clause: Clause) -> int | None:
    """The node of the thing an action is done to: inside its words, straight after it, before it, or later."""
    inside = _inside(said, act)
    if inside:
        return inside[-1] if act.action in ("order", "fit") else inside[0]
    free = free_items(said, clause)
    if act.action in _NOT_TO_STRUCTURE:
        # 'hung it on the back wall'
        free = [i for i in free if said.row[i].keys[0] not in STRUCTURE]
    if not free and act.action == "fit" and clause.lead == "which" and (which := _before_which(said, clause)):
        return which
    before = [i for i in free if i < act.start]
    after = [i for i in free if i >= act.end]
    if act.action == "remove":
        after = [i for i in after if said.norm(i - 1) != "off"]
    subject = [i for i in before if not in_phrase(said, i)]
    # 'the towel rail isn't connected behind the bath'
    direct = [i for i in after if i - act.end <= 3 and not (subject and in_phrase(said, i))]
    if act.form in ("done", "base") and direct and act.action != "commission":
        return direct[0]
    if before:
        return ([i for i in before if not in_phrase(said, i)] or before)[-1]
    return after[0] if after else None


def _before_which(said: Said, clause: Clause) -> int | None:
    """'back to the manifold, which I've hung on the wall': the thing right before a clause that tells more of it."""
    i = clause.start - 1
    while i > said.start and (said.norm(i) == "which" or said.row[i].kind == "mark"):
        i -= 1
    thing = said.row[i].kind == "item" and said.row[i].keys[0] not in STRUCTURE
    return i if i > said.start and thing else None


def _inside(said: Said, act: Act) -> list[int]:
    return [
        i for i in range(act.start, act.end)
        if said.row[i].kind == "item" and not serving(said, i)
        and (said.norm(i - 1) not in _ITS or act.action == "order" or _OWNED & set(said.norms(act.start, act.end)))
        and not (act.action == "fit" and said.norm(i) == "fitting")
        and (said.row[i].keys[0] not in STRUCTURE or act.action not in _NOT_TO_STRUCTURE)
    ]  # fmt: skip


_ITS = frozenset(("its", "their"))
"""'the rad's on its brackets': what hangs on them is spoken of."""
_OWNED = macro_words("OWNS", "WANTS", "LACKS")
"""'the rad's got its valves', 'lacks its valves': they are spoken of."""
