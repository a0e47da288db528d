"""The most memory this process has had."""

from __future__ import annotations

import re
import resource
from pathlib import Path


def megabytes() -> int:
    """Since the program began, where the system tells: `ru_maxrss` begins with that of who started it, however big."""
    status = Path("/proc/self/status")
    if status.exists() and (found := re.search(r"VmHWM:\s*(\d+) kB", status.read_text(encoding="ascii"))):
        return int(found[1]) // 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
