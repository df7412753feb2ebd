"""A decoded photo: upright code values and the way from them to linear light."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.photo.opencv import cv2
from scoring.photo.srgb import srgb_code, srgb_curve

Pixels = NDArray[np.unsignedinteger[Any]]
"""(M, N, 3) uint8 or uint16 code values."""


def luma_codes(codes: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The luma (M, N) that a file holds, from red, green and blue (M, N, 3) decoded from it.

    Decoding adds to each pixel's luma, a whole code, what its colour differences ask for, rounded:
    by half a code at most in each channel, so by less in their weighted sum. Rounded again that is
    the luma itself, but where a channel is cut off at 0 or 255. Left unrounded it is off by up to
    half a code, the same over all the pixels of one colour.
    """
    return np.asarray(cv2.cvtColor(codes, cv2.COLOR_RGB2GRAY), np.uint8)


@dataclass(frozen=True, eq=False)
class Photo:
    """Code values as the file stores them, turned upright, and their light.

    ``pixels`` is (M, N, 3) uint8 or uint16, rows first, red-green-blue. ``to_linear`` is (L, 3)
    float32, a row for each code value (L is 256 or 65536), a column for each channel: linear
    light with 1.0 at full scale. A code value of ``clip_level`` or more was cut off by the camera
    and gives no light value. ``focal_35mm`` is the focal length in millimetres on 35 mm film that
    the file states, ``None`` where it states none. ``format`` names the kind of file.
    ``keeps_luma`` says that the file's own luma can be had back, by :func:`luma_codes`.
    """

    name: str
    format: str
    pixels: Pixels
    to_linear: NDArray[np.float32]
    clip_level: int
    focal_35mm: float | None
    keeps_luma: bool = False

    @cached_property
    def codes8(self) -> NDArray[np.uint8]:
        """The picture in 8-bit codes, (M, N, 3): for finding things, not for measuring light.

        Pixels of 16 bits are coded like any 8-bit picture (IEC 61966-2-1), so that shadows of a
        linear raw file are not lost.
        """
        if self.pixels.dtype == np.uint8:
            return np.asarray(self.pixels, np.uint8)
        codes = np.clip(255 * srgb_code(self.to_linear.astype(np.float64)) + 0.5, 0, 255).astype(
            np.uint8
        )
        return np.stack([codes[:, k].take(self.pixels[..., k]) for k in range(3)], axis=-1)

    def light_of_codes8(self, codes: NDArray[np.generic], channel: int) -> NDArray[np.float32]:
        """Linear light of :attr:`codes8` values of one channel, any shape."""
        if self.pixels.dtype == np.uint8:
            table = self.to_linear[:, channel]
        else:
            table = srgb_curve(np.arange(256) / 255).astype(np.float32)
        return np.asarray(table[codes.astype(np.intp)])

    def linear(self, rows: slice, cols: slice, channel: int) -> NDArray[np.float32]:
        """Linear light of one channel of the crop ``pixels[rows, cols]``, (m, n) float32.

        An empty crop gives an empty array.
        """
        codes = np.ascontiguousarray(self.pixels[rows, cols, channel])
        table = np.ascontiguousarray(self.to_linear[:, channel])
        if codes.size and codes.dtype == np.uint8:
            return np.asarray(cv2.LUT(codes, table), np.float32)
        return table.take(codes)

    def luma_light(self, rows: slice, cols: slice) -> NDArray[np.float32]:
        """Light of the file's own luma in the crop, (m, n) float32; only if ``keeps_luma``."""
        codes = luma_codes(np.asarray(self.pixels[rows, cols], np.uint8))
        return np.asarray(cv2.LUT(codes, np.ascontiguousarray(self.to_linear[:, 1])), np.float32)

    def clipped(self, rows: slice, cols: slice) -> NDArray[np.bool_]:
        """Where any channel of the crop is at or above ``clip_level``, (m, n) bool."""
        crop = self.pixels[rows, cols]
        if crop.size == 0:
            return np.zeros(crop.shape[:2], dtype=bool)
        top = (self.clip_level - 1,) * 3
        return np.asarray(cv2.inRange(crop, (0, 0, 0), top) == 0)
