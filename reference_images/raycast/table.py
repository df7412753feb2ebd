"""The table's top: wood, plain, cloth or speckle, as linear reflectance."""

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.conditions import Laid
from reference_images.raycast.ground import STEP_MM, Grid

Picture = NDArray[np.float32]


def draw_table(rng: np.random.Generator, laid: Laid, grid: Grid) -> Picture:
    """The table's reflectance (M, N, 3) over the grid; its patterns are Gaussian-smoothed noise."""
    rows, columns = grid.shape

    def smooth(across: float, down: float) -> Picture:
        noise = rng.standard_normal((rows, columns), dtype=np.float32)
        return np.asarray(cv2.GaussianBlur(noise, (0, 0), sigmaX=across, sigmaY=down), np.float32)

    base = np.ones((rows, columns, 3), np.float32) * np.array(laid.table_rgb, np.float32)
    if laid.table == "wood":
        fine, broad = smooth(60, 1.2), smooth(120, 8)
        pattern = 1 + 0.13 * fine / fine.std() + 0.12 * broad / broad.std()
    elif laid.table == "cloth":
        y, x = np.mgrid[0:rows, 0:columns] * STEP_MM
        pattern = 1 + 0.12 * np.sin(x * 7.1) * np.sin(y * 6.8) + 0.05 * smooth(1, 1) * 3
    else:
        wide, strength = (1.0, 0.15) if laid.table == "speckle" else (80, 0.04)
        clouds = smooth(wide, wide)
        pattern = 1 + strength * clouds / clouds.std()
    return np.asarray(np.clip(base * pattern[..., None], 0.005, 0.9), np.float32)
