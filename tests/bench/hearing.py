"""What hotwords are worth: the words of the sample recordings against what was dictated. Run by hand, takes minutes:

uv run python tests/bench/hearing.py
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from time import process_time

from rapidfuzz.distance import Levenshtein

from notes import job, lexicon, transcribe, weights
from notes.reading import hotwords

ROOT = Path(__file__).parents[2]
DICTATED = ROOT / "tests" / "gold" / "dev" / "farmhouse" / "memos.jsonl"


def _words(text: str) -> list[str]:
    """Numbers stay as they are written, so 'fifteen' and '15' count as different: compare rows, not with zero."""
    return re.findall(r"[a-z0-9']+", text.lower().replace("’", "'"))


def main() -> None:
    farm = job.from_json(ROOT / "sample_media" / "job.json")
    chosen = weights.active()
    sentence, *rooms = hotwords(lexicon.load(farm), farm)
    ways = {
        "none": "",
        "names with commas": ", ".join(rooms),
        "the sentence alone": sentence,
        "as shipped": transcribe.fit_hotwords((sentence, *rooms), chosen.folder),
    }
    dictated = {row["id"]: row["text"] for row in map(json.loads, DICTATED.read_text(encoding="utf-8").splitlines())}
    for name, said in ways.items():
        speech, began, wrong, of = transcribe.Whisper(chosen, said), process_time(), 0, 0
        for id, text in dictated.items():
            file = next((ROOT / "sample_media").glob(f"{id}.*"))
            wrong += Levenshtein.distance(_words(text), _words(speech.transcribe(file).text))
            of += len(_words(text))
        print(f"{name:20} words wrong {wrong / of:.3f} of {of}   {process_time() - began:.0f} s CPU")


if __name__ == "__main__":
    main()
