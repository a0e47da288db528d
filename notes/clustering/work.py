"""What a worker does, as plain functions of text and bytes, so that any engine may carry them.

All comes back as JSON, and what went wrong too: an engine that saw an exception would write its arguments to a log.
"""

from __future__ import annotations

import hashlib
import json
import sys
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import Any

from notes import lexicon, transcribe, weights
from notes.errors import ClusterError, MediaError, VoidbookError
from notes.hearing import Progress
from notes.model import Job, Memo
from notes.reading import Carry, Reading
from notes.reading import read as read_memo
from notes.transcribe import Transcriber, Transcript


def whisper(hotwords: str) -> Transcriber:
    """The model in use on this machine. It is loaded with the first recording, and then once in the process."""
    return transcribe.Whisper(weights.active(), hotwords)


ears: Callable[[str], Transcriber] = whisper
"""Who listens here, for these hotwords. Tests put a twin in its place."""


def hear(
    data: bytes, suffix: str, sha: str, model: str, settings: str, folder: Path, progress: Progress | None = None
) -> str:
    """The transcript of a recording as JSON, or what was wrong. `settings` are the owner's, as JSON.

    The bytes lie in `folder` while they are listened to.
    """
    try:
        if hashlib.sha256(data).hexdigest() != sha:
            raise MediaError("the bytes that arrived at a worker are not those of the original", todo="take it again")
        wanted = json.loads(settings)
        speech = ears(wanted["hotwords"])
        _alike(speech, model, wanted)
        with tempfile.TemporaryDirectory(dir=folder) as place:
            path = Path(place, f"sound{suffix}")
            path.write_bytes(data)
            return json.dumps({"heard": transcribe.to_json(speech.transcribe(path, progress))})
    except VoidbookError as wrong:
        return json.dumps({"media": isinstance(wrong, MediaError), "what": wrong.what, "todo": wrong.todo})
    except Exception as wrong:  # a decoder or the model itself; its words may quote what was said
        what = f"a worker could not hear it ({type(wrong).__name__})"
        return json.dumps({"media": False, "what": what, "todo": "take it without --cluster"})


def read(memo: Memo, job: Job, before: Carry) -> Reading:
    """What the memo says, in the light of what came before it."""
    return read_memo(memo, lexicon.load(job), before)


def ready() -> None:
    """Load what reading needs: some seconds of work, which the first memo would wait for."""
    said = "I've capped the hot."
    read(Memo("", datetime.now(UTC), None, said, said), Job(""), Carry())


def _alike(speech: Transcriber, model: str, wanted: dict[str, Any]) -> None:
    """Raise ClusterError where another model or library listens here: its words would stand under the owner's name."""
    if speech.model != model:
        what = f"a worker listens with {speech.model}, this job with {model}"
        raise ClusterError(what, todo="choose one model on all machines: voidbook model use NAME")
    if json.loads(json.dumps(asdict(speech.settings))) != wanted:
        what = f"a worker listens otherwise ({speech.settings.library}; here {wanted['library']})"
        raise ClusterError(what, todo="install the same voidbook on all machines")


@lru_cache(maxsize=1)
def program() -> str:
    """A name for all that decides what is read out of words: this program to the last letter, and what it stands on."""
    digest = hashlib.sha256()
    top = Path(__file__).parents[1]
    for path in sorted(p for p in top.rglob("*") if p.suffix in (".py", ".csv", ".toml")):
        digest.update(f"{path.relative_to(top).as_posix()}\0".encode() + path.read_bytes() + b"\0")
    digest.update(f"spacy {metadata.version('spacy')} python {sys.version_info[:2]}".encode())
    return digest.hexdigest()[:16]


def ability(speech: Transcriber) -> str:
    """What a worker must have in common with the owner, so that both hear and read alike."""
    return f"{speech.model} {program()}"


def heard(told: str, file: Path, speech: Transcriber) -> Transcript:
    """What `hear` gave, as `speech` would have here. Raises what went wrong, about `file`."""
    answer = json.loads(told)
    if "what" in answer:
        kind = MediaError if answer["media"] else ClusterError
        raise kind(answer["what"], file=file, todo=answer["todo"])
    found = transcribe.from_json(answer["heard"])
    if (found.model, found.settings) != (speech.model, speech.settings):
        raise ClusterError("a worker heard it with other settings than were asked for", file=file, todo="take it again")
    return found
