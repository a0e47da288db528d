"""What the reader makes of plain sentences: every frame of frames.toml with every verb, and the frames that fail most.

uv run python tests/bench/frames.py [WORDS OF A FRAME]     with words: the sentences of that frame that are misread
"""

from __future__ import annotations

import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))

from dictation import told

HERE = Path(__file__).parent

MOST = 20
"""Frames that are listed."""


class Case(NamedTuple):
    """A sentence and what it tells."""

    frame: str
    text: str
    facts: list[str]


def said(frame: str, forms: list[str], thing: str, many: bool) -> str:
    """The frame's sentence, in the number that the thing has."""
    base, past, done, ing = forms
    one = {"is": "is", "isnt": "isn't", "have": "has", "havent": "hasn't", "was": "was", "needs": "needs",
           "wants": "wants", "has": "has", "doesnt": "doesn't", "thats": "that's", "theyre": "it's"}  # fmt: skip
    more = {"is": "are", "isnt": "aren't", "have": "have", "havent": "haven't", "was": "were", "needs": "need",
            "wants": "want", "has": "have", "doesnt": "don't", "thats": "they're", "theyre": "they're"}  # fmt: skip
    text = frame.format(O=thing, b=base, p=past, pp=done, g=ing, **(more if many else one))
    return text[0].upper() + text[1:]


def cases(table: dict[str, Any]) -> Iterator[Case]:
    """Every frame with every verb and thing."""
    for status, frames in table["frames"].items():
        for frame in frames["said"]:
            for verb in table["verbs"]:
                for on in verb["on"]:
                    many = on.get("many", len(on["subjects"]) > 1)
                    facts = [f"{key} {verb['action']} {status}" for key in on["subjects"]]
                    text = said(frame, verb["forms"], on["said"], many)
                    yield Case(frame, text, [] if status == "nothing" else sorted(facts))


def main() -> None:
    wanted = " ".join(sys.argv[1:])
    every = list(cases(tomllib.loads((HERE / "frames.toml").read_text(encoding="utf-8"))))
    wrong: Counter[str] = Counter()
    for case in every:
        read = sorted(told(case.text))
        if read != case.facts:
            wrong[case.frame] += 1
            if wanted and wanted in case.frame:
                print(f"{case.text}\n    wanted {case.facts}\n    read   {read}")
    print(f"{wrong.total()} of {len(every)} sentences misread ({100 * wrong.total() / len(every):.1f} %)")
    for frame, n in wrong.most_common(MOST):
        print(f"{n:4} {frame}")


if __name__ == "__main__":
    main()
