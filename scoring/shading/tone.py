"""A camera's tone curve, beyond the standard one: how phones deepen or flatten contrast."""

import numpy as np
from numpy.typing import NDArray

CODES = np.linspace(0.0, 1.0, 1025)


def encode(light: NDArray[np.float64]) -> NDArray[np.float64]:
    """Code value 0 to 1 of linear ``light``, any shape (IEC 61966-2-1)."""
    light = np.clip(light, 0.0, None)
    return np.asarray(
        np.where(
            light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055
        )
    )


def decode(code: NDArray[np.float64]) -> NDArray[np.float64]:
    """Linear light of code values 0 to 1, any shape (IEC 61966-2-1)."""
    return np.asarray(
        np.where(code <= 0.04045, code / 12.92, ((np.maximum(code, 0) + 0.055) / 1.055) ** 2.4)
    )


def bend(light: NDArray[np.float64], contrast: float) -> NDArray[np.float64]:
    """Light that a standard reader takes from the file, when the camera raised its contrast.

    The code value c becomes c + contrast c (1 - c) (2 c - 1), the share ``contrast`` of the way to
    the smooth step 3 c^2 - 2 c^3: shadows fall, highlights rise, black and white stay.
    """
    code = np.minimum(encode(light), 1.2)
    return decode(code + contrast * code * (1 - code) * (2 * code - 1))


def unbend(light: NDArray[np.float64], contrast: float) -> NDArray[np.float64]:
    """The inverse of :func:`bend` for light 0 to 1, any shape."""
    bent = CODES + contrast * CODES * (1 - CODES) * (2 * CODES - 1)
    return decode(np.interp(encode(light), bent, CODES))
