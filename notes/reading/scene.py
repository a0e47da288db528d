"""What a listener keeps in mind through a memo: rooms, the pipes and thing last spoken of, sizes, and what carries."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from notes.lexicon import PAIRS
from notes.model import PIPES, Status
from notes.reading.actions import Act
from notes.reading.event import Event
from notes.reading.mentions import Node
from notes.reading.wordlists import words


@dataclass(frozen=True, slots=True)
class Carry:
    """What one memo hands to the next: the room each speaker ended in, and who was heard by name."""

    rooms: Mapping[str, str] = field(default_factory=dict)
    last_room: str | None = None
    sized: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Size or material as text -> services last said in it ('the spare twenty-five', 'the old lead')."""
    known: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Room -> services spoken of there; the room spoken of last stands last, and only the last few are kept."""
    asked: tuple[tuple[str, str | None, tuple[str, ...]], ...] = ()
    """(words that name a person, room, subjects) of what somebody is to be asked or told."""

    def to_json(self) -> str:
        """Short, since every memo of the book has one: services by their number in PIPES."""
        told = {
            "rooms": dict(sorted(self.rooms.items())),
            "last_room": self.last_room,
            "sized": {name: _numbers(keys) for name, keys in sorted(self.sized.items())},
            "known": {room: _numbers(keys) for room, keys in self.known.items()},
            "asked": [[who, room, list(keys)] for who, room, keys in self.asked],
        }
        return json.dumps(told, ensure_ascii=False, separators=(",", ":"))

    @classmethod
    def from_json(cls, text: str) -> Carry:
        raw = json.loads(text)
        return cls(
            raw["rooms"], raw["last_room"], {k: _keys_of(v) for k, v in raw["sized"].items()},
            {k: _keys_of(v) for k, v in raw["known"].items()},
            tuple((who, room, tuple(keys)) for who, room, keys in raw["asked"]),
        )  # fmt: skip


ROOMS_KEPT = 20
"""Rooms whose services are kept in mind. All of them would make the book grow with the square of a job's rooms, and
a memo that arrives late change the beginning of every later one."""
_NUMBER = {key: n for n, key in enumerate(PIPES)}


def _numbers(keys: Sequence[str]) -> list[int | str]:
    return [_NUMBER.get(key, key) for key in keys]


def _keys_of(numbers: Sequence[int | str]) -> tuple[str, ...]:
    """Services by number, or by name as books had them before."""
    return tuple(PIPES[n] if isinstance(n, int) else n for n in numbers)


@dataclass(slots=True)
class Group:
    """Pipes named together at nodes `start:end`; `end_words` the thing they serve ('basin hot and cold')."""

    keys: tuple[str, ...]
    start: int
    end: int
    serves: str | None = None
    referred: bool = False
    """Named only in passing ('off the cold'), not as what is worked on."""


@dataclass(slots=True)
class Scene:
    """Changing state while one memo is read."""

    room: str | None = None
    group: tuple[str, ...] = ()
    serves: str | None = None
    many: tuple[str, ...] = ()
    """The pipes last listed together: 'the first one', 'the other' are of these."""
    past: tuple[str, ...] = ()
    """The pipes last worked on in the room one came from, for 'in the scullery I've reduced it'."""
    last: tuple[str, str] | None = None
    """('item', key) or ('pipe', '') for what was last worked on."""
    thing: str = ""
    """The thing last spoken of, whatever pipes were named since: what 'the new one' is that hasn't come."""
    things: tuple[str, ...] = ()
    """The things that were listed, where the last one is what was last spoken of: 'bath, basin and toilet, all out'."""
    here: list[str] = field(default_factory=list)
    """Services named in this room so far."""
    ahead: str | None = None
    """The room that the sentence at hand is about to enter."""
    depth: float | None = None
    place: str | None = None
    sized: dict[str, tuple[str, ...]] = field(default_factory=dict)
    known: dict[str, tuple[str, ...]] = field(default_factory=dict)
    asked: list[tuple[str, str | None, tuple[str, ...]]] = field(default_factory=list)
    void: set[int] = field(default_factory=set)
    """Nodes whose number or material was taken back."""
    spoke: Act | None = None
    """Somebody was spoken to in the last sentence, and of what was not said."""
    led_to: str | None = None
    """The room that a run was last said to go to, for 'capped it in there'."""
    looked_to: str | None = None
    """The room that the last sentence spoke of, though nobody went there: 'in there the joiner has ...'."""
    left: str | None = None
    """The room one was in before the last sentence told of another by the way: 'in here ...' is that one."""
    questioned: list[Event] = field(default_factory=list)
    """The work that the last sentence asked of."""
    listing: bool = False
    """What to order is being listed."""
    recent: list[Event] = field(default_factory=list)
    """The events of the last sentence that had any."""
    hanging: tuple[Act, Status, str] | None = None
    """Covering told of no pipe yet: of those that are named next here."""
    glanced: tuple[str, ...] = ()
    """Pipes only named in passing, where none is spoken of: 'you asked about the waste. It's in'."""

    def enter(self, room: str | None) -> None:
        if room != self.room:
            self.room, self.here, self.depth, self.place, self.led_to = room, [], None, None, None
            self.past, self.group, self.serves, self.last = self.group or self.past, (), None, None
            self.hanging, self.glanced = None, ()

    def think_of(self, thing: str) -> None:
        """A thing is what 'it' means next."""
        self.last, self.thing, self.things = ("item", thing), thing, ()

    @property
    def told_before(self) -> Event | None:
        """The last event of the last sentence that had any."""
        return self.recent[-1] if self.recent else None

    def recent_done(self, action: str) -> bool:
        """Whether the last sentence told of the same work."""
        return any(e.action == action for e in self.recent)

    def name(self, keys: Sequence[str]) -> None:
        self.here += [k for k in keys if k not in self.here]
        if self.room:
            self.known[self.room] = tuple(dict.fromkeys((*self.known.pop(self.room, ()), *keys)))  # it goes last


_FLOOR_LOOPS = words("floor-loops")


def group_keys(row: Sequence[Node], numbers: Sequence[int], scene: Scene, sentence: Sequence[Node]) -> tuple[str, ...]:
    """The services that a list of mentions means: pairs as two, 'return' by what it goes with."""
    floor = _of_floor(scene, sentence)
    out: list[str] = []
    for i in numbers:
        out += [k for k in _keys(row, i, scene, sentence, out, floor) if k not in out]
    return tuple(out)


def _keys(
    row: Sequence[Node], i: int, scene: Scene, sentence: Sequence[Node], before: Sequence[str], floor: bool
) -> tuple[str, ...]:
    node = row[i]
    if node.kind == "service":
        return node.keys
    if node.kind == "pair":
        bare = "flow" in node.norm or "f_" in node.norm
        return PAIRS["ufh" if floor and bare else node.keys[0]]
    if node.keys[0] == "return" and _of_hot(row, i, scene, sentence):
        return ("hot return",)
    hot = any(n.keys == ("hot",) and n.start < node.start for n in sentence)
    heat = any(n.keys[:1] and n.keys[0].startswith("heating") for n in sentence) or "heating flow" in _known(scene)
    # 'the hot's lagged, the cold's lagged, the return's half done'
    if node.keys[0] == "return" and hot and not heat and not scene.group and not floor:
        return ("hot return",)
    return (_half(node.keys[0], before, scene, floor),)


def _known(scene: Scene) -> Sequence[str]:
    """Services spoken of before in the room that the sentence is about to enter."""
    return scene.known.get(scene.ahead or scene.room or "", ())


def _of_floor(scene: Scene, sentence: Sequence[Node]) -> bool:
    """Whether flow and return are those of the underfloor heating."""
    if any((n.kind == "pair" and n.keys == ("ufh",)) or n.norm in _FLOOR_LOOPS for n in sentence):
        return True
    if any(n.keys == ("manifold",) and n.norm.startswith(("underfloor", "ufh")) for n in sentence):
        # 'tails off the underfloor manifold, flow and return'
        return True
    if any(n.qty and n.qty.unit in (None, "mm") and n.qty.value in _MAIN_SIZES for n in sentence):
        # 'that twenty-eight, flow and return': no loop is that big
        return False
    return "ufh flow" in _known(scene) and "heating flow" not in _known(scene)


_MAIN_SIZES = frozenset((22, 28, 35, 42, 54))


def _of_hot(row: Sequence[Node], i: int, scene: Scene, sentence: Sequence[Node]) -> bool:
    """'hot and its return', 'the return for the hot'."""
    if i and row[i - 1].norm == "its" and ("hot" in scene.here or any(n.keys == ("hot",) for n in sentence)):
        return True
    after = row[i + 1 : i + 4]
    return bool(after) and after[0].norm in ("for", "off", "on") and any(n.keys == ("hot",) for n in after)


def _half(which: str, before: Sequence[str], scene: Scene, floor: bool) -> str:
    """The service that a bare 'flow' or 'return' is, by what was named before it."""
    if which == "return" and "hot" in before:
        return "hot return"
    if floor or any(k.startswith("ufh") for k in before):
        return f"ufh {which}"
    recent = [k for k in (*scene.here, *scene.group) if k.endswith(which) and k != "hot"]
    if which == "return" and recent:
        return recent[-1]
    if any(k.startswith("ufh") for k in scene.group):
        return f"ufh {which}"
    return "hot return" if which == "return" and _only_hot(scene) else f"heating {which}"


def _only_hot(scene: Scene) -> bool:
    """Whether hot water goes round in this room, and no heating is known of."""
    known = _known(scene)
    if "hot return" in known and "heating return" not in known:
        return True
    return "hot" in scene.here and not any(k.startswith("heating") for k in scene.here)
