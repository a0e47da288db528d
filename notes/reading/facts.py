"""Scoped mentions to facts: who is worked on, where, how far, and with what words it was said."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from notes.lexicon import Lexicon
from notes.model import PIPES, Fact, Memo, Room, Status
from notes.reading import scope
from notes.reading.actions import Act, acts
from notes.reading.clauses import WAITING, Clause, clauses, listed, sentences
from notes.reading.mentions import Node, nodes
from notes.reading.rooms import Spot, spots
from notes.reading.scene import Carry, Group, Scene, group_keys
from notes.reading.event import Event
from notes.reading.fill import FAILED, fill
from notes.reading.slots import bits, is_size, joist_depth

LOT = frozenset(("everything", "lot", "all", "any", "none", "nothing", "whole"))
THEM = frozenset(("it", "that", "them", "they", "both", "pair", "ones", "one", "those", "these", "two", "three", "each", "either",
                  "neither", "this", "which", *LOT))  # fmt: skip
_PASSING = frozenset(("off", "from", "in", "to", "into", "onto", "for", "with", "than", "of", "near", "above", "below",
                      "behind", "under", "beside", "by", "at", "past"))  # fmt: skip
_SKIP_BACK = frozenset(("the", "a", "my", "me", "our", "his", "new", "old", "main", "own", "same", "this", "that"))
_AGENTS = frozenset(("i", "we", "he", "she", "they", "lads", "lad", "chippy", "somebody", "someone", "you"))


class Reader:
    """Reads one memo. The state is local to the call; what goes in and out is frozen."""

    def __init__(self, text: str, lexicon: Lexicon, scene: Scene) -> None:
        self.text, self.rooms, self.scene = text, lexicon.rooms, scene
        self.row = nodes(text, lexicon)
        self.acts = acts(self.row)
        self.cues = scope.found(self.row)
        self.void: set[int] = set()
        self.last: Event | None = None
        self.recent: list[Event] = []

    def words(self, start: int, end: int) -> str:
        return self.text[self.row[start].start : self.row[end - 1].end]

    # -- sentences ----------------------------------------------------------------------------------------------

    def events(self) -> list[Event]:
        out: list[Event] = []
        for start, end in sentences(self.row):
            out += Sentence(self, start, end).read()
        return out


class Sentence:
    """Reads one sentence in the light of the scene."""

    def __init__(self, reader: Reader, start: int, end: int) -> None:
        self.r, self.row, self.scene = reader, reader.row, reader.scene
        self.start, self.end = start, end
        self.clauses = clauses(self.row, start, end)
        self.acts = [a for a in reader.acts if start <= a.start < end]
        self.groups: list[Group] = []
        self.headed: str | None = None
        self.corrects = False
        self.worked: Event | None = None
        self.fixes = _fixes(self.row, self.clauses)
        self.fixed = {i for n in self.fixes for i in range(self.clauses[n].start, self.clauses[n].end)}
        self.rooms: tuple[str, ...] | None = None

    def clause_of(self, node: int) -> int:
        for n, c in enumerate(self.clauses):
            if c.start <= node < c.end:
                return n
        return len(self.clauses) - 1

    def read(self) -> list[Event]:
        self._void_corrected()
        self._void_said()
        self._note_depth()
        self._find_groups()
        events: list[Event] = []
        asked: Act | None = None
        for number, clause in enumerate(self.clauses):
            self._take_rooms(number, clause)
            self._take_heading(clause)
            mine = [a for a in self.acts if clause.start <= a.start < clause.end]
            if asked is not None and clause.lead not in _TOLD_LEADS:
                asked = None
            for act in mine:
                if asked is not None and act.start > asked.end - 1:
                    continue
                event = self._event(act, number, clause)
                if event is not None and number + 1 < len(self.clauses):
                    event.rooms = self._joined_room(event, number)
                if event is None:
                    continue
                events.append(event)
                if act.action == "ask" and event.status is not Status.DONE:
                    asked = act
            if not mine:
                events += self._elliptic(number, clause, events)
                self._note_items(number)
            self._note_groups(number)
        events = self._corrected(events)
        if self.rooms and len(self.rooms) > 1:
            for e in events:
                if e.act.action in _WIDE and len(e.rooms) == 1:
                    e.rooms = self.rooms
        events += self._implied_runs(events)
        events = [e for e in events if not self._capped_anyway(e, events)]
        events = self._verdicts(events)
        events += self._bare_test(events)
        events.sort(key=lambda e: e.act.start)
        self._fill_slots(events)
        self.r.last = events[-1] if events else self.r.last
        self.r.recent = events or self.r.recent
        return _reduced(_both_told(_once(events, self._names_thing)))

    def _note_depth(self) -> None:
        """'Joists are seven by two, so one seventy-five': kept for the holes told of later."""
        if not any(n.kind == "item" and n.keys == ("joist",) for n in self.row[self.start : self.end]):
            return
        for i in range(self.start, self.end):
            q = self.row[i].qty
            if q is not None and (depth := joist_depth(self.row, i)):
                self.scene.depth = depth

    # -- corrections inside the memo ----------------------------------------------------------------------------

    def _void_corrected(self) -> None:
        for number in self.fixes:
            before = [i for c in self.clauses[:number] for i in range(c.start, c.end) if self.row[i].qty]
            after = [i for c in self.clauses[number:] for i in range(c.start, c.end) if self.row[i].qty]
            if before and after and before[-1] >= self.clauses[max(number - 1, 0)].start:
                self.r.void.add(before[-1])
                old, new = self.row[before[-1]], self.row[after[0]]
                if old.qty and new.qty and old.qty.unit and new.qty.unit is None:
                    # 'seven bar, no, seven and a half': the unit is said once
                    self.row[after[0]] = replace(new, qty=replace(new.qty, unit=old.qty.unit))

    def _void_said(self) -> None:
        """'I said fifteen plastic and it's not': what was said before counts no more."""
        for clause in self.clauses:
            words = " ".join(n.norm for n in self.row[clause.start : clause.end])
            if re.search(r"\bi (said|called|put|told)\b|\b(you|them) i (said|called)|i (might|may) have said", words):
                self.corrects = True
                self.r.void.update(i for i in range(clause.start, clause.end) if self.row[i].qty or self.row[i].kind == "material")

    def _corrected(self, events: list[Event]) -> list[Event]:
        for number in self.fixes:
            later = [e for e in events if e.clause >= number]
            told = {k for e in later for k in e.keys}
            clause = self.clauses[min(number + 1, len(self.clauses) - 1)]
            after = self.clauses[number : number + 2]
            short = self.clauses[number - 1]
            alone = clause_words(self.row, self.clauses[number]) == "no" and short.end - short.start <= 2
            alone = alone and any(short.start <= a.start < short.end for a in self.acts)
            if alone or any(self.row[c.end - 1].norm == "not" and c.end - c.start <= 4 for c in after):
                earlier = [e for e in events if e.clause < number]
                if earlier:
                    earlier[-1].status, earlier[-1].cue = Status.NOT_DONE, "put right"
                    earlier[-1].span = (self.clauses[number].start, clause.end)
            elif later:
                events = [
                    e for e in events
                    if e.clause >= number or not (set(e.keys) & told) or e.clause < number - 1
                    or e.act.action not in {x.act.action for x in later}
                ]  # fmt: skip
        return events

    def _verdicts(self, events: list[Event]) -> list[Event]:
        """'nine bar on hot, cold and return; cold held, but hot and return went down': a verdict for each."""
        out = list(events)
        for test in [e for e in events if e.act.action == "test" and e.status is Status.DONE and len(e.keys) > 1]:
            for number in range(test.clause, len(self.clauses)):
                clause = self.clauses[number]
                told = [g for g in self.groups if clause.start <= g.start < clause.end and g.start > test.act.end]
                told = [g for g in told if set(g.keys) < set(test.keys)]
                if not told or not FAILED.search(clause_words(self.row, clause)):
                    continue
                keys = told[-1].keys
                test.keys = tuple(k for k in test.keys if k not in keys)
                out = [e for e in out if not (e is not test and e.clause == number and set(e.keys) <= set(keys))]
                act = replace(test.act, start=told[-1].end, end=told[-1].end + 1)
                out.append(Event(act, number, Status.DONE, "verdict", keys, None, test.rooms, span=(clause.start, clause.end), like=test))
        return [e for e in out if e.keys]

    def _capped_anyway(self, event: Event, events: Sequence[Event]) -> bool:
        """'sticking out the wall with a cap on' is capped, not left open."""
        return event.act.action == "leave" and any(
            o.act.action == "cap" and o.clause == event.clause and o.status is Status.DONE and set(o.keys) & set(event.keys) for o in events
        )

    def _bare_test(self, events: Sequence[Event]) -> list[Event]:
        """A pressure with no verb: 'twelve bar, one hour, the main, steady'."""
        bars = [i for i in range(self.start, self.end) if (q := self.row[i].qty) and q.unit in ("bar", "millibar")]
        if not bars or any(e.act.action in ("test", "fill") for e in events):
            return []
        act = Act("test", "done", "pipe", bars[0], bars[0] + 1)
        number = self.clause_of(bars[0])
        clause = self.clauses[number]
        governing = [c for c in self.r.cues if scope.reaches(c, act, self.row, (clause.start, clause.end), (self.start, self.end))]
        status, cue = scope.decide(act, governing, False)
        keys, serves = self._pipes(act, clause, number)
        if status is None or not keys:
            return []
        return [Event(act, number, status, cue, keys, serves, self._rooms_for(), span=(clause.start, clause.end))]

    # -- rooms --------------------------------------------------------------------------------------------------

    def _take_rooms(self, number: int, clause: Clause) -> None:
        found = self._spots(number)
        setting = [s for s in found if s.part == "set" and len(s.rooms) == 1 and not _inside_place(self.row, s, clause)]
        here = any(self.row[i].norm == "here" and self.row[i - 1].norm == "in" for i in range(clause.start + 1, clause.end))
        names = tuple(dict.fromkeys(s.rooms[0] for s in setting))
        if here and names and self.scene.room:
            self.rooms = tuple(dict.fromkeys((self.scene.room, *names)))
        elif len(names) > 1:
            self.rooms = names
            if self.scene.room not in names:
                self.scene.enter(names[0])
        elif names:
            if self.rooms and len(self.rooms) == 1:
                self.rooms = None
            if number and self._list_goes_on(number, setting[0]):
                self.rooms = (*(self.rooms or (self.scene.room,)), names[0])  # type: ignore[assignment]
            else:
                self.scene.enter(names[0])
        elif own := [s for s in found if s.part == "own" and len(s.rooms) == 1]:
            if self.scene.room is None:
                self.scene.enter(own[0].rooms[0])
            self.rooms = (own[0].rooms[0],)

    def _joined_room(self, event: Event, number: int) -> tuple[str | None, ...]:
        """Rooms of an event whose list of rooms runs on into the next clause."""
        for spot in self._spots(number + 1):
            if spot.part == "set" and len(spot.rooms) == 1 and self._list_goes_on(number + 1, spot):
                return tuple(dict.fromkeys((*event.rooms, spot.rooms[0])))
        return event.rooms

    def _list_goes_on(self, number: int, spot: Spot) -> bool:
        """'in here and in the main bathroom': a second room joined by 'and' straight after a first."""
        clause, before = self.clauses[number], self.clauses[number - 1]
        if clause.lead != "and" or spot.node - clause.start > 3:
            return False
        if any(n.norm == "here" for n in self.row[before.end - 2 : before.end]):
            return True
        told = [s for s in self._spots(number - 1) if s.node >= before.end - 2]
        return bool(told) and told[-1].part == "set" and self.row[spot.node - 2].norm != "in"

    def _spots(self, number: int) -> list[Spot]:
        clause = self.clauses[number]
        return spots(self.row, clause.start, clause.end, self.scene.room, self.r.rooms, self.start)

    # -- subjects -----------------------------------------------------------------------------------------------

    def _find_groups(self) -> None:
        sentence = self.row[self.start : self.end]
        ahead = [s for s in spots(self.row, self.start, self.end, self.scene.room, self.r.rooms) if s.part == "set" and len(s.rooms) == 1]
        self.scene.ahead = ahead[0].rooms[0] if ahead else self.scene.room
        for numbers in listed(self.row, self.start, self.end, lambda n: n.kind in ("service", "pair", "half")):
            keys = group_keys(self.row, numbers, self.scene, sentence)
            first, last = numbers[0], numbers[-1] + 1
            person = last < self.end and self.row[last].norm in _PEOPLE
            self.groups.append(Group(keys, first, last, self._serves(first, last), person or self._passing(first)))

    def _serves(self, first: int, last: int) -> str | None:
        """'basin hot and cold', 'hot and cold for the bath'."""
        before = self.row[first - 1] if first > self.start else None
        if before is not None and before.norm == "'s" and first - 2 >= self.start:
            before = self.row[first - 2]
        if before is not None and before.kind == "item" and before.keys[0] not in ("joist", "floor", "wall"):
            return self.r.text[before.start : before.end]
        if last < self.end and self.row[last].norm in ("for", "to"):
            stop = last + 1
            while stop < self.end and stop < last + 6 and self.row[stop].norm not in ("'s", ",", "is", "and", "are"):
                stop += 1
                if self.row[stop - 1].kind in ("item", "room"):
                    break
            if any(n.kind in ("item", "room", "head") for n in self.row[last + 1 : stop]):
                return self.r.words(last + 1, stop)
        return None

    def _passing(self, first: int) -> bool:
        i = first - 1
        if i >= self.start and self.row[i].kind == "item":
            i -= 1
        while i >= self.start and (self.row[i].norm in _SKIP_BACK or self.row[i].kind in ("material", "qty") or self.row[i].norm == "'s"):
            i -= 1
        if i < self.start or self.row[i].norm not in _PASSING:
            return False
        return not (self.row[i].norm == "of" and self.row[i - 1].norm in LOT)

    def _note_groups(self, number: int) -> None:
        clause = self.clauses[number]
        for g in self.groups:
            if clause.start <= g.start < clause.end and not g.referred:
                self.scene.group, self.scene.serves = g.keys, g.serves or self.headed
                self.scene.name(g.keys)
                self.scene.last = ("pipe", "")

        if not any(clause.start <= g.start < clause.end for g in self.groups):
            norms = [n.norm for n in self.row[clause.start : clause.end]]
            for a, b in zip(norms, norms[1:], strict=False):
                if a in _SMALL and b == "pipes" and len(self.scene.here) >= _SMALL[a]:
                    self.scene.group = tuple(self.scene.here[-_SMALL[a] :])

    def _note_items(self, number: int) -> None:
        """A thing named in a clause of its own is what 'it' means next."""
        clause = self.clauses[number]
        free = [i for i in self._items(clause) if not self._in_phrase(i) and not self._serving(i)]
        if free and not any(clause.start <= g.start < clause.end and not g.referred for g in self.groups):
            self.scene.last = ("item", self.row[free[-1]].keys[0])

    def _serving(self, i: int) -> bool:
        """Whether an item only says what pipes serve: 'basin hot and cold', 'cold for the sink'."""
        for g in self.groups:
            if g.serves and (i in (g.start - 1, g.start - 2) or g.end <= i < g.end + 6 and self.r.text[self.row[i].start : self.row[i].end] in g.serves):
                return True
        return False

    def _take_heading(self, clause: Clause) -> None:
        """'Shower, I've took hot and cold up': a thing alone says what the pipes serve."""
        rest = [n for n in self.row[clause.start : clause.end] if n.kind != "mark" and n.norm not in _SKIP_BACK and n.kind != "room"]
        if len(rest) in (1, 2) and rest[-1].kind == "item" and clause.start == self.start:
            if len(rest) == 1 or rest[0].kind == "word":
                self.headed = self.r.text[rest[0].start : rest[-1].end]

    def _items(self, clause: Clause) -> list[int]:
        return [i for i in range(clause.start, clause.end) if self.row[i].kind == "item"]

    def _pipes(self, act: Act, clause: Clause, number: int) -> tuple[tuple[str, ...], str | None]:
        """The pipes an action is done to, and what they serve."""
        mine = [g for g in self.groups if clause.start <= g.start < clause.end and (not g.referred or self._object(g, act))]
        before = [g for g in mine if g.start < act.start]
        after = [g for g in mine if g.start >= act.start]
        agent = any(self.row[i].norm in _AGENTS for i in range(clause.start, act.start))
        if after and (agent or not before):
            return after[0].keys, after[0].serves or self.headed
        if before:
            return before[-1].keys, before[-1].serves or self.headed
        norms = [self.row[i].norm for i in range(clause.start, clause.end)]
        if _lot(norms) and len(self.scene.here) > len(self.scene.group) and not self._list_here(act, norms):
            return tuple(self.scene.here), None
        if several := self._several(clause, act):
            return several, None
        earlier = [g for g in self.groups if g.end <= act.start and not g.referred]
        if earlier and self.worked is not None and self.worked.piped and self.worked.act.start > earlier[-1].start:
            return self.worked.keys, self.worked.serves
        if earlier:
            return earlier[-1].keys, earlier[-1].serves or self.headed
        sized = self._by_size(clause) or self._by_size(self.clauses[0])
        if sized:
            return sized, None
        later = [g for g in self.groups if g.start >= act.end and not g.referred and self._bare(g)]
        if later:
            return later[0].keys, later[0].serves or self.headed
        people = [g for g in self.groups if g.end < self.end and self.row[g.end].norm in _PEOPLE and g.start < act.start]
        if people and act.action in ("run", "connect", "test", "cap", "fill", "remove"):
            return people[-1].keys, None
        if self.scene.group:
            return self.scene.group, self.headed or self.scene.serves
        if act.action in ("cap", "leave", "test") and (near := [g for g in self.groups if g.start < act.start]):
            return near[-1].keys, None
        if self.scene.past and {self.row[i].norm for i in range(self.start, self.end)} & {"it", "that", "them", "they"}:
            return self.scene.past, None
        referred = [g for g in self.groups if clause.start <= g.start < clause.end]
        if not referred and act.action in ("test", "cap", "leave"):
            referred = [g for g in self.groups if g.start < act.start] or self.groups
        return (referred[0].keys, None) if referred else ((), None)

    def _list_here(self, act: Act, norms: Sequence[str]) -> bool:
        """'hot and cold drops, I've left all of them': the list of the sentence, unless it says 'the lot'."""
        listed_here = any(len(g.keys) > 1 and g.start < act.start and not g.referred for g in self.groups)
        return listed_here and "lot" not in norms and "everything" not in norms

    def _several(self, clause: Clause, act: Act) -> tuple[str, ...]:
        """'both', 'all three pipes', where the last list named is shorter: the last so many in this room."""
        norms = [self.row[i].norm for i in range(clause.start, min(act.end + 3, clause.end))]
        wanted = 2 if "both" in norms or "pair" in norms else 0
        for a, b in zip(norms, norms[1:], strict=False):
            if a in _SMALL and (b in ("pipes", "of", "are", "is") or a == "three"):
                wanted = _SMALL[a]
        if not wanted:
            return ()
        if len(self.scene.group) >= wanted:
            return self.scene.group
        if len(self.scene.here) < wanted:
            known = self.scene.known.get(self.scene.room or "", ())
            return tuple(known[-wanted:]) if len(known) >= wanted and not self.scene.here else ()
        return tuple(self.scene.here[-wanted:])

    def _object(self, group: Group, act: Act) -> bool:
        """'put a bung in the soil', 'mastic round the main': the pipe after the work's own preposition."""
        return act.action in ("cap", "test", "seal", "insulate", "photograph", "fill", "flush", "cover", "drain") and 0 <= group.start - act.end <= 2 and self.row[act.end - 1].norm in ("in", "round", "on", "through", "down", "to")  \
            or act.action == "cap" and act.end <= group.start <= act.end + 2 and self.row[act.end].norm in ("in", "on")

    def _by_size(self, clause: Clause) -> tuple[str, ...]:
        """'the spare twenty-five': the pipe last said in that size."""
        for i in range(clause.start, clause.end):
            if self.row[i].kind == "material" and i and self.row[i - 1].norm in ("old", "that", "the") and (keys := self.scene.sized.get(self.row[i].keys[0])):
                return keys
            if is_size(self.row, i) and i and self.row[i - 1].norm in ("spare", "that", "'s", "the", "old", "his", "her", "their", "my"):
                q = self.row[i].qty
                if q and q.unit != "inch" and (keys := self.scene.sized.get(f"{q.value:g}")):
                    return keys
        return ()

    def _bare(self, group: Group) -> bool:
        """A clause that only names pipes, after the work is told: 'connected it all, flow and return'."""
        clause = self.clauses[self.clause_of(group.start)]
        return clause.lead not in WAITING and not [a for a in self.acts if clause.start <= a.start < clause.end]

    def _item_for(self, act: Act, clause: Clause) -> int | None:
        inside = [
            i for i in range(act.start, act.end)
            if self.row[i].kind == "item" and not self._serving(i)
            and (self.row[i].keys[0] not in ("wall", "floor", "joist") or act.action not in ("fit", "order", "remove", "commission"))
        ]  # fmt: skip
        if inside:
            return inside[-1] if act.action in ("order", "fit") else inside[0]
        before = [i for i in self._items(clause) if i < act.start and not self._serving(i)]
        after = [i for i in self._items(clause) if i >= act.end and not self._serving(i)]
        if act.action in ("remove",):
            after = [i for i in after if self.row[i - 1].norm != "off"]
        direct = [i for i in after if i - act.end <= 3]
        if act.form in ("done", "base") and direct and act.action != "commission":
            return direct[0]
        if before:
            good = [i for i in before if not self._in_phrase(i)]
            return (good or before)[-1]
        return after[0] if after else None

    def _in_phrase(self, i: int) -> bool:
        j = i - 1
        while j >= self.start and self.row[j].norm in _SKIP_BACK:
            j -= 1
        return j >= self.start and self.row[j].norm in _PASSING

    def _subject(self, act: Act, clause: Clause, number: int) -> tuple[tuple[str, ...], str | None]:
        if act.on == "joist":
            through = [i for i in self._items(clause) if self.row[i].keys[0] in ("floor", "wall") and not self._mere_place(i)]
            if through and act.action == "drill" and self.row[act.start].norm.startswith("cor"):
                return self.row[through[0]].keys, None
            return ("joist",), None
        item = self._item_for(act, clause)
        if act.on == "item":
            return self._thing(act, clause, number, item)
        if act.on == "any":
            return self._either(act, clause, number, item)
        keys, serves = self._pipes(act, clause, number)
        pronoun = any(self.row[i].norm in THEM for i in range(clause.start, min(act.end + 2, clause.end)))
        mine = any(clause.start <= g.start < clause.end and not g.referred for g in self.groups)
        if not mine and act.on == "pipe" and {self.row[i].norm for i in range(clause.start, clause.end)} & {"tails", "pipes", "pipework", "drops"}:
            return keys or self._tails(item), serves
        thing = self.scene.last[1] if self.scene.last and self.scene.last[0] == "item" and not mine else ""
        if thing and pronoun and act.action in ("connect", "fill", "drain", "commission") and thing not in _LOOSE:
            return (thing,), None
        if thing and pronoun and act.action in ("run", "leave") and not any(self.start <= g.start for g in self.groups):
            return (), None
        if item is not None and not mine and not pronoun and act.action in ("fill", "drain", "isolate", "connect", "flush"):
            if item < act.start and not self._in_phrase(item) and not any(g.end <= act.start and not g.referred for g in self.groups):
                key = self.row[item].keys[0]
                if key not in ("fitting", "valve", "joist", "floor", "wall") and act.action != "connect":
                    return (key,), None
        if item is not None and item >= act.end and not mine and act.action in ("fill", "drain") and item - act.end <= 2:
            return (self.row[item].keys[0],), None
        return keys, serves

    def _tails(self, item: int | None) -> tuple[str, ...]:
        """The pipes that 'the shower tails' are: those known in the room that such a thing takes."""
        known = self.scene.known.get(self.scene.room or "", ())
        heat = item is not None and self.row[item].keys[0] in ("radiator", "towel rail")
        return tuple(k for k in known if k.startswith("heating") == heat and k in ("hot", "cold", "heating flow", "heating return"))

    def _thing(self, act: Act, clause: Clause, number: int, item: int | None) -> tuple[tuple[str, ...], str | None]:
        mine = [g for g in self.groups if clause.start <= g.start < clause.end and not g.referred]
        if act.action == "remove" and (item is None or mine):
            if item is None or all(g.start < item for g in mine) or not mine:
                if mine:
                    return mine[0].keys, None
        if item is not None:
            key = self.row[item].keys[0]
            listing = [g for g in listed(self.row, clause.start, clause.end, lambda n: n.kind == "item") if item in g]
            if listing and len(listing[0]) > 1 and any(n.norm == "and" for n in self.row[listing[0][0] : listing[0][-1]]) and act.action in ("remove", "fit", "order"):
                return tuple(dict.fromkeys(self.row[i].keys[0] for i in listing[0])), None
            return (key,), None
        if act.action == "order":
            plural = any((q := self.row[i].qty) is not None and q.plural for i in range(clause.start, clause.end))
            if plural:
                return ("fitting",), None
        if act.action == "remove":
            keys, serves = self._pipes(act, clause, number)
            if self.scene.last and self.scene.last[0] == "item" and not mine:
                return (self.scene.last[1],), None
            return keys, serves
        pronoun = any(self.row[i].norm in THEM for i in range(clause.start, clause.end))
        if self.scene.last and self.scene.last[0] == "item" and (pronoun or number):
            return (self.scene.last[1],), None
        if self.headed and act.action in ("fit", "order"):
            heads = [n for n in self.row[self.start : self.end] if n.kind == "item"]
            return (heads[0].keys[0],), None
        return (), None

    def _either(self, act: Act, clause: Clause, number: int, item: int | None) -> tuple[tuple[str, ...], str | None]:
        in_clause = [g for g in self.groups if clause.start <= g.start < clause.end]
        after = [g for g in in_clause if g.start >= act.end]
        if act.action in ("ask", "decide"):
            if after:
                return after[0].keys, None
            later = [i for i in self._items(clause) if i >= act.end and not self._mere_place(i)]
            if later:
                return (self.row[later[-1]].keys[0],), None
            if act.action == "ask" and (told := self._told_next(number)):
                return told, None
            item = None if item is not None and self._mere_place(item) else item
        if act.action == "seal":
            direct = [g for g in in_clause if not g.referred or self.row[g.start - 1].norm in ("round", "the")]
            if direct:
                return direct[0].keys, None
        if item is not None and act.action != "ask":
            return (self.row[item].keys[0],), None
        if in_clause:
            return in_clause[-1].keys, None
        if act.action in ("ask", "decide") and item is not None:
            return (self.row[item].keys[0],), None
        sentence_items = [
            i for i in range(self.start, act.start)
            if self.row[i].kind == "item" and not self._in_phrase(i) and not self._mere_place(i)
        ]  # fmt: skip
        if sentence_items and act.action in ("ask", "decide"):
            return (self.row[sentence_items[-1]].keys[0],), None
        if self.scene.last and self.scene.last[0] == "item" and act.action != "seal":
            return (self.scene.last[1],), None
        return self._pipes(act, clause, number)

    def _mere_place(self, i: int) -> bool:
        """A wall, floor or joist that only says where: 'is it on the wall or in the floor'."""
        if self.row[i].keys[0] not in ("wall", "floor", "joist"):
            return self.row[i - 1].norm == "in"
        return any(n.norm in ("on", "in", "under", "through", "to") for n in self.row[max(self.start, i - 2) : i])

    def _told_next(self, number: int) -> tuple[str, ...]:
        """What somebody is told or asked, where it follows in clauses of its own."""
        for clause in self.clauses[number + 1 :]:
            if clause.lead not in (*_TOLD_LEADS, ""):
                break
            named = [g for g in self.groups if clause.start <= g.start < clause.end]
            if named:
                return named[0].keys
            things = [i for i in self._items(clause) if self.row[i - 1].norm in ("that", "the", "my", "her", "his", "our", "their")]
            if things:
                return (self.row[things[0]].keys[0],)
        return ()

    # -- events -------------------------------------------------------------------------------------------------

    def _event(self, act: Act, number: int, clause: Clause) -> Event | None:
        if clause.question and act.action not in ("ask", "order", "decide"):
            return None
        governing = [c for c in self.r.cues if c.start not in self.fixed and scope.reaches(c, act, self.row, (clause.start, clause.end), (self.start, self.end))]
        opening = self._opening(act, clause)
        nobody = act.start > clause.start and self.row[act.start - 1].norm in ("nobody", "one")
        status, cue = scope.decide(act, governing, opening, nobody)
        if clause.lead in WAITING and not self._told_all_the_same(act, clause, cue, status):
            return None
        if status is None:
            return None
        if self._idle(act, clause):
            return None
        act = self._as_meant(act, clause, status)
        if act.action == "ask" and status is Status.DONE:
            return self._answered(act, number, clause, cue)
        keys, serves = self._subject(act, clause, number)
        if not keys or (act.action == "fit" and set(keys) & {"joist", "wall", "floor", "insulation", "clips"}):
            return None
        event = Event(act, number, status, cue, keys, serves, self._rooms_for(), span=(clause.start, clause.end))
        self.scene.last = ("pipe", "") if event.piped else ("item", keys[0])
        if event.piped:
            self.scene.group, self.scene.serves = keys, serves
            self.scene.name(keys)
        self.worked = event
        return event

    def _as_meant(self, act: Act, clause: Clause, status: Status) -> Act:
        """The same words, other work: 'took the cold off the riser' runs it, 'that comes out tomorrow' removes it."""
        words = [n.norm for n in self.row[act.start : act.end]]
        if act.action == "remove" and words[-1] == "down" and act.end < self.end and self.row[act.end].norm in ("to", "through", "in", "into", "from"):
            if any(not g.referred for g in self.groups):
                return replace(act, action="run", on="pipe")
        if act.action == "remove" and {"taking", "taken", "take"} & set(words) and words[-1] in ("out", "off") and act.end < self.end:
            if self.row[act.end].norm in ("to", "through", "into"):
                return replace(act, action="run", on="pipe")
        if act.action == "run" and act.form == "notdone" and not any(clause.start <= g.start < clause.end for g in self.groups):
            if [i for i in self._items(clause) if not self._serving(i)]:
                return replace(act, action="fit", on="item")
        if act.action == "remove" and words[-1] == "off" and act.end < self.end:
            named = [g for g in self.groups if act.start <= g.start < act.end]
            if named and self.row[act.end].norm in ("the", "a", "that", "his", "her", "it", "them"):
                return replace(act, action="run", on="pipe")
        if act.action == "run" and words[0] in ("come", "comes", "coming", "came") and words[-1] in ("out", "off", "down") and status is Status.TO_DO:
            return replace(act, action="remove", on="item")
        if act.action == "run" and words[0] in ("come", "comes", "coming", "came") and words[-1] in ("out", "off", "down") and not self.groups:
            if [i for i in self._items(clause) if i < act.start and not self._in_phrase(i)]:
                return replace(act, action="remove", on="item")
        if act.action == "fit" and words[0] in ("change", "changed", "changing", "replace", "replaced", "replacing", "swap", "swapping"):
            if not [i for i in self._items(clause) if not self._serving(i)] and (self.groups or self.scene.group):
                return replace(act, action="run", on="pipe")
        if act.action == "order" and words[0] in ("picked", "pick", "picking") and any(
            clause.start <= g.start < act.start and not g.referred for g in self.groups
        ):
            return replace(act, action="tee", on="pipe")
        return act

    def _answered(self, act: Act, number: int, clause: Clause, cue: str) -> Event | None:
        """Somebody was asked or told: what it was about is said here, or in an earlier memo to the same person."""
        said = self.row[act.end - 1].norm in ("says", "said", "reckons", "wants")
        content = [g for g in self.groups if clause.start <= g.start < clause.end and not said]
        things = [] if said else self._items(clause)
        first = max(clause.start, act.start - 3) if said else self.start
        words = {w for n in self.row[first : act.end if said else self.end] for w in n.norm.split("_")} - _COMMON
        rooms: tuple[str | None, ...] = self._rooms_for()
        if content or things:
            keys: tuple[str, ...] = content[-1].keys if content else (self.row[things[-1]].keys[0],)
        else:
            match = next((a for a in reversed(self.scene.asked) if set(a[0].split()) & words), None)
            if match is None:
                return None
            keys = match[2]
            self.scene.asked.remove(match)
        return Event(act, number, Status.DONE, cue, keys, None, rooms, span=(clause.start, clause.end))

    def _remember(self, events: Sequence[Event]) -> None:
        for e in events:
            for slot in ("size_mm", "material"):
                if e.piped and (value := e.slots.get(slot)):
                    self.scene.sized[f"{value:g}" if isinstance(value, float | int) else str(value)] = e.keys
            if e.act.action == "ask" and e.status is Status.TO_DO:
                words = {w for n in self.row[self.start : self.end] if n.kind in ("word", "service") for w in n.norm.split("_")}
                self.scene.asked.append((" ".join(sorted(words - _COMMON)), e.rooms[0], e.keys))

    def _told_all_the_same(self, act: Act, clause: Clause, cue: str, status: Status | None) -> bool:
        """A clause of time that still tells: 'before anybody tested it', 'while the nice ones get picked up'."""
        if clause.lead == "before":
            return cue in ("before-anyone", "not") and act.action not in ("cover", "run", "fit", "fill")
        return clause.lead == "while" and act.action in ("order", "ask") and status is Status.TO_DO

    def _idle(self, act: Act, clause: Clause) -> bool:
        """Words that look like work and are none."""
        after = self.row[act.end] if act.end < self.end else None
        words = " ".join(n.norm for n in self.row[act.start : act.end])
        sentence = " ".join(n.norm for n in self.row[self.start : self.end])
        if act.action == "run" and not self._has_pipe(act, clause):
            return True
        before = self.row[act.start - 1].norm if act.start > self.start else ""
        if act.form == "base" and after is not None and after.norm in ("'s", "is", "are", "was", "were", "has", "have"):
            return True
        if act.action == "fit" and self.row[act.start].norm == "it" and before in ("to", "for", "off", "from", "on"):
            return True
        if act.form == "base" and (before in _ARTICLES or (before == "" and after is not None and after.kind == "mark")):
            return True
        if words in ("ran out", "run out") and (after is None or after.kind == "mark" or after.norm in ("of", "so", "and", "but")):
            return True
        if act.action == "leave" and re.search(r"\b(sat|stood|sitting|standing)\b", words) and re.search(r"bar|hour|minute", sentence):
            return True
        if act.action == "join" and act.form == "done" and self.row[act.start].qty is not None:
            ends = [i for i in range(act.start, act.end) if self.row[i].qty is not None]
            if len(ends) < 2 or not all(is_size(self.row, i) for i in ends):
                return True
        if act.action in ("run", "connect") and self.row[act.start].tag == "SVC" and words.split()[-1] in ("in", "on"):
            if after is not None and after.kind != "mark" and after.norm not in ("and", "now", "but", "so", "too", "then", "here", "there"):
                return True
            if act.action == "connect" and set(self.row[act.start].keys) & {"mains", "gas", "oil", "cold", "hot"}:
                return True
        if act.action == "run" and words.split()[-1] == "off" and after is not None and after.norm in ("that", "it", "them", "him", "the_idea"):
            return True
        if act.action == "cover" and before in ("gas", "electric", "water", "electricity"):
            return True
        if act.action == "connect" and words in ("both on", "all on") and after is not None and after.kind != "mark":
            return True
        if act.action == "leave" and before in ("two", "the", "'s") and any(n.norm in ("to", "onto", "on") for n in self.row[max(clause.start, act.start - 4) : act.start]):
            return True
        if act.action == "run" and words.startswith("drop") and ("bar" in sentence or "test" in sentence):
            return True
        if act.form == "done" and self._relative(act):
            return True
        if self.row[clause.start].norm in ("did", "have", "has", "was", "were", "is") and self.row[clause.start + 1].norm in ("i", "we", "he", "they", "it", "you"):
            return True
        if act.action in ("drill", "notch") and words in ("hole", "holes", "notch", "notches") and before in ("that", "this", "them", "those"):
            return True
        if (
            act.action == "fit" and act.end - act.start == 2 and self.row[act.start].kind == "item"
            and after is not None and after.kind != "mark" and after.norm not in ("it", "them", "that", "and", "now")
        ):  # fmt: skip
            return True
        if act.action == "fit" and act.form == "done" and self.row[act.end - 1].norm in ("in", "on", "up"):
            if after is not None and (after.kind in ("qty", "material") or after.norm in ("way", "to", "about", "test", "for", "there")):
                return True
            if any(self.row[i].kind == "item" and self._serving(i) for i in range(act.start, act.end)):
                return True
        if act.action == "drill" and act.form == "done" and words in ("hole", "holes"):
            return "joist" not in sentence and self.scene.depth is None or bool(re.search(r"hole in the|in the floor", sentence))
        if act.action == "test" and "gauge" in words and "bar" not in sentence:
            sized = [i for i in range(act.end, self.end) if is_size(self.row, i)]
            return bool(sized) or bool(re.search(r"think|might|not sure|maybe", sentence[: sentence.find(words)]))
        if act.action == "leave" and words.endswith("open"):
            lone = [n for n in self.row[clause.start : act.start] if n.kind in ("room", "item", "head")]
            own = any(clause.start <= g.start < clause.end for g in self.groups)
            return bool(lone) and not own and not any(n.norm in THEM for n in self.row[clause.start : act.start])
        if act.action == "order" and words.endswith(" here") and act.end - act.start == 2 and after is not None and after.kind != "mark":
            return True
        if act.action == "order" and act.form == "todo":
            return bool(re.search(r"\bmight\b|\bmay\b", " ".join(n.norm for n in self.row[clause.start : act.start])))
        return False

    def _has_pipe(self, act: Act, clause: Clause) -> bool:
        """Whether any pipe is at hand for 'brought', 'comes up': named in the sentence, or meant by a pronoun."""
        if any(not g.referred or self._object(g, act) for g in self.groups):
            return True
        said = {self.row[i].norm for i in range(clause.start, min(act.end + 3, clause.end))}
        return bool(said & THEM) or bool(self._by_size(clause)) or any(is_size(self.row, i) for i in range(clause.start, clause.end))

    def _relative(self, act: Act) -> bool:
        """'that old lead I stopped off is still there': a pipe told by its past, no news."""
        i = act.start - 1
        if i - 1 < self.start or self.row[i].norm not in ("i", "we", "he", "you", "they"):
            return False
        named = self.row[i - 1].kind in ("material", "service", "item", "pair")
        return named and act.end < self.end and self.row[act.end].norm in ("is", "'s", "are", "was", "wants", "needs")

    def _opening(self, act: Act, clause: Clause) -> bool:
        before = [n for n in self.row[clause.start : act.start] if n.kind != "mark"]
        return all(n.norm in ("please", "so", "and", "right", "then", "just", "now", "someone", "somebody", "also", "oh", "er") for n in before)

    def _rooms_for(self) -> tuple[str | None, ...]:
        return self.rooms or (self.scene.room,)

    def _elliptic(self, number: int, clause: Clause, events: list[Event]) -> list[Event]:
        """'and fifteen for the dishwasher', 'then twenty-two at the top', 'the cold is not': the last action again."""
        row, span = self.row, range(clause.start, clause.end)
        last = events[-1] if events else None
        if short := self._short_no(number, clause):
            return short
        if doing := self._doing_it(number, clause, last or self.r.last):
            return doing
        if last is None and self.r.last is not None and (again := self._same_again(number, clause, self.r.last)):
            return again
        if last is None:
            return self._not_done_either(number, clause) or self._all_that(number, clause)
        if last.clause >= number:
            return []
        if again := self._same_again(number, clause, last):
            return again
        if last.act.action == "order" and last.status is Status.TO_DO and clause.lead in ("and", "plus"):
            things = [i for i in self._items(clause) if not self._in_phrase(i) and i - clause.start <= 4]
            if things and not any(row[i].norm in ("is", "'s", "are", "it", "has") for i in span):
                act = replace(last.act, start=things[0], end=things[0] + 1)
                return [Event(act, number, last.status, "again", (row[things[-1]].keys[0],), None, last.rooms, span=(clause.start, clause.end))]
        sized = [i for i in span if i not in self.r.void and is_size(row, i)]
        joined = clause.lead in ("and", "then", "plus")
        group = [g for g in self.groups if clause.start <= g.start < clause.end and not g.referred]
        if sized and joined and not group and last.act.action in ("tee", "run") and last.piped:
            for_item = any(row[i].norm == "for" for i in span)
            if clause.lead == "then" or for_item:
                act = replace(last.act, start=sized[0], end=sized[0] + 1)
                return [Event(act, number, last.status, "again", last.keys, None, last.rooms, span=(clause.start, clause.end))]
        way = [b for b in bits(row, clause.start, clause.end, frozenset()) if b.kind in ("from", "to", "place")]
        if sized and joined and not group and last.act.action == "run" and way and last.clause < number:
            act = replace(last.act, start=sized[0], end=sized[0] + 1)
            return [Event(act, number, last.status, "again", last.keys, None, last.rooms, span=(clause.start, clause.end))]
        if other := self._not_done_either(number, clause, last):
            return other
        words = " ".join(row[i].norm for i in span)
        if last.piped and re.search(r"(still|yet) to (do|be done|go)$|wants? doing$|needs? doing$|to be done$", words):
            keys = group[0].keys if group else last.keys
            act = replace(last.act, start=clause.end - 1, end=clause.end)
            return [Event(act, number, Status.TO_DO, "to be done", keys, None, last.rooms, span=(clause.start, clause.end))]
        negated = [i for i in span if row[i].norm == "not"]
        if group and negated and clause.end - negated[-1] <= 2 and last.piped:
            act = replace(last.act, start=negated[-1], end=negated[-1] + 1)
            return [Event(act, number, Status.NOT_DONE, "not", group[0].keys, None, last.rooms, span=(clause.start, clause.end))]
        return []

    def _short_no(self, number: int, clause: Clause) -> list[Event]:
        """'because I haven't': the work last spoken of, even as a condition, is not done."""
        words = [n.norm for n in self.row[clause.start : clause.end] if n.norm not in WAITING]
        seen = [a for a in self.acts if a.end <= clause.start]
        if len(words) not in (3, 4) or words[-1] not in ("not", "yet") or "not" not in words or words[1] not in ("have", "has") or not seen:
            return []
        act = replace(seen[-1], start=clause.start, end=clause.end)
        keys = self.scene.group
        if act.on != "pipe" or not keys:
            return []
        return [Event(act, number, Status.NOT_DONE, "not", keys, None, self._rooms_for(), span=(self.clauses[max(0, number - 1)].start, clause.end))]

    def _doing_it(self, number: int, clause: Clause, last: Event | None) -> list[Event]:
        """'Walter's doing it Monday': the last work, to be done."""
        words = clause_words(self.row, clause)
        day = re.search(r"monday|tuesday|wednesday|thursday|friday|saturday|tomorrow|next week", words)
        if last is None or not day or not re.search(r"\b(doing|do) (it|that|them|those)\b", words):
            return []
        act = replace(last.act, start=clause.start, end=clause.end)
        return [Event(act, number, Status.TO_DO, "future-time", last.keys, None, last.rooms, span=(clause.start, clause.end))]

    def _all_that(self, number: int, clause: Clause) -> list[Event]:
        """'All that wants doing': what was just said not to be done."""
        words = " ".join(n.norm for n in self.row[clause.start : clause.end])
        if not re.search(r"^(all|both|it all|that all|all of) ?(that|this|of that|of them|it)? ?(still )?(wants?|needs?|to be) (doing|done|sorting)", words):
            return []
        open_ = [e for e in self.r.recent if e.status is Status.NOT_DONE]
        return [
            Event(replace(e.act, start=clause.start, end=clause.end), number, Status.TO_DO, "wants doing", e.keys, None, e.rooms, span=(clause.start, clause.end))
            for e in open_
        ]  # fmt: skip

    def _not_done_either(self, number: int, clause: Clause, last: Event | None = None) -> list[Event]:
        """'cold I've not done': the last work, not done on these pipes."""
        last = last or self.r.last
        group = [g for g in self.groups if clause.start <= g.start < clause.end and not g.referred]
        words = [n.norm for n in self.row[clause.start : clause.end]]
        if last is None or not group or not last.piped or words[-1] not in ("done", "yet", "not") or "not" not in words:
            return []
        if words[-1] == "not" and words[-2] not in ("have", "has"):
            return []
        act = replace(last.act, start=clause.end - 1, end=clause.end)
        return [Event(act, number, Status.NOT_DONE, "not", group[0].keys, None, self._rooms_for(), span=(clause.start, clause.end))]

    def _same_again(self, number: int, clause: Clause, last: Event) -> list[Event]:
        """'and the cold, same again': the last work with its pressure and time, on other pipes."""
        words = " ".join(n.norm for n in self.row[clause.start : clause.end])
        if not re.search(r"^(and )?(the )?same( again| for| as that)?\b|^ditto|^likewise", words) or not last.piped or last.status is not Status.DONE:
            return []
        before = self.clauses[max(0, number - 1)]
        on = [g for g in self.groups if clause.start <= g.start < clause.end]
        group = on or [g for g in self.groups if before.start <= g.start < clause.end and not g.referred]
        group = [g for g in group if g.start > last.act.end]
        if not group or (set(group[-1].keys) == set(last.keys) and last.rooms == self._rooms_for()):
            return []
        act = replace(last.act, start=clause.start, end=clause.end)
        return [Event(act, number, last.status, "again", group[-1].keys, None, self._rooms_for(), span=(before.start, clause.end), like=last)]

    def _implied_runs(self, events: list[Event]) -> list[Event]:
        """Pipes with a size, a material or a way, and no verb: 'soil vent, four inch, up through the tiles'."""
        out = []
        told = {k for e in events for k in e.keys}
        for g in self.groups:
            number = self.clause_of(g.start)
            clause = self.clauses[number]
            if g.referred or clause.question or clause.lead in WAITING:
                continue
            stop = min([o.start for o in self.groups if o.start > g.start] + [self.end])
            if set(g.keys) & told and not self._way_first(g, events) and not self._changes(g, events):
                continue
            span = range(g.start, stop)
            sized = any(i not in self.r.void and is_size(self.row, i) or self.row[i].kind == "material" for i in span)
            way = [b for b in bits(self.row, g.end, stop, frozenset()) if b.kind != "place"]
            off = [c for c in self.r.cues if c.cue.status == "dropped" and self.start <= c.start < self.end]
            if not sized and not way and not off:
                continue
            act = Act("run", "done", "pipe", g.start, g.end)
            governing = [c for c in self.r.cues if scope.reaches(c, act, self.row, (clause.start, clause.end), (self.start, self.end))]
            status, cue = scope.decide(act, governing, False)
            if status is None:
                continue
            told |= set(g.keys)
            out.append(Event(act, number, status, f"implied, {cue}", g.keys, g.serves or self.headed, self._rooms_for(), span=(g.start, stop)))
        return out + self._dropped_things([*events, *out])

    def _changes(self, group: Group, events: Sequence[Event]) -> bool:
        """'gas to it's in fifteen, it wants changing': what is there is told as well as what is wanted."""
        mine = [e for e in events if set(e.keys) & set(group.keys)]
        wrong = re.search(r"chang|wrong|replac|swap|upgrad|doing in|bigger|smaller", " ".join(n.norm for n in self.row[group.end : self.end]))
        return bool(mine) and bool(wrong) and all(e.act.action == "run" and e.status is Status.TO_DO and e.act.start > group.end + 2 for e in mine)

    def _way_first(self, group: Group, events: Sequence[Event]) -> bool:
        """A way told before any work on the pipe: 'relief, fifteen, out through the wall, but it's still open'."""
        mine = [e for e in events if set(e.keys) & set(group.keys)]
        first = min((self.clauses[e.clause].start for e in mine), default=self.end)
        beyond = re.search(r"nothing|below|beyond|after that", " ".join(n.norm for n in self.row[group.end : self.end]))
        if any(e.act.action == "run" and not (beyond and e.status is Status.NOT_DONE) for e in mine) or first <= group.end:
            return False
        ways = bits(self.row, group.end, first, frozenset())
        joined = all(e.act.action == "connect" for e in mine)
        return any((b.kind == "to" and not joined) or (b.kind == "place" and self.row[b.start].norm in _WAYS) for b in ways)

    def _dropped_things(self, events: list[Event]) -> list[Event]:
        """A thing called off with no other word of work: 'the towel rail is off the job'."""
        off = [c for c in self.r.cues if c.cue.status == "dropped" and self.start <= c.start < self.end and c.cue.id != "do-not"]
        if not off or events:
            return []
        things = [i for i in range(self.start, off[0].start) if self.row[i].kind == "item" and not self._in_phrase(i)]
        if not things or self.row[things[0]].keys[0] in ("joist", "wall", "floor"):
            return []
        i = things[0]
        act = Act("fit", "done", "item", i, i + 1)
        return [Event(act, self.clause_of(i), Status.DROPPED, off[0].cue.id, self.row[i].keys, None, self._rooms_for(), span=(self.start, self.end))]

    # -- slots --------------------------------------------------------------------------------------------------

    def _names_thing(self, event: Event) -> bool:
        clause = self.clauses[event.clause]
        return any(self.row[i].kind == "item" and self.row[i].keys[0] in event.keys for i in range(clause.start, clause.end))

    def starts_new(self, number: int, keys: Sequence[str] = ()) -> bool:
        """Whether a clause opens a matter of its own: names pipes other than `keys`, or a condition."""
        clause = self.clauses[number]
        named = [g for g in self.groups if clause.start <= g.start < clause.end and not g.referred]
        return any(set(g.keys) != set(keys) for g in named) or clause.lead in WAITING

    def _fill_slots(self, events: list[Event]) -> None:
        fill(self, events)
        self._remember(events)


def _reduced(events: Sequence[Event]) -> list[Event]:
    """'drops down to fifteen' beside a reduction of the same pipe is that reduction."""
    joined = {k for e in events if e.act.action == "join" and "to_size_mm" in e.slots for k in e.keys}
    return [e for e in events if not (e.act.action == "run" and set(e.keys) & joined and (e.cue == "drop" or not e.slots.get("place")))]


def _both_told(events: Sequence[Event]) -> list[Event]:
    """'hot leaves in 28, the return comes back in 22, both run to the ceiling': the last adds no runs, only an end."""
    out: list[Event] = []
    for e in events:
        runs = [o for o in out if o.act.action == "run" and o.status is e.status]
        if e.act.action == "run" and len(e.keys) > 1 and set(e.keys) == {k for o in runs for k in o.keys} and len(runs) > 1:
            for o in runs:
                for slot in ("to", "place", "length_m"):
                    if slot in e.slots:
                        o.slots.setdefault(slot, e.slots[slot])
            continue
        out.append(e)
    return out


def _once(events: Sequence[Event], things: Callable[[Event], bool]) -> list[Event]:
    """The same thing said twice in a sentence, once: 'ring him and ask'; the first keeps what the second adds."""
    out: list[Event] = []
    for event in events:
        apart = event.act.action in ("fit", "remove") and things(event)
        twin = next((o for o in out if _same(o, event) and not (apart and o.clause != event.clause and things(o))), None)
        if twin is None:
            out.append(event)
            continue
        for slot, value in event.slots.items():
            twin.slots.setdefault(slot, value)
        twin.span = (min(twin.span[0], event.span[0]), max(twin.span[1], event.span[1]))
    return out


_ARTICLES = frozenset(("the", "a", "an", "this", "that", "my", "one", "no", "each", "every"))
_WAYS = frozenset(("out", "up", "down", "through", "along", "across", "over", "under"))
_LOCAL = ("size_mm", "to", "place", "from_")


def _same(one: Event, other: Event) -> bool:
    alike = (one.act.action, one.status, one.keys) == (other.act.action, other.status, other.keys)
    if not alike or set(one.rooms) != set(other.rooms):
        return False
    if one.act.action == "run":
        return not any(one.slots.get(s) != other.slots.get(s) for s in ("size_mm", "to") if one.slots.get(s) and other.slots.get(s))
    if one.act.action in ("cap", "leave", "tee", "connect"):
        return not any(one.slots.get(s) != other.slots.get(s) for s in _LOCAL if one.slots.get(s) and other.slots.get(s))
    return True


_PEOPLE = frozenset(
    "lad lads man men woman fella fellas bloke guy board company engineer fitter fitters people boys gang chap inspector "
    "supplier crew team contractor".split())  # fmt: skip
_SMALL = {"two": 2, "three": 3, "four": 4}
_WIDE = frozenset(("test", "fill", "flush", "drain", "photograph"))
"""Work done to several rooms at once; the rooms may be named after it."""
_TOLD_LEADS = frozenset(("which", "if", "when", "till", "while", "before", "who", "once", "after", "that"))
_COMMON = frozenset(
    "the a an and or of in on at to for it is are was be been has have had i he she we they you that this them his her "
    "him my me us our up out off do not so but wants want needs need telling told tell ask asked asking ring rang ringing "
    "somebody someone please can could will would 's then about with from what which when day new old said says there "
    "here one two before get got going know let find water , cold hot main mains all as".split())  # fmt: skip
_LOOSE = frozenset(("fitting", "valve", "joist", "floor", "wall", "clips", "insulation", "sleeve"))


def _lot(norms: Sequence[str]) -> bool:
    joined = " ".join(norms)
    return bool(re.search(r"\b(everything|the lot|all of (it|them)|any of (it|them)|none of (it|them)|the whole lot|all that|any on (it|them)|all of them)\b", joined))


def _inside_place(row: Sequence[Node], spot: Spot, clause: Clause) -> bool:
    return any(n.norm == "where" for n in row[clause.start : spot.node])


def clause_words(row: Sequence[Node], clause: Clause) -> str:
    """The words of a clause, evened out."""
    return " ".join(n.norm for n in row[clause.start : clause.end])


_FIX = re.compile(r"^(no |er |sorry |well |oh )*(no|sorry|hang on|wait|hold on|i tell a lie|tell a lie|i mean|scratch that|correction|make that|rather|i lie|my mistake|beg pardon|pardon|scrap that|wait|no wait|(no )?wait a (minute|sec|second|mo|bit)|hang fire|no sorry|strike that|i mean|or rather|i should say|no it was|no it is|no it is not|no i have not|no i tell a lie|no sorry|no hang on|no wait)$")


def _fixes(row: Sequence[Node], parts: Sequence[Clause]) -> list[int]:
    """Numbers of the clauses that take something back: 'no, hang on', 'sorry', 'I tell a lie'."""
    out = []
    for n, c in enumerate(parts):
        words = " ".join(x.norm for x in row[c.start : c.end] if x.kind != "mark")
        if n and _FIX.match(words):
            out.append(n)
    return out


def facts(memo: Memo, lexicon: Lexicon, scene: Scene) -> list[Fact]:
    """The facts of a memo, in the order they were said."""
    reader = Reader(memo.text, lexicon, scene)
    out: list[Fact] = []
    for event in reader.events():
        out += _write(memo, reader, event, len(out))
    return out


def _write(memo: Memo, reader: Reader, event: Event, first: int) -> list[Fact]:
    start, end = reader.row[event.span[0]].start, reader.row[event.span[1] - 1].end
    out = []
    for room in event.rooms or (None,):
        for n, key in enumerate(event.keys):
            slots = dict(event.slots)
            if event.per_key_size:
                slots["size_mm"] = event.per_key_size[n]
            out.append(Fact(memo.id, first + len(out), room, key, event.act.action, event.status, memo.text[start:end], start, end, cue=event.cue, **slots))  # type: ignore[arg-type]
    return out
