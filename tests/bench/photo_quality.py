"""How well blurred, dark, burnt-out and near-duplicate photos are told, on rendered photos and spoilt copies of them.

    uv run python tests/bench/photo_quality.py [FOLDER OF PHOTOS]

Good: the photos and four overlapping parts of each. Spoilt: the same, blurred evenly, blurred and noisy, moved at
several angles, under-lit with a sensor's noise, over-lit. Thresholds are chosen on one half of the photos (odd) and
judged on the other (even), then the ones in use are judged on all.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from itertools import chain, combinations
from pathlib import Path

import numpy as np
from PIL import Image, ImageFilter

from notes import quality

SEED = np.random.default_rng(1)
Spoil = Callable[[Image.Image], Image.Image]


def parts(photo: Image.Image) -> Iterator[Image.Image]:
    width, height = photo.size
    yield photo
    for x, y in ((0, 0), (4, 0), (0, 4), (4, 4)):
        left, top = width * x // 10, height * y // 10
        yield photo.crop((left, top, left + width * 6 // 10, top + height * 6 // 10))


def lit(by: float, noise: float = 3.0) -> Spoil:
    def spoil(photo: Image.Image) -> Image.Image:
        values = np.asarray(photo, np.float32)
        return Image.fromarray((values * by + SEED.normal(0, noise, values.shape)).clip(0, 255).astype(np.uint8))

    return spoil


def moved(pixels: int, angle: float) -> Spoil:
    def spoil(photo: Image.Image) -> Image.Image:
        values = np.asarray(photo.rotate(angle, Image.Resampling.BICUBIC), np.float32)
        mean = sum(np.roll(values, n - pixels // 2, 1) for n in range(pixels)) / pixels
        turned = Image.fromarray(np.asarray(mean).astype(np.uint8)).rotate(-angle, Image.Resampling.BICUBIC)
        width, height = turned.size
        return turned.crop((width // 6, height // 6, width * 5 // 6, height * 5 // 6))

    return spoil


def soft(radius: float, noise: float = 0.0) -> Spoil:
    return lambda photo: lit(1, noise)(photo.filter(ImageFilter.GaussianBlur(radius)))


BLURS: dict[str, Spoil] = {
    "even 3 px": soft(3), "even 5 px": soft(5), "even 8 px": soft(8), "even 4 px, noise": soft(4, 4),
    "even 8 px, noise": soft(8, 4), "moved 21 px": moved(21, 0), "moved 21 px at 30": moved(21, 30),
    "moved 41 px at 30": moved(41, 30), "moved 21 px at 90": moved(21, 90),
}  # fmt: skip
DARK = {f"{share:.0%} of the light": lit(share) for share in (0.15, 0.1, 0.05)}
BURNT = {f"{by} times the light": lit(by) for by in (3, 4, 6)}
SAME: dict[str, Spoil] = {
    "smaller": lambda p: p.resize((800, 600)), "brighter": lit(1.25), "darker": lit(0.8),
    "turned 2 degrees": lambda p: p.rotate(2), "soft": soft(3), "noisy": lit(1, 6),
    "2 % off each side": lambda p: p.crop((p.width // 50, p.height // 50, p.width * 49 // 50, p.height * 49 // 50)),
}  # fmt: skip


def all_of(groups: Iterable[Iterable[float]]) -> list[float]:
    return list(chain.from_iterable(groups))


def area(good: list[float], bad: list[float]) -> float:
    """Area under the ROC curve: how often a good one has more than a bad one."""
    a, b = np.array(good)[:, None], np.array(bad)[None]
    return float(((a > b) + (a == b) / 2).mean())


def best(good: list[float], bad: list[float]) -> float:
    """The threshold in the middle of the gap where the sum of both errors is least."""
    values = np.unique([*good, *bad])
    middles = (values[1:] + values[:-1]) / 2
    return float(max(middles, key=lambda t: (np.array(good) >= t).mean() + (np.array(bad) < t).mean()))


def shares(good: list[float], bad: list[float], threshold: float) -> str:
    caught = (np.array(bad) < threshold).mean()
    return f"caught {caught:.1%}, good ones called bad {(np.array(good) < threshold).mean():.1%}"


def blur(photos: list[Image.Image]) -> None:
    sharp = [[quality.look(part).sharpness for part in parts(photo)] for photo in photos]
    spoilt = [[[quality.look(way(part)).sharpness for part in parts(p)] for p in photos] for way in BLURS.values()]
    good, bad = all_of(sharp), all_of(map(all_of, spoilt))
    print(f"{len(photos)} photos, {len(good)} good pictures, {len(bad)} blurred in {len(BLURS)} ways")
    for name, groups in zip(BLURS, spoilt, strict=True):
        values = all_of(groups)
        print(f"  {name:20} area {area(good, values):.3f}  {shares(good, values, quality.SHARP_ABOVE)}")
    chosen = best(all_of(sharp[::2]), all_of(all_of(groups[::2]) for groups in spoilt))
    held = all_of(sharp[1::2]), all_of(all_of(groups[1::2]) for groups in spoilt)
    print(f"  all: area under the ROC curve {area(good, bad):.4f}")
    print(f"  threshold {chosen:.0f} from the odd photos, on the even ones: {shares(*held, chosen)}")
    print(f"  threshold {quality.SHARP_ABOVE:.0f}, in use, on all: {shares(good, bad, quality.SHARP_ABOVE)}")


def light(photos: list[Image.Image], what: str, ways: dict[str, Spoil]) -> None:
    falsely = sum(what in quality.look(part).wrongs for photo in photos for part in parts(photo))
    for name, way in ways.items():
        caught = sum(what in quality.look(way(photo)).wrongs for photo in photos)
        print(f"  {what}, {name}: {caught} of {len(photos)}; good pictures called so: {falsely}")


def bits(a: str, b: str) -> int:
    return (int(a, 16) ^ int(b, 16)).bit_count()


def twins(photos: list[Image.Image]) -> None:
    hashes = [quality.look(photo).phash for photo in photos]
    for name, way in SAME.items():
        off = [bits(phash, quality.look(way(photo)).phash) for photo, phash in zip(photos, hashes, strict=True)]
        found = sum(n <= quality.ALIKE for n in off)
        print(f"  near duplicate, {name}: {found} of {len(off)} found, at most {max(off)} bits")
    apart = [bits(a, b) for a, b in combinations(hashes, 2)]
    wrong = sum(n <= quality.ALIKE for n in apart)
    print(f"  different views: {wrong} of {len(apart)} taken for one, at least {min(apart)} bits")


def main(folder: Path) -> None:
    photos = [Image.open(p).convert("RGB") for p in sorted(folder.glob("*.jpg")) if "blurred" not in p.name]
    blur(photos)
    light(photos, "too dark", DARK)
    light(photos, "burnt out", BURNT)
    twins(photos)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[2] / "sample_media")
