"""The life of follow-ups in one room: facts open them, later facts close them. A pure fold over facts in order."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from notes.checking.catalogue import Check, Pattern, Rules, known
from notes.checking.scene import Case, Finding, Judge, Opening, Scene, two_ends
from notes.checking.things import only_some, same_thing, share_a_word
from notes.model import Fact, Status
from notes.tracing.ends import apart, ends
from notes.tracing.strand import one_material

_KEPT = 60  # openings kept, so that a very long book stays linear


class Book:
    """Patterns by the event that they wait for, so that a fact meets only the few checks it can touch."""

    def __init__(self, rules: Rules, judges: Mapping[str, Judge]) -> None:
        self.does = rules.does
        self.judges = judges
        self.opening: dict[tuple[str, Status], list[tuple[Check, Pattern]]] = defaultdict(list)
        self.closing: dict[tuple[str, Status], list[tuple[Check, Pattern]]] = defaultdict(list)
        self._opening: dict[tuple[str, Status, str], list[tuple[Check, Pattern]]] = {}
        self._closing: dict[tuple[str, Status], list[tuple[Check, Pattern]]] = {}
        for check in rules.checks:
            known(f"check {check.id!r}, needs", filter(None, (check.needs,)), judges)
            for pattern in check.opens:
                self.opening[pattern.action, pattern.status].append((check, pattern))
            for pattern in check.closes:
                self.closing[pattern.action, pattern.status].append((check, pattern))

    def opens(self, fact: Fact, scene: Scene) -> Iterable[tuple[Check, Opening]]:
        """The checks that `fact` opens."""
        for check, pattern in self._may_open(fact):
            if pattern.meets(fact):
                finding = self.judges[check.needs](fact, scene) if check.needs else Finding()
                if finding:
                    yield check, Opening(fact, finding)

    def closes(self, fact: Fact) -> Iterable[tuple[Check, Pattern]]:
        """The checks that `fact` may close."""
        return (found for found in self._may_close(fact) if found[1].meets(fact))

    def _may_open(self, fact: Fact) -> list[tuple[Check, Pattern]]:
        key = fact.action, fact.status, fact.subject
        if key not in self._opening:
            found = [one for act in (fact.action, "any") for one in self.opening.get((act, fact.status), ())]
            self._opening[key] = [
                (check, pattern)
                for check, pattern in found
                if (not check.subjects or fact.subject in check.subjects) and fact.action not in check.excepted
            ]
        return self._opening[key]

    def _may_close(self, fact: Fact) -> list[tuple[Check, Pattern]]:
        key = fact.action, fact.status
        if key not in self._closing:
            acts = (fact.action, "any", "same")
            self._closing[key] = [one for act in acts for one in self.closing.get((act, fact.status), ())]
        return self._closing[key]


def fold(memos: Iterable[Sequence[tuple[Fact, bool]]], book: Book, scene: Scene) -> list[Case]:
    """All cases of one room, from its facts memo by memo.

    Each fact comes with whether it is the room's own; one said elsewhere of the whole floor only closes.
    """
    shut: list[Case] = []
    for said in memos:
        scene.memo = [fact for fact, _ in said]
        for fact, own in said:
            opened = dict(_each(book.opens(fact, scene))) if own else {}
            shut += _close(fact, book, scene, opened)
            for check_id, (check, opening) in opened.items():
                _open(check, opening, scene, check_id)
            scene.before[fact.subject].append(fact)
    return shut + list(scene.open.values())


def _each(found: Iterable[tuple[Check, Opening]]) -> Iterable[tuple[str, tuple[Check, Opening]]]:
    return ((check.id, (check, opening)) for check, opening in found)


def _open(check: Check, opening: Opening, scene: Scene, check_id: str) -> None:
    case = scene.open.setdefault((check_id, opening.fact.subject), Case(check, opening.fact.subject, [], []))
    case.openings = [*case.openings, opening][:_KEPT]
    if not any(_again(opening.fact, other.fact, scene) for other in case.left):
        case.left.append(opening)


def _again(fact: Fact, other: Fact, scene: Scene) -> bool:
    """Whether the same was said once more: nothing new has to be dealt with."""
    same = fact.action == other.action and fact.size_mm == other.size_mm and scene.at(fact) == scene.at(other)
    return same and same_thing(fact, other) and not two_ends(fact, other)


def _close(fact: Fact, book: Book, scene: Scene, opened: Mapping[str, object]) -> list[Case]:
    shut = []
    for check, pattern in book.closes(fact):
        for subject in _subjects_closed(fact, check, pattern, scene):
            case = scene.open.get((check.id, subject))
            if case is None or (check.id in opened and subject == fact.subject):
                continue
            alone = len(case.left) == 1
            case.left = [
                o
                for o in case.left
                if not (_deals(o.fact, fact, pattern, book, scene, alone) and _all_of(o, fact, scene))
            ]
            if not case.left:
                case.closed_by = fact
                shut.append(scene.open.pop((check.id, subject)))
    return shut


def _subjects_closed(fact: Fact, check: Check, pattern: Pattern, scene: Scene) -> list[str]:
    if not pattern.subject:
        return [fact.subject]
    if pattern.subject != fact.subject:
        return []
    return [subject for check_id, subject in scene.open if check_id == check.id]


def _deals(opened: Fact, fact: Fact, pattern: Pattern, book: Book, scene: Scene, alone: bool) -> bool:
    """Whether `fact` settles what `opened` opened: the same pipe or thing, the whole of it."""
    if opened.subject != fact.subject:
        return share_a_word(opened.quote, fact.quote)
    if pattern.action == "same" and fact.action not in {opened.action} | book.does.get(opened.action, frozenset()):
        return False
    # A doubt may have been about the size; the only end that stands open is what is connected, whatever the size, or
    # joined on, whatever the size and material.
    onward = fact.action == "join" or (fact.action == "connect" and one_material(opened.material, fact.material))
    free = opened.status is Status.UNSURE or (alone and onward)
    if alone and opened.action == fact.action and (_says_no_place(fact) or _chosen(fact)):
        return True
    met = (free and not apart(scene.at(opened), scene.at(fact))) or scene.alike(opened, fact)
    return met and same_thing(opened, fact) and not only_some(opened, fact)


def _chosen(fact: Fact) -> bool:
    """What was decided goes by what it is now: 'which valves', 'thermostatic ones'; 'bath or cubicle', 'a cubicle'."""
    return fact.action == "decide" and fact.subject != "fitting"


def _says_no_place(fact: Fact) -> bool:
    """'That joint's remade': whichever joint was to be."""
    return fact.action == "join" and not (fact.place or fact.from_ or fact.to or ends(fact))


_ONE = re.compile(r"\b(?:first|second|third|last|one|left|right)\b", re.IGNORECASE)


def _all_of(opening: Opening, fact: Fact, scene: Scene) -> bool:
    """Whether no more of what was counted is left: 'three pans to go in', 'two are in'."""
    some = fact.count or _ONE.search(f"{fact.place or ''} {fact.to or ''}") is not None
    if opening.fact.action == "leave" or fact.action in ("test", "remove") or not (some and opening.fact.count):
        return not _in_part(fact, scene)
    opening.dealt[fact.action] = opening.dealt.get(fact.action, 0) + int(some)
    return opening.dealt[fact.action] >= opening.fact.count


def _in_part(fact: Fact, scene: Scene) -> bool:
    """Whether the same memo says of a part that it is not done ('sealed at first and second, ground's not')."""
    undone = (Status.NOT_DONE, Status.TO_DO)
    return fact.status is Status.DONE and any(
        other.n > fact.n and other.action == fact.action and other.subject == fact.subject and other.status in undone
        and other.room == fact.room and scene.alike(other, fact)
        for other in scene.memo
    )  # fmt: skip
