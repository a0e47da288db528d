"""A child process that reads a picture first, where its decoder is known to take the whole program down with it.

On some broken HEIC files pi-heif ends in a segmentation fault (tests/heic.py makes one as fuzzing found it), and one
such file in the inbox would end every take and watch that meets it.
"""

from __future__ import annotations

import subprocess
import sys
from functools import lru_cache
from pathlib import Path

PATIENCE = 120.0
"""Seconds; a photo of 110 million pixels takes some ten."""

_READ = """
import sys, pi_heif
from PIL import Image
pi_heif.register_heif_opener()
picture = Image.open(sys.argv[1], formats=("HEIF",))
if picture.width * picture.height <= int(sys.argv[2]):
    picture.load()
"""


def survives(path: Path, most_pixels: int) -> bool:
    """Whether a program that reads this HEIC file lives on; what else is wrong with it is for the reader to find."""
    told = path.stat()
    return _tried(path.absolute(), most_pixels, told.st_size, told.st_mtime_ns)


@lru_cache(maxsize=1024)
def _tried(path: Path, most_pixels: int, _size: int, _changed: int) -> bool:
    run = [sys.executable, "-I", "-c", _READ, str(path), str(most_pixels)]
    quiet = subprocess.DEVNULL
    try:
        code = subprocess.run(run, stdin=quiet, stdout=quiet, stderr=quiet, timeout=PATIENCE, check=False).returncode
    except subprocess.TimeoutExpired:
        return False
    return code in (0, 1)  # 1 is an exception of Python's; signals are below, Windows' faults far above
