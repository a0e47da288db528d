"""What hotwords and padding are worth: the words of the sample recordings against what was dictated. Run by hand:

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
    for name, said in ways.items():
        _row(name, transcribe.Whisper(chosen, said))
    shipped = ways["as shipped"]
    for seconds in (0.5, 1.0, 5.0, 30.0):
        transcribe.PADDING = seconds
        _row(f"padding of {seconds:g} s", transcribe.Whisper(chosen, shipped))


def _row(name: str, speech: transcribe.Whisper) -> None:
    began, wrong, of = process_time(), 0, 0
    for row in map(json.loads, DICTATED.read_text(encoding="utf-8").splitlines()):
        file = next((ROOT / "sample_media").glob(f"{row['id']}.*"))
        wrong += Levenshtein.distance(_words(row["text"]), _words(speech.transcribe(file).text))
        of += len(_words(row["text"]))
    print(f"{name:20} words wrong {wrong / of:.3f} of {of}   {process_time() - began:.0f} s CPU", flush=True)


if __name__ == "__main__":
    main()
