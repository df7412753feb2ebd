"""How long one photo takes to measure, as a multiple of a bare ``cv2.imread`` of it."""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.measure import measure_photo
from scoring.motion import Motion
from tests.reference_photos import photo_named

ROUNDS = 15
PHOTOS = (("ringdown", "two-modes-red"), ("flow", "white-gaps"))
PHONE_PIXELS, PHONE_QUALITY, PHONE_NOISE = 12e6, 95, 4.0
"""About 4 MB, as phones save 12 megapixels: common practice, no source."""


def _seconds(action: Callable[[], object]) -> float:
    began = time.perf_counter()
    action()
    return time.perf_counter() - began


def _compare(path: Path, motion: Motion) -> str:
    """The median ratio for one file, reading and measuring taken in turn."""

    def read() -> object:
        return cv2.imread(str(path))

    def measure() -> object:
        return measure_photo(path, name=path.name, motion=motion)

    measure()
    pairs = [(_seconds(read), _seconds(measure)) for _ in range(ROUNDS)]
    ratio = statistics.median(m / r for r, m in pairs)
    read_ms, whole_ms = (1e3 * statistics.median(column) for column in zip(*pairs, strict=True))
    with Image.open(path) as image:
        megapixels = image.width * image.height / 1e6
    return (
        f"{megapixels:.0f} MP, {path.stat().st_size / 1e6:.1f} MB: {ratio:.2f} times cv2.imread "
        f"({whole_ms:.0f} ms against {read_ms:.0f} ms)"
    )


def _as_a_phone_saves(path: Path, folder: Path) -> Path:
    """The photo at 12 megapixels and a phone's JPEG quality, its noise drawn anew."""
    rng = np.random.default_rng(1)
    with Image.open(path) as image:
        exif = image.getexif()
        scale = (PHONE_PIXELS / (image.width * image.height)) ** 0.5
        size = (round(image.width * scale), round(image.height * scale))
        large = np.asarray(image.resize(size, Image.Resampling.LANCZOS), np.float64)
    noisy = np.clip(large + rng.normal(0, PHONE_NOISE, large.shape), 0, 255).astype(np.uint8)
    target = folder / f"{path.stem}-phone.jpg"
    Image.fromarray(noisy).save(target, quality=PHONE_QUALITY, exif=exif)
    return target


def main() -> None:
    """Print the ratio for reference photos as they are, and as a phone would have saved them."""
    with tempfile.TemporaryDirectory() as folder:
        for kind, name in PHOTOS:
            photo = photo_named(kind, name)
            print(name, _compare(photo.path, photo.motion))
            phone = _as_a_phone_saves(photo.path, Path(folder))
            print(phone.stem, _compare(phone, photo.motion))


if __name__ == "__main__":
    main()
