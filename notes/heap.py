"""How memory is kept and given back, where the C library lets us choose."""

from __future__ import annotations

import ctypes
from contextlib import suppress

_ARENA_MAX, _MMAP_THRESHOLD = -8, -3
"""From glibc's malloc.h."""


def share() -> None:
    """Have glibc share its pools between threads and give back large blocks, or a third of all memory lies idle."""
    with suppress(OSError, AttributeError):  # other systems have no such switches, and no such pools
        libc = ctypes.CDLL(None)
        libc.mallopt(_ARENA_MAX, 2)
        libc.mallopt(_MMAP_THRESHOLD, 4 << 20)


def give_back() -> None:
    """Give the system what lies idle: some 10 ms."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)
