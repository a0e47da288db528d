"""What a file is and what it says of itself; the only importer of Pillow, pi-heif and PyAV, and late.

Files come from phones and may be hostile: every one that can't be read ends in one MediaError, and nothing that the
libraries mutter reaches stdout or stderr.
"""

from __future__ import annotations

import threading
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from io import BytesIO
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from notes.clock import container_day, container_time, exif_time
from notes.errors import MediaError
from notes.kinds import Kind as Kind
from notes.kinds import kind_of as kind_of
from notes.kinds import readable
from notes.quality import MEASURED_AT, Look, look
from notes.quality import SHARP_ABOVE as SHARP_ABOVE
from notes.trial import survives

if TYPE_CHECKING:
    import numpy as np
    from av.audio.stream import AudioStream
    from av.container import InputContainer
    from PIL.Image import Image

MAX_PIXELS = 110_000_000
"""Phones make 108 million; more takes more memory than a picture is worth."""

MAX_SECONDS = 4 * 3600
"""In one piece: four hours of sound are 0.9 GB in memory."""

LONGEST = 24 * 3600
"""Of one recording; more is no dictation."""

RATE = 16_000
"""Samples a second that the speech model takes."""


@dataclass(frozen=True, slots=True)
class Sound:
    """Length in seconds; when the container says it was made, with its offset, or only on which day, or None."""

    seconds: float
    created: datetime | None
    day: date | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """`width` and `height` in pixels as stored, before turning by `orientation` (EXIF 1..8); HEIC comes turned.

    `taken` has an offset where EXIF gives one (tags 0x9003 and 0x9011).
    """

    width: int
    height: int
    orientation: int
    taken: datetime | None
    caption: str
    look: Look

    @property
    def sharpness(self) -> float:
        return self.look.sharpness

    @property
    def sharp(self) -> bool:
        """Whether it is sharp and bright enough to show anything."""
        return not self.look.wrongs


_AV_TIME = Fraction(1, 1_000_000)
_NO_PROMISE = ("mp3", "aac", "amr")  # their length is guessed from the bit rate, so nothing shows that some is missing
_OGG_PAGE = 65_307  # the longest there can be
_FORMATS = ("JPEG", "PNG", "HEIF", "WEBP")
# a play list would have other files, and other machines, opened
_ONLY = {"format_whitelist": "mov,mp3,aac,wav,flac,ogg,matroska,amr,amrnb,amrwb"}
_one_picture = threading.Lock()  # Pillow's limits and the warnings' filters belong to the whole process


def probe_recording(path: Path) -> Sound:
    """Length and creation time. Raises MediaError for what is no sound, is cut short, or is too long."""
    with readable(path), _container(path) as container:
        stream = _sound_stream(container, path)
        promised = 0.0 if container.format.name in _NO_PROMISE else _seconds(container.duration, _AV_TIME)
        heard = 0.0
        for packet in container.demux(stream):
            if packet.pts is not None:
                heard = max(heard, float((packet.pts + (packet.duration or 0)) * packet.time_base))
        tags = {key.lower(): value for key, value in {**stream.metadata, **container.metadata}.items()}
        created, day = _created(tags), container_day(tags.get("date"))
    heard -= _seconds(stream.start_time, stream.time_base)
    if heard <= 0:
        raise MediaError("there is no sound in it", file=path, todo="copy it from the phone again")
    # the container rounds, and encoders pad by a frame or two
    if heard < promised - max(0.5, promised * 0.02):
        what = f"it is cut short: {heard:.0f} of {promised:.0f} seconds are there"
        raise MediaError(what, file=path, todo="copy it from the phone again")
    if _ends_early(path, container.format.name):
        raise MediaError("it is cut short: its end is missing", file=path, todo="copy it from the phone again")
    _not_too_long(heard, path, LONGEST)
    return Sound(round(heard, 3), created, day)


def samples(path: Path) -> np.ndarray[Any, np.dtype[np.float32]]:
    """The sound as one channel of floats, -1..1, at `RATE`. Raises MediaError where it can't be decoded."""
    import numpy as np

    parts: list[np.ndarray[Any, np.dtype[np.float32]]] = []
    count = 0
    for piece, _promised in pieces(path):
        parts.append(piece)
        count += piece.size
        _not_too_long(count / RATE, path, MAX_SECONDS)
    return np.concatenate(parts)


def pieces(path: Path) -> Iterator[tuple[np.ndarray[Any, np.dtype[np.float32]], float]]:
    """The sound frame by frame, at `RATE`, with the seconds that the file promises in all."""
    import av
    import numpy as np

    some = False
    with readable(path), _container(path) as container:
        _sound_stream(container, path)
        promised = _seconds(container.duration, _AV_TIME)
        resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE)
        for frame in chain(container.decode(audio=0), (None,)):
            for piece in resampler.resample(frame):
                some = True
                yield piece.to_ndarray().reshape(-1).astype(np.float32, copy=False), promised
    if not some:
        raise MediaError("there is no sound in it", file=path, todo="copy it from the phone again")


def probe_photo(path: Path) -> Picture:
    """Size, way up, time and sharpness. The whole picture is read, so that one cut short is found here."""
    with readable(path), _picture(path) as picture:
        width, height = picture.size
        exif = picture.getexif()
        details = exif.get_ifd(0x8769)
        picture.draft("L", (MEASURED_AT * 2, MEASURED_AT * 2))
        seen = look(picture)
    orientation = exif.get(0x0112, 1)
    return Picture(
        width,
        height,
        orientation if orientation in range(1, 9) else 1,
        exif_time(details.get(0x9003), details.get(0x9011)),
        _plain(exif.get(0x010E)),
        seen,
    )


def upright(path: Path, max_px: int) -> bytes:
    """The picture turned the right way as JPEG, its longer side at most `max_px`, with nothing of its EXIF."""
    from PIL import ImageOps

    with readable(path), _picture(path) as picture:
        picture.draft("RGB", (max_px, max_px))
        turned = ImageOps.exif_transpose(picture).convert("RGB")
        turned.thumbnail((max_px, max_px))
        out = BytesIO()
        turned.info.clear()
        turned.save(out, "JPEG", quality=85)
    return out.getvalue()


def place_of(path: Path) -> tuple[float, float] | None:
    """Where on earth it was taken, in degrees north and east, if EXIF tells. Only for a person who asks."""
    with readable(path), _picture(path) as picture:
        told = picture.getexif().get_ifd(0x8825)
    try:
        north, east = (sum(float(part) / 60**n for n, part in enumerate(told[tag])) for tag in (2, 4))
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None
    north, east = (-north if told.get(1) == "S" else north), (-east if told.get(3) == "W" else east)
    return (north, east) if abs(north) <= 90 and abs(east) <= 180 else None


@contextmanager
def _container(path: Path) -> Iterator[InputContainer]:
    import av

    av.logging.set_level(None)
    try:
        with path.open("rb") as file, av.open(file, "r", metadata_errors="ignore", options=_ONLY) as container:
            yield container
    except (av.FFmpegError, ValueError) as error:
        raise MediaError("this is no sound that can be read", file=path, todo="copy it from the phone again") from error


def _sound_stream(container: InputContainer, path: Path) -> AudioStream:
    if not container.streams.audio:
        raise MediaError("there is no sound in it", file=path, todo="take a recording")
    return container.streams.audio[0]


def _seconds(ticks: int | None, base: Fraction | None) -> float:
    return float(ticks * base) if ticks and base else 0.0


def _ends_early(path: Path, form: str) -> bool:
    """What the file says of its own size in bytes, where its length in seconds promises nothing."""
    size = path.stat().st_size
    with path.open("rb") as file:
        if form == "wav":
            told = int.from_bytes(file.read(8)[4:], "little")
            return size < told + 8 <= 0x7FFFFFFF  # recorders that never got to write the size leave 0 or all ones
        if form != "ogg":
            return False
        file.seek(max(0, size - _OGG_PAGE))
        tail = file.read()
    # the last page (RFC 3533) has a table of how long its parts are
    page = tail[tail.rfind(b"OggS") :]
    table = page[27 : 27 + page[26]] if len(page) > 27 else b""
    return not table or len(page) < 27 + page[26] + sum(table)


def _not_too_long(seconds: float, path: Path, most: int) -> None:
    if seconds > most:
        raise MediaError(f"it is longer than {most // 3600} hours", file=path, todo="cut it into parts")


def _created(tags: Mapping[str, str]) -> datetime | None:
    """Phones that write the wall clock with its offset say more than the container's UTC."""
    return container_time(tags.get("com.apple.quicktime.creationdate")) or container_time(tags.get("creation_time"))


@contextmanager
def _picture(path: Path) -> Iterator[Image]:
    import pi_heif  # type: ignore[import-untyped]
    from PIL import Image as pictures

    if _is_heif(path) and not survives(path, MAX_PIXELS):
        raise MediaError("this is no picture that can be read", file=path, todo="copy it from the phone again")
    with _one_picture, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", pictures.DecompressionBombWarning)
        pi_heif.register_heif_opener()
        pictures.MAX_IMAGE_PIXELS = MAX_PIXELS
        try:
            with path.open("rb") as file, pictures.open(file, formats=_FORMATS) as picture:
                yield picture
        except (pictures.DecompressionBombWarning, pictures.DecompressionBombError):
            what = f"it has more than {MAX_PIXELS // 10**6} million pixels"
            raise MediaError(what, file=path, todo="make it smaller") from None
        except (FileNotFoundError, PermissionError, MemoryError):
            raise
        except Exception as error:  # its decoders raise nearly anything on broken files
            what = "this is no picture that can be read, or it is cut short"
            raise MediaError(what, file=path, todo="copy it from the phone again") from error


def _is_heif(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(8)[4:] == b"ftyp"


def _plain(text: object) -> str:
    """EXIF text without anything that could drive a terminal."""
    return "".join(c for c in text if c.isprintable()).strip() if isinstance(text, str) else ""
