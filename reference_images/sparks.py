"""Sparks: single pixels that a rare bright path leaves in a traced picture."""

import cv2
import numpy as np
from numpy.typing import NDArray

EXCESS = 1.15  # above the noise of a pixel, below any spark that matters


def drop_sparks(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """The picture (H, W, 3) with every pixel held to 1.15 times the brightest of its 8 neighbours.

    A lens spreads real light over more than one pixel, so nothing but sparks stands out so far.
    """
    ring = np.ones((3, 3), dtype=np.uint8)
    ring[1, 1] = 0
    around = cv2.dilate(light, ring)
    return np.asarray(np.minimum(light, EXCESS * around), dtype=np.float32)
