"""HEIC files as phones make them: one picture of HEVC, its EXIF beside it, and a box that says which way up.

Put together from its boxes (ISO 14496-12, ISO 23008-12; from memory) since pi-heif only reads.
"""

from __future__ import annotations

import re
import struct
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from PIL import Image


def heic(path: Path, image: Image.Image, exif: Image.Exif, turn: int | None, kind: bytes = b"Exif") -> Path:
    """`turn`: quarter turns against the clock that the box irot asks for; None leaves the box out.

    `kind`: what the second item is said to be, in four bytes.
    """
    settings, picture = _hevc(image)
    told = b"\0\0\0\x06" + exif.tobytes()  # where TIFF begins: after "Exif\0\0"
    kinds = [b"hvcC" + settings, b"ispe" + struct.pack(">III", 0, *image.size)]
    kinds += [] if turn is None else [b"irot" + bytes([turn])]
    owned = bytes([0x80 | 1, 2, *([0x80 | 3] if len(kinds) > 2 else [])])
    ftyp = _box(b"ftyp" + b"heic" + bytes(4) + b"mif1heic")

    def head(at: int) -> bytes:
        places = struct.pack(">HHHII", 1, 0, 1, at, len(picture))
        places += struct.pack(">HHHII", 2, 0, 1, at + len(picture), len(told))
        return ftyp + _box(
            b"meta" + bytes(4)
            + _box(b"hdlr" + bytes(8) + b"pict" + bytes(13))
            + _box(b"pitm" + bytes(4) + b"\0\x01")
            + _box(b"iloc" + bytes(4) + b"\x44\0" + b"\0\x02" + places)
            + _box(b"iinf" + bytes(4) + b"\0\x02" + _item(1, b"hvc1") + _item(2, kind))
            + _box(b"iref" + bytes(4) + _box(b"cdsc" + b"\0\x02\0\x01\0\x01"))
            + _box(b"iprp" + _box(b"ipco" + b"".join(map(_box, kinds)))
                   + _box(b"ipma" + bytes(4) + b"\0\0\0\x01\0\x01" + bytes([len(owned)]) + owned))
        )  # fmt: skip

    start = len(head(0)) + 8
    path.write_bytes(head(start) + _box(b"mdat" + picture + told))
    return path


def deadly(path: Path) -> Path:
    """A HEIC file with an item whose kind is no text: pi-heif 1.4.0 ends the whole process on it (found by fuzzing)."""
    return heic(path, Image.new("RGB", (64, 48), "red"), Image.Exif(), turn=3, kind=b"E\x88\x96\xff")


def _hevc(image: Image.Image) -> tuple[bytes, bytes]:
    """The picture as one frame of HEVC: how to decode it (the box hvcC of ISO 14496-15), and its bytes."""
    frame = av.VideoFrame.from_ndarray(np.asarray(image.convert("RGB")), "rgb24")
    encoder: Any = av.CodecContext.create("libx265", "w")
    encoder.width, encoder.height = image.size
    encoder.pix_fmt, encoder.time_base, encoder.framerate = "yuv420p", Fraction(1), 1
    encoder.options = {"x265-params": "log-level=none"}
    stream = b"".join(bytes(packet) for sent in (frame, None) for packet in encoder.encode(sent))
    units = [unit for unit in re.split(b"\0?\0\0\x01", stream) if unit]
    heads = [unit for unit in units if unit[0] >> 1 in (32, 33, 34)]  # VPS, SPS, PPS
    sps = next(unit for unit in heads if unit[0] >> 1 == 33).replace(b"\0\0\x03", b"\0\0")
    settings = b"\x01" + sps[3:15] + bytes.fromhex("f000fcfdf8f8 0000 0f") + bytes([len(heads)])
    settings += b"".join(bytes([unit[0] >> 1, 0, 1]) + struct.pack(">H", len(unit)) + unit for unit in heads)
    return settings, b"".join(struct.pack(">I", len(unit)) + unit for unit in units if unit[0] >> 1 < 32)


def _item(number: int, kind: bytes) -> bytes:
    return _box(b"infe" + b"\x02\0\0\0" + struct.pack(">HH", number, 0) + kind + b"\0")


def _box(named: bytes) -> bytes:
    return struct.pack(">I", len(named) + 4) + named
