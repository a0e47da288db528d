"""Text from recordings, file names and EXIF made harmless to print. Pure."""

from __future__ import annotations

import re

_ESCAPE = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]?|[\]PX^_].*?(?:\x07|\x1b\\|$)|.?)|\x9b[0-?]*[ -/]*[@-~]?", re.DOTALL)


def clean(text: object) -> str:
    """`text` on one line without terminal escapes, control characters, and marks that turn the direction of text."""
    bare = _ESCAPE.sub("", str(text))
    return "".join(c if c.isprintable() else " " if c.isspace() else "" for c in bare)


def harmless(text: str) -> str:
    """`text` as a cell of a table that no spreadsheet takes for a formula."""
    bare = clean(text).strip()
    return f"'{bare}" if bare[:1] in ("=", "+", "-", "@", "|", "%") else bare
