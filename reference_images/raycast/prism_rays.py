"""Where rays meet the coupon's prism (numba). Planes (K, 4): normal in u, w, y, and distance."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
Place = Array | tuple[float, float, float]


@njit
def meet_prism(start: Place, ray: Place, longest: float, planes: Array) -> tuple[int, float]:
    """The plane by which ``start + t ray`` (3,) enters, t under ``longest``, and t; else -1."""
    near = 0.0
    far = longest
    face = -1
    for k in range(planes.shape[0]):
        outside = (
            planes[k, 0] * start[0]
            + planes[k, 1] * start[1]
            + planes[k, 2] * start[2]
            - planes[k, 3]
        )
        speed = planes[k, 0] * ray[0] + planes[k, 1] * ray[1] + planes[k, 2] * ray[2]
        if abs(speed) < 1e-12:
            if outside > 0:
                return -1, 0.0
            continue
        t = -outside / speed
        if speed < 0:
            if t > near:
                near = t
                face = k
        elif t < far:
            far = t
        if near >= far:
            return -1, 0.0
    return face, near


@njit
def is_inside(place: Place, planes: Array) -> bool:
    """Whether ``place`` (3,) is in the prism."""
    for k in range(planes.shape[0]):
        height = planes[k, 0] * place[0] + planes[k, 1] * place[1] + planes[k, 2] * place[2]
        if height > planes[k, 3]:
            return False
    return True
