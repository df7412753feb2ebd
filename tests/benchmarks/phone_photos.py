"""Reference photos as a phone would have saved them: larger, noisier, files of a phone's size."""

from pathlib import Path

import numpy as np
from PIL import Image

PHONE_QUALITY, PHONE_NOISE = 95, 4.0
"""About 4 MB, as phones save 12 megapixels: common practice, no source."""


def save_as_phone(path: Path, folder: Path, *, megapixels: float) -> Path:
    """The photo at so many megapixels and a phone's JPEG quality, its noise drawn anew.

    Enlarging carries EXIF's focal length along (it is that of 35 mm film, whatever the pixels) and
    leaves the blur what it was in millimetres.
    """
    rng = np.random.default_rng(1)
    with Image.open(path) as image:
        exif = image.getexif()
        scale = (1e6 * megapixels / (image.width * image.height)) ** 0.5
        size = (round(image.width * scale), round(image.height * scale))
        large = np.asarray(image.resize(size, Image.Resampling.LANCZOS), np.float32)
    large += rng.normal(0, PHONE_NOISE, large.shape).astype(np.float32)
    target = folder / f"{path.stem}-{megapixels:.0f}mp.jpg"
    Image.fromarray(np.clip(large, 0, 255).astype(np.uint8)).save(
        target, quality=PHONE_QUALITY, exif=exif
    )
    return target
