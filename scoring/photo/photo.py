"""A decoded photo: upright code values and the way from them to linear light."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.photo.opencv import cv2

Pixels = NDArray[np.unsignedinteger[Any]]
"""(M, N, 3) uint8 or uint16 code values."""


@dataclass(frozen=True, eq=False)
class Photo:
    """Code values as the file stores them, turned upright, and their light.

    ``pixels`` is (M, N, 3) uint8 or uint16, rows first, red-green-blue. ``to_linear`` is (L, 3)
    float32, a row for each code value (L is 256 or 65536), a column for each channel: linear
    light with 1.0 at full scale. A code value of ``clip_level`` or more was cut off by the camera
    and gives no light value. ``focal_35mm`` is the focal length in millimetres on 35 mm film that
    the file states, ``None`` where it states none. ``format`` names the kind of file.
    """

    name: str
    format: str
    pixels: Pixels
    to_linear: NDArray[np.float32]
    clip_level: int
    focal_35mm: float | None

    @cached_property
    def codes8(self) -> NDArray[np.uint8]:
        """The pixels as 8-bit codes, (M, N, 3): for finding things, not for measuring light."""
        if self.pixels.dtype == np.uint8:
            return np.asarray(self.pixels, np.uint8)
        return np.asarray(self.pixels >> 8, np.uint8)

    def light_of_codes8(self, codes: NDArray[np.generic], channel: int) -> NDArray[np.float32]:
        """Linear light of 8-bit ``codes`` of one channel, any shape."""
        step = len(self.to_linear) // 256
        return np.asarray(self.to_linear[step // 2 :: step, channel][codes.astype(np.intp)])

    def linear(self, rows: slice, cols: slice) -> NDArray[np.float32]:
        """Linear light of the crop ``pixels[rows, cols]``, (m, n, 3) float32.

        An empty crop gives an empty array.
        """
        crop = self.pixels[rows, cols]
        if crop.size == 0:
            return np.zeros(crop.shape, np.float32)
        if crop.dtype == np.uint8:
            light = cv2.LUT(crop, self.to_linear[np.newaxis])
            return np.asarray(light, np.float32)
        return np.stack([self.to_linear[:, k].take(crop[..., k]) for k in range(3)], axis=-1)

    def clipped(self, rows: slice, cols: slice) -> NDArray[np.bool_]:
        """Where any channel of the crop is at or above ``clip_level``, (m, n) bool."""
        return np.asarray(self.pixels[rows, cols].max(axis=-1) >= self.clip_level)
