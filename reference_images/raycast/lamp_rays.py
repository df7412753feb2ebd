"""How much of the lamp a place sees, and how strongly (numba)."""

from math import asin, atan2, pi, sqrt, tan

import numpy as np
from numba import njit
from numpy.typing import NDArray

from reference_images.raycast.heights import find_height
from reference_images.raycast.relief_fill import CODE_MM, OFF_FACE

Array = NDArray[np.float64]
Heights = NDArray[np.float32]
Codes = NDArray[np.uint8]
Vector = tuple[float, float, float]


@njit
def find_lamp_power(place: Array | Vector, lamp: Array, axis: Array, beam: float) -> float:
    """Light at ``place`` (3,) from unit intensity along the lamp's axis, 1/mm^2.

    Intensity falls with the ``beam``-th power of the cosine off the axis; 0: a glowing ball.
    """
    x = place[0] - lamp[0]
    y = place[1] - lamp[1]
    z = place[2] - lamp[2]
    r2 = x * x + y * y + z * z
    power = 1.0 / r2
    if beam > 0:
        cosine = (x * axis[0] + y * axis[1] + z * axis[2]) / sqrt(r2)
        power *= max(cosine, 0.0) ** beam
    return float(power)


@njit
def find_disc_share(elevation: float, horizon: float, radius: float) -> float:
    """Share of a disc that stands above a level horizon; all three are angles."""
    x = (elevation - horizon) / radius
    if x >= 1:
        return 1.0
    if x <= -1:
        return 0.0
    return 0.5 + (x * sqrt(1 - x * x) + asin(x)) / pi


@njit
def see_lamp(
    heights: Heights,
    codes: Codes,
    step_u: float,
    step_w: float,
    place: tuple[float, float, float],
    light: tuple[float, float, float],
    radius_rad: float,
    top_mm: float,
) -> float:
    """Share of the lamp's disc seen over the relief's horizon from ``place`` (u, w, y).

    ``light`` is the unit vector to the lamp's middle, ``top_mm`` a height that nothing exceeds.
    Steps are a cell long, and grow away from the place.
    """
    u, w, y = place
    level = sqrt(light[0] * light[0] + light[1] * light[1])
    along_u = light[0] / level
    along_w = light[1] / level
    elevation = atan2(light[2], level)
    low = tan(max(elevation - radius_rad, 0.01))
    high = tan(elevation + radius_rad)
    step = min(step_u / max(abs(along_u), 1e-6), step_w / max(abs(along_w), 1e-6))
    s = step
    horizon = -1e9
    rows, columns = heights.shape
    stride = step
    for _ in range(4000):
        if y + s * low > top_mm:
            break
        row = (w + s * along_w) / step_w - 0.5
        column = (u + s * along_u) / step_u - 0.5
        i = int(row + 0.5)
        j = int(column + 0.5)
        if i < 0 or j < 0 or i >= rows or j >= columns:
            break
        code = codes[i, j]
        if code == OFF_FACE:
            s += step
            continue
        z = find_height(heights, row, column) if code == 0 else heights[i, j] - code * CODE_MM
        tangent = (z - y) / s
        if tangent > horizon:
            horizon = tangent
            if horizon > high:
                return 0.0
        if code == 0 and s > 12 * step:
            stride = min(stride * 1.04, step * 6)
        s += stride
    return float(find_disc_share(elevation, atan2(horizon, 1.0), radius_rad))
