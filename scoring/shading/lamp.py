"""One lamp: the light it sends to places on the card, over that to the bay's centre."""

import numpy as np
from numpy.typing import NDArray

from scoring.shading.paper import bay_centre_mm

BAY_CENTRE_MM = bay_centre_mm()

LEAST_AHEAD_MM = 10.0
"""No step of a fit sets a lamp nearer to a place, along its beam."""

_BAY_MM = np.append(BAY_CENTRE_MM, 0.0)


def light_bay(lamp_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The irradiance of lamps (..., 3) on level paper at the bay's centre, of unit intensity."""
    return irradiance(lamp_mm, BAY_CENTRE_MM)


def irradiance(lamp_mm: NDArray[np.float64], card_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The irradiance (...) of lamps (..., 3) on card places (..., 2), 1/mm^2 of unit intensity."""
    away = lamp_mm[..., :2] - card_mm
    height = lamp_mm[..., 2]
    distance2 = away[..., 0] ** 2 + away[..., 1] ** 2 + height**2
    return np.asarray(height / (distance2 * np.sqrt(distance2)))


def intensity(
    lamp_mm: NDArray[np.float64],
    beam: NDArray[np.float64],
    lean: NDArray[np.float64],
    at_mm: NDArray[np.float64],
) -> NDArray[np.float64]:
    """The intensity of lamps (..., 3) towards places (N, 3), card axes, z up; (..., N).

    A lamp in a shade sends most light where it is turned: the ``beam``-th power (...) of the
    cosine from the direction of the bay's centre (0 for a bare bulb, 1 for a matt disc), and where
    it is turned aside of that a gradient ``lean`` (..., 2), per unit across and per unit up, of the
    logarithm (a cosine's power about another axis, to first order). A lamp straight above the bay
    has no side to lean to. A ``beam`` below 0 stands for lamps that send more aside.
    """
    to_bay = _BAY_MM - lamp_mm
    flat = np.maximum(np.hypot(to_bay[..., 0], to_bay[..., 1]), 1e-9)
    x, y = to_bay[..., 0] / flat, to_bay[..., 1] / flat
    across = np.stack([-y, x, np.zeros_like(x)], axis=-1)
    upward = np.stack([-x * to_bay[..., 2], -y * to_bay[..., 2], flat], axis=-1)
    far = np.sqrt(flat**2 + to_bay[..., 2] ** 2)[..., None]
    axes = np.stack([to_bay / far, across, upward / far], axis=-2)
    ahead, aside, up = np.moveaxis(axes @ at_mm.T - (axes @ lamp_mm[..., None]), -2, 0)
    ahead = np.maximum(ahead, LEAST_AHEAD_MM)
    aside, up = aside / ahead, up / ahead
    drop = beam[..., None] / 2 * np.log1p(aside**2 + up**2)
    return np.asarray(np.exp(lean[..., :1] * aside + lean[..., 1:] * up - drop))
