"""What a reader takes out of a file, and how it becomes upright red, green and blue."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.errors import PhotoUnreadableError
from scoring.photo.opencv import cv2
from scoring.photo.tone import ToneCurve

Samples = NDArray[np.unsignedinteger[Any]]
"""uint8 or uint16 code values."""

MAX_PIXELS = 178_000_000
"""Largest picture that is decoded: above any phone's usual photo, below what fills a computer."""


@dataclass(frozen=True, eq=False)
class StoredPicture:
    """Samples in the order the file keeps them, before turning.

    ``samples`` is (M, N) or (M, N, C) uint8 or uint16; C of 1 is grey, 2 grey and alpha, 3 RGB,
    4 RGB and alpha. ``orientation`` is EXIF's, 1 to 8. ``full_scale`` is the highest code value
    there can be and ``clip_level`` the least one that counts as cut off. ``keeps_luma`` says that
    the file holds whole codes of luma and colour differences (JFIF), not of red, green and blue.
    """

    format: str
    samples: Samples
    curve: ToneCurve
    full_scale: int
    clip_level: int
    orientation: int
    focal_35mm: float | None
    keeps_luma: bool = False


def check_size(width: int, height: int) -> None:
    """Raise :class:`PhotoUnreadableError` for a picture of no pixels or of absurdly many."""
    if width < 1 or height < 1:
        raise PhotoUnreadableError(f"the picture is {width} x {height} pixels, so it is empty.")
    if width * height > MAX_PIXELS:
        raise PhotoUnreadableError(
            f"the picture claims {width} x {height} pixels; at most {MAX_PIXELS / 1e6:.0f} million "
            "are read. Photograph at 12 to 50 megapixels."
        )


def to_rgb(samples: Samples, full_scale: int) -> Samples:
    """(M, N, 3) code values. Grey is repeated; what is transparent is laid on white.

    White is at full scale, so a fully transparent pixel counts as clipped: it holds no light.
    """
    if samples.ndim == 2:
        samples = samples[..., np.newaxis]
    channels = samples.shape[2]
    if channels in (2, 4):
        samples = _on_white(samples, full_scale)
    if samples.shape[2] == 1:
        return np.repeat(samples, 3, axis=2)
    return samples


def _on_white(samples: Samples, full_scale: int) -> Samples:
    colour, alpha = samples[..., :-1], samples[..., -1:].astype(np.uint64)
    if alpha.min() == full_scale:
        return np.ascontiguousarray(colour)
    mixed = (colour * alpha + full_scale * (full_scale - alpha) + full_scale // 2) // full_scale
    return mixed.astype(samples.dtype)


def turn_upright(pixels: Samples, orientation: int) -> Samples:
    """Undo EXIF's orientation (tag 0x0112, 1 to 8, four of them mirrored); (M, N, 3) in and out.

    Any other value counts as 1, upright, as the standard has it.
    """
    if orientation in (5, 6, 7, 8):
        pixels = np.asarray(cv2.transpose(pixels))
    # What is left to mirror, after the transpose: -1 both ways, 0 top to bottom, 1 left to right.
    flip = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}.get(orientation)
    return pixels if flip is None else np.asarray(cv2.flip(pixels, flip))
