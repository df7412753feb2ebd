"""The standard tone curve of pictures, IEC 61966-2-1, both ways."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def srgb_curve(code: Floats) -> Floats:
    """Linear light of code values 0 to 1, any shape.

    V / 12.92 up to 0.04045, else ((V + 0.055) / 1.055)^2.4; values over 1 go on along the curve.
    """
    steep = ((np.maximum(code, 0.0) + 0.055) / 1.055) ** 2.4
    return np.asarray(np.where(code <= 0.04045, code / 12.92, steep))


def srgb_code(light: Floats) -> Floats:
    """Code values 0 to 1 of linear light, any shape; the inverse of :func:`srgb_curve`."""
    light = np.maximum(light, 0.0)
    steep = 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055
    return np.asarray(np.where(light <= 0.0031308, 12.92 * light, steep))
