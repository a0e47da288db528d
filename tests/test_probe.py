"""What a file is and says, shown on media made here: by PyAV and Pillow, and by the stdlib's wave."""

from __future__ import annotations

import errno
import math
import struct
import wave
import zlib
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone
from io import BytesIO
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from heic import deadly, heic
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from notes import probe, trial
from notes.errors import MediaError
from notes.kinds import Kind, kind_of

SAMPLES = Path(__file__).parent.parent / "sample_media"
CODECS = {
    "m4a": ("ipod", "aac"), "mp4": ("mp4", "aac"), "3gp": ("3gp", "aac"), "mp3": ("mp3", "libmp3lame"),
    "ogg": ("ogg", "libopus"), "opus": ("opus", "libopus"), "webm": ("webm", "libopus"), "flac": ("flac", "flac"),
    "wav": ("wav", "pcm_s16le"), "aac": ("adts", "aac"),
}  # fmt: skip


def tone(path: Path, seconds: float = 2.0, **tags: str) -> Path:
    """A 440 Hz tone in the container and codec of the ending."""
    form, codec = CODECS[path.suffix[1:]]
    rate = 48_000
    wave_ = 0.4 * np.sin(2 * np.pi * 440 * np.arange(int(rate * seconds)) / rate)
    with av.open(str(path), "w", format=form) as container:
        container.metadata.update(tags)
        stream: Any = container.add_stream(codec, rate=rate, layout="mono")
        frame = av.AudioFrame.from_ndarray((wave_ * 32767).astype(np.int16).reshape(1, -1), "s16", "mono")
        frame.rate = rate
        fifo, resampler = av.AudioFifo(), av.AudioResampler(stream.codec_context.format, "mono", rate)
        for piece in resampler.resample(frame):
            fifo.write(piece)
        while part := fifo.read(stream.codec_context.frame_size or 1024, partial=True):
            container.mux(stream.encode(part))
        container.mux(stream.encode(None))
    return path


def picture(path: Path, size: tuple[int, int] = (64, 48), exif: dict[int, Any] | None = None, **more: Any) -> Path:
    """A left half of red and a right half of blue."""
    image = Image.new("RGB", size, (255, 0, 0))
    image.paste((0, 0, 255), (size[0] // 2, 0, *size))
    data = Image.Exif()
    for tag, value in (exif or {}).items():
        (data.get_ifd(0x8769) if tag > 0x9000 else data)[tag] = value
    image.save(path, exif=data, **more)
    return path


def amr(path: Path) -> Path:
    """Half a second of AMR-NB at 12.2 kbit/s: frame type 7, 31 bytes for 20 ms (RFC 4867, from memory)."""
    path.write_bytes(b"#!AMR\n" + (b"\x3c" + bytes(31)) * 25)
    return path


@pytest.mark.parametrize("ending", CODECS)
def test_recordings_are_known_by_content(tmp_path: Path, ending: str) -> None:
    path = tone(tmp_path / f"a.{ending}")
    assert kind_of(path) is Kind.RECORDING
    assert kind_of(path.rename(tmp_path / "a.txt")) is Kind.RECORDING
    sound = probe.probe_recording(tmp_path / "a.txt")
    assert sound.seconds == pytest.approx(2.0, abs=0.15)
    heard = probe.samples(tmp_path / "a.txt")
    assert (heard.dtype, len(heard) / probe.RATE) == (np.float32, pytest.approx(2.0, abs=0.15))
    loudest = np.abs(np.fft.rfft(heard[8000:24000])).argmax()
    assert loudest == pytest.approx(440, abs=2)


def test_amr_is_read(tmp_path: Path) -> None:
    path = amr(tmp_path / "a.amr")
    assert kind_of(path) is Kind.RECORDING
    assert probe.probe_recording(path).seconds == pytest.approx(0.5, abs=0.05)
    assert len(probe.samples(path)) == pytest.approx(8000, abs=400)


@pytest.mark.parametrize("ending", ["jpg", "png", "webp"])
def test_pictures_are_known_by_content(tmp_path: Path, ending: str) -> None:
    path = picture(tmp_path / f"a.{ending}").rename(tmp_path / "a.m4a")
    assert kind_of(path) is Kind.PHOTO
    assert (probe.probe_photo(path).width, probe.probe_photo(path).height) == (64, 48)


@pytest.mark.parametrize(
    ("name", "data", "kind"),
    [
        ("a.txt", b"hot and cold capped", Kind.NOTE),
        ("A.TXT", "22 mm – capped".encode(), Kind.NOTE),
        ("a.txt", "hot and cold".encode("utf-16"), Kind.NOTE),
        ("a.txt", b"a" * 4095 + "é".encode(), Kind.NOTE),  # the head that is looked at ends within a letter
        ("a.jsonl", b'{"id": "m01"}\n', Kind.MEMOS),
    ],
)
def test_text_is_known_by_its_ending(tmp_path: Path, name: str, data: bytes, kind: Kind) -> None:
    (tmp_path / name).write_bytes(data)
    assert kind_of(tmp_path / name) is kind


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.m4a", b"", "the file is empty"),
        ("a.m4a", b"this is a note", "it holds text, no recording"),
        ("a.jpg", b"this is a note", "it holds text, no photo"),
        ("a.txt", b"\x00\x01\x02\xff", "it holds no text"),
        ("a.pdf", b"%PDF-1.7", "files ending in '.pdf' can't be filed"),
        ("a", b"this is a note", "files ending in 'nothing' can't be filed"),
    ],
)
def test_what_cannot_be_filed(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(data)
    with pytest.raises(MediaError) as error:
        kind_of(tmp_path / name)
    assert said in str(error.value)
    assert str(error.value).startswith(str(tmp_path / name))
    assert "\n" not in str(error.value)
    assert error.value.todo


READERS: list[Callable[[Path], object]] = [
    kind_of, probe.probe_recording, probe.samples, probe.probe_photo, lambda path: probe.upright(path, 100),
]  # fmt: skip


@pytest.mark.parametrize("read", READERS)
def test_vanished_files_and_folders(tmp_path: Path, read: Callable[[Path], object]) -> None:
    for path in (tmp_path / "gone.m4a", tmp_path):
        with pytest.raises(MediaError):
            read(path)


@pytest.mark.parametrize("read", READERS)
def test_a_folder_without_rights(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, read: Any) -> None:
    def refuse(*_: Any, **__: Any) -> None:  # root may read everything, so rights alone would not show it
        raise PermissionError(errno.EACCES, "Permission denied")

    path = picture(tmp_path / "a.jpg")
    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(MediaError, match="no right to read"):
        read(path)


def test_container_times(tmp_path: Path) -> None:
    made = probe.probe_recording(tone(tmp_path / "a.m4a", creation_time="2026-03-02T08:25:00Z")).created
    assert made == datetime(2026, 3, 2, 8, 25, tzinfo=UTC)
    assert probe.probe_recording(tone(tmp_path / "b.m4a")).created is None
    assert probe.probe_recording(SAMPLES / "m04.ogg").created == datetime(2026, 3, 3, 8, 50, tzinfo=UTC)
    day_only = probe.probe_recording(tone(tmp_path / "c.ogg", date="2026-03-03"))
    assert (day_only.created, day_only.day) == (None, date(2026, 3, 3))
    assert probe.probe_recording(tone(tmp_path / "d.ogg", date="2026")).day is None


@pytest.mark.parametrize("ending", ["m4a", "wav", "flac", "ogg", "webm", "mp4"])
@pytest.mark.parametrize("share", [0.02, 0.6])
def test_a_recording_cut_short_is_refused(tmp_path: Path, ending: str, share: float) -> None:
    path = tone(tmp_path / f"a.{ending}", 20)
    if ending in ("m4a", "mp4"):  # with the table of contents in front, as after a broken download
        path = faststart(path)
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    with pytest.raises(MediaError, match=r"cut short|no sound"):
        probe.probe_recording(path)


def faststart(path: Path) -> Path:
    target = path.with_name(f"front{path.suffix}")
    with av.open(str(path)) as source, av.open(str(target), "w", options={"movflags": "faststart"}) as out:
        stream = out.add_stream_from_template(source.streams.audio[0])
        for packet in source.demux(audio=0):
            if packet.dts is not None:
                packet.stream = stream
                out.mux(packet)
    return target


def test_a_film_without_sound_has_no_sound(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    with av.open(str(path), "w") as out:
        stream: Any = out.add_stream("mpeg4", rate=5)
        stream.width = stream.height = 32
        stream.pix_fmt = "yuv420p"
        for _ in range(5):
            out.mux(stream.encode(av.VideoFrame(32, 32, "yuv420p")))
        out.mux(stream.encode(None))
    assert kind_of(path) is Kind.RECORDING
    for read in (probe.probe_recording, probe.samples):
        with pytest.raises(MediaError, match="there is no sound in it"):
            read(path)


def test_longer_than_can_be_listened_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(probe, "MAX_SECONDS", 3600)
    monkeypatch.setattr(probe, "LONGEST", 3600)
    path = tmp_path / "a.wav"
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(1)
        out.setframerate(2000)
        out.writeframes(b"\x80" * 2000 * 3700)
    for read in (probe.probe_recording, probe.samples):
        with pytest.raises(MediaError, match="longer than 1 hours"):
            read(path)


def test_a_play_list_opens_nothing(tmp_path: Path) -> None:
    tone(tmp_path / "real.wav")
    path = tmp_path / "a.m4a"
    path.write_text("#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\nreal.wav\n#EXT-X-ENDLIST\n")
    with pytest.raises(MediaError, match="no sound that can be read"):
        probe.probe_recording(path)


EXIF = {0x9003: "2026:03:03 13:37:44", 0x9011: "+01:00", 0x0112: 6, 0x010E: "tails \x1b[31mcapped\n"}


def test_exif_is_read(tmp_path: Path) -> None:
    found = probe.probe_photo(picture(tmp_path / "a.jpg", exif=EXIF))
    assert found.taken == datetime(2026, 3, 3, 13, 37, 44, tzinfo=timezone(timedelta(hours=1)))
    assert (found.orientation, found.caption, found.width) == (6, "tails [31mcapped", 64)
    bare = probe.probe_photo(picture(tmp_path / "b.jpg", exif={0x0112: 99, 0x9003: "0000:00:00 00:00:00"}))
    assert (bare.taken, bare.orientation, bare.caption) == (None, 1, "")


def late_png(path: Path, **more: Any) -> Path:
    """EXIF behind the picture, where a PNG may have it as well (PNG third edition, 11.3.3.3 eXIf; from memory)."""
    data = picture(path, **more).read_bytes()
    start = data.index(b"eXIf") - 4
    end = start + 12 + int.from_bytes(data[start : start + 4], "big")
    last = data.index(b"IEND") - 4
    path.write_bytes(data[:start] + data[end:last] + data[start:end] + data[last:])
    return path


def turned_heic(path: Path, size: tuple[int, int], exif: dict[int, Any]) -> Path:
    """As phones do: EXIF says 6, and the box irot says three quarter turns against the clock, which is the same."""
    plain = Image.open(picture(path.with_suffix(".png"), size, exif))
    return heic(path, plain, plain.getexif(), turn=3)


@pytest.mark.parametrize(
    ("name", "make"),
    [("a.jpg", picture), ("a.png", picture), ("b.png", late_png), ("a.webp", picture), ("a.heic", turned_heic)],
)
def test_time_offset_and_way_up_of_every_kind_of_photo(tmp_path: Path, name: str, make: Callable[..., Path]) -> None:
    path = make(tmp_path / name, size=(640, 480), exif=EXIF)
    assert kind_of(path) is Kind.PHOTO
    found = probe.probe_photo(path)
    assert found.taken == datetime(2026, 3, 3, 13, 37, 44, tzinfo=timezone(timedelta(hours=1)))
    assert (found.taken.utcoffset(), found.caption) == (timedelta(hours=1), "tails [31mcapped")
    # what decodes HEIC turns it itself, and says so
    assert (found.width, found.height, found.orientation) == ((480, 640, 1) if "heic" in name else (640, 480, 6))
    turned = Image.open(BytesIO(probe.upright(path, 320))).convert("RGB")
    assert turned.size == (240, 320)
    (top, _, _), (_, _, bottom) = turned.getpixel((120, 20)), turned.getpixel((120, 300))
    assert min(top, bottom) > 200


def test_heic_is_turned_by_its_box_alone(tmp_path: Path) -> None:
    """EXIF's word for it counts for nothing in HEIC (ISO 23008-12 annex A; from memory)."""
    plain = Image.open(picture(tmp_path / "a.png", (640, 480), EXIF))
    path = heic(tmp_path / "a.heic", plain, plain.getexif(), turn=None)
    assert Image.open(BytesIO(probe.upright(path, 320))).size == (320, 240)
    assert probe.probe_photo(path).taken is not None


def test_heic_is_read() -> None:
    path = SAMPLES / "03_ufh_manifold.heic"
    assert kind_of(path) is Kind.PHOTO
    found = probe.probe_photo(path)
    assert (found.width, found.height, found.sharp) == (1600, 1200, True)
    assert found.taken == datetime(2026, 3, 3, 9, 14, 8, tzinfo=UTC)
    assert Image.open(BytesIO(probe.upright(path, 400))).size == (400, 300)


def test_pictures_are_turned_the_right_way(tmp_path: Path) -> None:
    """Orientation 6: the first row is the right side (EXIF 2.32 tag 0x0112), so red, at the left, comes on top."""
    path = picture(tmp_path / "a.jpg", (640, 480), exif=EXIF, quality=95)
    turned = Image.open(BytesIO(probe.upright(path, 320)))
    assert (turned.size, turned.format, len(turned.getexif())) == ((240, 320), "JPEG", 0)
    top, bottom = turned.getpixel((120, 20)), turned.getpixel((120, 300))
    assert isinstance(top, tuple)
    assert isinstance(bottom, tuple)
    assert top[0] > 200 > 50 > top[2]
    assert bottom[2] > 200 > 50 > bottom[0]


def test_the_blurred_photo_alone_is_not_sharp() -> None:
    photos = sorted(path for path in SAMPLES.iterdir() if kind_or_none(path) is Kind.PHOTO)
    assert len(photos) >= 5
    assert [path.name for path in photos if not probe.probe_photo(path).sharp] == ["10_failed_blurred.jpg"]


def kind_or_none(path: Path) -> Kind | None:
    try:
        return kind_of(path)
    except MediaError:
        return None


def test_a_dark_photo_is_not_sharp(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).integers(0, 40, (400, 400), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "a.png")
    found = probe.probe_photo(tmp_path / "a.png")
    assert found.sharpness > probe.SHARP_ABOVE
    assert not found.sharp


def bomb(path: Path, side: int) -> Path:
    """A PNG of a few kilobytes that unpacks to side x side grey pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))))
    return path


@pytest.mark.parametrize("side", [math.isqrt(probe.MAX_PIXELS) + 1, 60_000])
def test_a_picture_bomb_is_refused_unopened(tmp_path: Path, side: int) -> None:
    path = bomb(tmp_path / "a.png", side)
    for read in (probe.probe_photo, lambda p: probe.upright(p, 100)):
        with pytest.raises(MediaError, match="more than 110 million pixels"):
            read(path)


@pytest.mark.parametrize("name", ["01_basin_tails.jpg", "03_ufh_manifold.heic"])
@pytest.mark.parametrize("share", [0.01, 0.5, 0.99])
def test_a_picture_cut_short_is_refused(tmp_path: Path, name: str, share: float) -> None:
    data = (SAMPLES / name).read_bytes()
    (tmp_path / name).write_bytes(data[: int(len(data) * share)])
    with pytest.raises(MediaError, match="cut short"):
        probe.probe_photo(tmp_path / name)


@pytest.mark.parametrize("read", [probe.probe_photo, probe.place_of, lambda path: probe.upright(path, 64)])
def test_a_picture_that_ends_its_decoder_does_not_end_us(tmp_path: Path, read: Callable[[Path], Any]) -> None:
    with pytest.raises(MediaError, match="no picture that can be read"):
        read(deadly(tmp_path / "a.heic"))


def test_a_picture_that_takes_for_ever_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trial, "PATIENCE", 0.001)
    with pytest.raises(MediaError, match="no picture that can be read"):
        probe.probe_photo(turned_heic(tmp_path / "a.heic", (64, 48), EXIF))


@pytest.fixture(scope="module")
def seeds(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """One small file of each kind."""
    folder = tmp_path_factory.mktemp("seeds")
    made = [tone(folder / f"a.{ending}", 0.3) for ending in CODECS]
    made += [picture(folder / f"a.{ending}", exif=EXIF) for ending in ("jpg", "png", "webp")]
    made.append(turned_heic(folder / "b.heic", (64, 48), EXIF))
    return [path.read_bytes() for path in made]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_broken_files_end_in_one_line_and_silence(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], seeds: list[bytes], data: st.DataObject
) -> None:
    broken = bytearray(data.draw(st.sampled_from(seeds)))
    for place in data.draw(st.lists(st.integers(0, min(len(broken), 600) - 1), max_size=12)):
        broken[place] = data.draw(st.integers(0, 255))
    path = tmp_path / "a.m4a"
    path.write_bytes(broken[: data.draw(st.integers(0, len(broken)))])
    for read in READERS:
        try:
            read(path)
        except MediaError as error:
            assert "\n" not in str(error)
    assert capfd.readouterr() == ("", "")
