"""A camera's tone curve, beyond the standard one: how phones deepen or flatten contrast."""

import numpy as np
from numpy.typing import NDArray

from scoring.photo.srgb import srgb_code, srgb_curve

CODES = np.linspace(0.0, 1.0, 1025)


def bend(light: NDArray[np.float64], contrast: float) -> NDArray[np.float64]:
    """Light that a standard reader takes from the file, when the camera raised its contrast.

    The code value c becomes c + contrast c (1 - c) (2 c - 1), the share ``contrast`` of the way to
    the smooth step 3 c^2 - 2 c^3: shadows fall, highlights rise, black and white stay.
    """
    code = np.minimum(srgb_code(light), 1.2)
    return srgb_curve(code + contrast * code * (1 - code) * (2 * code - 1))


def unbend(light: NDArray[np.float64], contrast: float) -> NDArray[np.float64]:
    """The inverse of :func:`bend` for light 0 to 1, any shape."""
    bent = CODES + contrast * CODES * (1 - CODES) * (2 * CODES - 1)
    return srgb_curve(np.interp(srgb_code(light), bent, CODES))
