"""Named places where a test may end the program as a power cut would. Nothing happens at them otherwise."""

from __future__ import annotations

import os
import signal

SWITCH = "VOIDBOOK_KILL_AT"
"""`name`, or `name:3` to be killed the third time the place is reached."""

STORE = ("store copied", "store named")
BOOK = ("book begun", "book changed", "book committed")
TAKE = (*STORE, *BOOK, "take kept", "take heard", "take slice heard", "take read")
MOVE = ("move read back", "move removed")
DECIDE = (*BOOK, "decision added")
MIGRATE = ("migrate locked", "migrate kept", "migrate stepped")
BACKUP = ("backup book copied", "backup media copied", "backup book named", "backup told")
RESTORE = ("restore media copied", "restore book copied", "restore named")
WRITE = ("file written", "file named")
EXPORT = (*WRITE, "export media copied")
IMPORT = (*STORE, *BOOK, *WRITE)
MERGE = (*STORE, *BOOK, "decision added")
FORGET = (*BOOK, "forget removed", "forget wiped")
ALL = tuple(dict.fromkeys((*TAKE, *MOVE, *DECIDE, *MIGRATE, *BACKUP, *RESTORE, *EXPORT, *IMPORT, *FORGET)))

_reached: dict[str, int] = {}


def reach(name: str) -> None:
    """Be killed here where the switch says so."""
    wanted = os.environ.get(SWITCH)
    if not wanted:
        return
    place, _, times = wanted.partition(":")
    _reached[name] = _reached.get(name, 0) + 1
    if name == place and _reached[name] >= int(times or 1):
        os.kill(os.getpid(), signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
