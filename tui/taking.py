"""Taking files in a child process, so that the app stays live: what it tells in JSON becomes lines to show."""

from __future__ import annotations

import asyncio
import json
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from tui.bridge import wording


@dataclass
class Taking:
    """What is being taken, by file, the latest last."""

    lines: dict[str, str] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    running: int = 0

    def told(self, event: dict[str, Any]) -> None:
        """One line of the child's JSON."""
        file = str(event.get("file", ""))
        self.lines.pop(file, None)
        self.lines[file] = _in_words(event)
        (self.failed.add if event.get("done") == "failed" else self.failed.discard)(file)


def _in_words(event: dict[str, Any]) -> str:
    if event.get("done") == "failed":
        return f"not filed: {event.get('reason', '')}"
    if event.get("done") == "filed before":
        return "filed before, nothing to do"
    if event.get("done"):
        ids = ", ".join(map(str, event.get("ids", ())))
        return f"filed as {ids}" + (f", {wording.count(event['facts'], 'entry')}" if event.get("facts") else "")
    share, left = event.get("share"), event.get("seconds_left")
    ahead = f", {share:.0%} done" if share else ""
    return f"{event.get('doing', '')}{ahead}{f', about {left} s left' if left else ''}"


async def run(command: Sequence[str], tell: Callable[[dict[str, Any]], None]) -> str:
    """Run the command that takes files and `tell` what it says; what went wrong as a whole, if anything."""
    child = await asyncio.create_subprocess_exec(
        *command, stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE
    )
    with suppress(OSError, AttributeError):  # the person's keys come before the child's listening
        os.setpriority(os.PRIO_PROCESS, child.pid, 10)
    assert child.stdout and child.stderr
    muttered = asyncio.ensure_future(child.stderr.read())
    events = 0
    try:
        async for line in child.stdout:
            with suppress(ValueError):
                tell(json.loads(line))
                events += 1
        await child.wait()
        words = (await muttered).decode("utf-8", "replace").strip().splitlines()
    finally:
        if child.returncode is None:
            child.terminate()
            await child.wait()
        muttered.cancel()
    return "" if events or child.returncode == 0 else (words[-1] if words else "it ended without a word")
