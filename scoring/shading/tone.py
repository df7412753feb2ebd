"""A camera's tone curve, beyond the standard one: how phones deepen or flatten contrast."""

import numpy as np
from numpy.typing import NDArray

from scoring.photo.srgb import srgb_code, srgb_curve

CODES = np.linspace(0.0, 1.0, 1025)

GAMMA = 2.2
"""Light goes about as this power of a code: a small relative change of a code is so many times as
large a change of light."""

LUMA = np.array([0.299, 0.587, 0.114])
"""Weights of red, green and blue codes in JPEG's luma (JFIF; Rec. ITU-R BT.601)."""


def luma_light(light: NDArray[np.float64]) -> NDArray[np.float64]:
    """Linear light (...) of the luma of three channels' nominal light (..., 3).

    JPEG keeps luma at full resolution and finely; colour differences it halves and coarsens until
    faint ripples are gone from them. So the profile is read from luma, whatever the filament.
    """
    return srgb_curve(srgb_code(light) @ LUMA)


def with_luma(light: NDArray[np.float64]) -> NDArray[np.float64]:
    """Three channels' nominal ``light`` (..., 3) and that of their luma, (..., 4)."""
    return np.concatenate([light, luma_light(light)[..., None]], axis=-1)


def bend(
    light: NDArray[np.float64],
    contrast: float | NDArray[np.float64],
    power: float | NDArray[np.float64] = 1.0,
    shoulder: float | NDArray[np.float64] = 0.0,
) -> NDArray[np.float64]:
    """Light that a standard reader takes from the file, when the camera raised its contrast.

    The code value c becomes c + contrast c (1 - c) (2 c - 1), the share ``contrast`` of the way to
    the smooth step 3 c^2 - 2 c^3: shadows fall, highlights rise, black and white stay. Before that,
    light is raised to ``power``, a camera that codes by another exponent than the standard's, and c
    becomes c + ``shoulder`` c (1 - c): shadows gain contrast at the cost of highlights.
    """
    return srgb_curve(_bent_code(light, contrast, power, shoulder))


def bend_with_luma(
    light: NDArray[np.float64],
    contrast: float | NDArray[np.float64],
    power: float | NDArray[np.float64],
    shoulder: float | NDArray[np.float64],
) -> NDArray[np.float64]:
    """As :func:`with_luma` of :func:`bend`, (..., 4) for (..., 3), in fewer steps."""
    code = _bent_code(light, contrast, power, shoulder)
    return srgb_curve(np.concatenate([code, (code @ LUMA)[..., None]], axis=-1))


def _bent_code(
    light: NDArray[np.float64],
    contrast: float | NDArray[np.float64],
    power: float | NDArray[np.float64],
    shoulder: float | NDArray[np.float64],
) -> NDArray[np.float64]:
    code = np.minimum(srgb_code(light**power), 1.2)
    code = code + shoulder * code * (1 - code)
    return np.asarray(code + contrast * code * (1 - code) * (2 * code - 1))


def unbend(light: NDArray[np.float64], contrast: float) -> NDArray[np.float64]:
    """The inverse of :func:`bend` for light 0 to 1, any shape."""
    bent = CODES + contrast * CODES * (1 - CODES) * (2 * CODES - 1)
    return srgb_curve(np.interp(srgb_code(light), bent, CODES))
