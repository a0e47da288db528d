"""One registry of what can be done: an id, its keys, a line of help, and the command that does the same.

Every binding of every screen is made from here, so that help, palette, settings and keys can't disagree.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from textual.binding import Binding, BindingType

EVERYWHERE = "everywhere"
TYPED = frozenset(("ask", "take"))
"""Screens that one comes to in order to type: there a letter is a letter, until the list is gone to."""


@dataclass(frozen=True, slots=True)
class Action:
    """`id` is what settings name it by: screen.action. `short` stands in the bottom line; none where it is empty."""

    id: str
    keys: str
    short: str
    line: str
    command: str = ""

    @property
    def screen(self) -> str:
        return self.id.partition(".")[0]

    @property
    def call(self) -> str:
        """The name of the method action_... that does it."""
        name = self.id.partition(".")[2]
        return f"app.{name}" if self.screen == EVERYWHERE else name

    def on(self, screen: str) -> str:
        """The same, called by somebody else than the screen."""
        return self.call if self.screen == EVERYWHERE else f"{screen}.{self.call}"


ACTIONS = (
    Action("everywhere.ask", "slash", "Ask", "Find words, or trace a pipe", "voidbook find WORDS / trace WORDS"),
    Action("everywhere.still_open", "o", "Open", "See what is still open", "voidbook followups"),
    Action("everywhere.runs", "r", "Runs", "See the pipe runs of a room", "voidbook runs"),
    Action("everywhere.photos", "p", "Photos", "Look at the photos", "voidbook photos"),
    Action("everywhere.dictate", "d", "Dictate", "Dictate a memo with this machine's microphone", "voidbook dictate"),
    Action("everywhere.bring_in", "t", "Take", "Take in files; see what was not filed", "voidbook take / problems"),
    Action("everywhere.undo", "u", "", "Take back the last decision", "voidbook undo"),
    Action("everywhere.decided", "h", "", "See what was decided, and take any of it back", "voidbook decisions"),
    Action("everywhere.settings", "k", "", "Settings: keys, colours, and who you are"),
    Action("everywhere.light", "ctrl+l", "", "Change between light and dark"),
    Action("everywhere.help", "question_mark,f1", "Help", "What can be done on this screen", "voidbook --help"),
    Action("everywhere.leave", "q", "Quit", "Leave; what was decided is already kept"),
    Action("house.choose", "enter", "Log", "Go to the log of the marked room", "voidbook rooms / log --room ROOM"),
    Action("house.day_before", "left", "Day back", "Go a day back", "voidbook log --day DAY"),
    Action("house.day_after", "right", "Day on", "Go a day on", "voidbook log --day DAY"),
    Action("house.every_day", "a", "", "Show all days together", "voidbook log"),
    Action("house.sign", "s", "Sign off", "Sign off this day, or this room", "voidbook sign"),
    Action("room.back", "escape", "Back", "Go back"),
    Action("room.choose", "enter", "Put right", "Put right what stands in the marked entry", "voidbook correct"),
    Action("room.day_before", "left_square_bracket", "", "Go a day back", "voidbook log --day DAY"),
    Action("room.day_after", "right_square_bracket", "", "Go a day on", "voidbook log --day DAY"),
    Action("room.every_day", "a", "", "Show all days together", "voidbook log --room ROOM"),
    Action("room.listen", "space", "Listen", "Hear the seconds around these words; again to pause"),
    Action("room.listen_all", "w", "", "Hear the whole memo; again to pause"),
    Action("room.word_before", "left", "", "Go a word back in the memo, and in what is heard"),
    Action("room.word_after", "right", "", "Go a word on in the memo, and in what is heard"),
    Action("room.word", "c", "Fix word", "Put right a word that was misheard", "voidbook word"),
    Action("room.right", "y", "Is right", "Say that it is right as it stands", "voidbook accept"),
    Action("room.reject", "x", "Not said", "Say that this was not said", "voidbook reject"),
    Action("room.add", "n", "", "Add an entry by hand", "voidbook add"),
    Action("room.sign", "s", "", "Sign off this room", "voidbook sign"),
    Action("open.back", "escape", "Back", "Go back"),
    Action("open.choose", "enter", "Evidence", "Go to the words it rests on", "voidbook memo ID"),
    Action("open.close", "c", "Close", "Close it with a reason; open a closed one again", "voidbook close ID"),
    Action("open.give", "g", "Give to", "Give it to somebody, with a day", "voidbook assign ID WHO"),
    Action("open.filter", "f", "Filter", "Show only a room, a check, a person, or what is due", "voidbook followups"),
    Action("open.listen", "space", "Listen", "Hear the words it rests on"),
    Action("runs.back", "escape", "Back", "Go back"),
    Action("runs.choose", "enter", "Log", "Go to what was last said of it", "voidbook trace WORDS"),
    Action("runs.choose_room", "f", "Room", "Choose the room", "voidbook runs --room ROOM"),
    Action("runs.same", "m", "Same pipe", "Say that two runs are one pipe", "voidbook merge"),
    Action("runs.two", "b", "Two pipes", "Say that two runs are not one pipe", "voidbook part"),
    Action("photos.back", "escape", "Back", "Go back"),
    Action("photos.before", "left", "Before", "The photo before"),
    Action("photos.after", "right", "Next", "The next photo"),
    Action("photos.view", "v", "View", "Open it in the program that this machine shows pictures with"),
    Action("photos.choose_room", "f", "Room", "Choose the room", "voidbook photos --room ROOM"),
    Action("photos.move", "m", "Move", "Say that it shows another room", "voidbook photo move ID ROOM"),
    Action("photos.memo", "enter", "Memo", "Go to the memo it belongs to", "voidbook memo ID"),
    Action("photos.boards", "b", "Boards", "See which pipes no clear photo shows yet", "voidbook photos"),
    Action("boards.back", "escape", "Back", "Go back"),
    Action("boards.choose", "enter", "Log", "Go to what was last said of it", "voidbook trace WORDS"),
    Action("boards.choose_room", "f", "Room", "Choose the room", "voidbook photos --room ROOM"),
    Action("ask.back", "escape", "Back", "Go back"),
    Action("ask.list", "down", "Answers", "Go to the answers; enter there goes to the log"),
    Action("dictate.back", "escape", "Back", "Go back; what was said is kept and filed"),
    Action("dictate.start", "enter", "Start/stop", "Start; again to stop and file", "voidbook dictate"),
    Action("dictate.pause", "space", "Pause", "Pause; again to go on"),
    Action("take.back", "escape", "Back", "Go back; what is being taken goes on"),
    Action("take.again", "ctrl+r", "Try again", "Try those again that could not be filed", "voidbook take --again"),
    Action("decided.back", "escape", "Back", "Go back"),
    Action("decided.undo", "enter", "Take back", "Take this decision back", "voidbook undo ID"),
    Action("settings.back", "escape", "Back", "Go back"),
    Action("settings.change", "enter", "Change", "Choose another key: press enter, then the key"),
    Action("settings.who", "w", "Who", "Say who you are: it stands with what you decide"),
    Action("settings.plain", "delete", "Reset", "Give it its own key again"),
)
BY_ID: Mapping[str, Action] = {action.id: action for action in ACTIONS}

LISTS = (
    ("up, down", "Go through the list; click to mark, again to open"),
    ("page up, down", "Go through it by pages"),
    ("home, end", "Go to the first, to the last"),
    ("tab", "Go to the next part of the screen"),
    ("ctrl+p", "Find anything that can be done, by name"),
)  # fmt: skip
"""Keys that every list has, for the help."""

FIXED = frozenset("up down pageup pagedown home end tab shift+tab ctrl+p ctrl+c ctrl+q".split())
"""Keys that lists and the terminal keep for themselves."""

_NAMES = {
    "slash": "/", "question_mark": "?", "left_square_bracket": "[", "right_square_bracket": "]", "escape": "esc",
    "left": "←", "right": "→", "up": "↑", "down": "↓", "enter": "enter", "space": "space", "plus": "+", "minus": "-",
    "full_stop": ".", "comma": ",", "delete": "del", "semicolon": ";", "number_sign": "#",
}  # fmt: skip


def bindings(screen: str) -> list[BindingType]:
    """The bindings of a screen."""
    return [
        Binding(a.keys, a.call, a.short or a.line, show=bool(a.short), id=a.id) for a in ACTIONS if a.screen == screen
    ]


def of_screen(screen: str) -> list[Action]:
    """What can be done on a screen, its own first."""
    return [a for a in ACTIONS if a.screen == screen] + [a for a in ACTIONS if a.screen == EVERYWHERE]


def named(keys: str) -> str:
    """Keys as a person reads them."""
    return " or ".join(_NAMES.get(key, key) for key in keys.split(","))


def keys_of(action: Action, changed: Mapping[str, str]) -> str:
    """The keys of an action after what a person changed."""
    return changed.get(action.id, action.keys)


def clash(id: str, key: str, changed: Mapping[str, str]) -> Action | None:
    """The action that already has `key` where the action `id` can be done."""
    screen = BY_ID[id].screen
    near = [a for a in ACTIONS if a.id != id and _meet(a.screen, screen)]
    return next((a for a in near if key in keys_of(a, changed).split(",")), None)


def _meet(a: str, b: str) -> bool:
    return a == b or EVERYWHERE in (a, b)


def sound(changed: Mapping[str, object]) -> tuple[dict[str, str], list[str]]:
    """The changes that can be used, and what is wrong with the others."""
    good: dict[str, str] = {}
    wrong = []
    for id, key in changed.items():
        if id not in BY_ID:
            wrong.append(f"nothing is called {id!r}")
        elif not isinstance(key, str) or not key.strip():
            wrong.append(f"{id}: a key is text, not {key!r}")
        elif key in FIXED and key not in BY_ID[id].keys.split(","):
            wrong.append(f"{id}: {key!r} is kept for lists")
        elif other := clash(id, key, good):
            wrong.append(f"{id}: {key!r} is the key of {other.id}")
        else:
            good[id] = key
    return good, wrong


def ids(actions: Iterable[Action]) -> list[str]:
    """The ids of actions."""
    return [action.id for action in actions]
