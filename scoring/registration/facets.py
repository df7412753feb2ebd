"""Set u by the facets: their edges lie inside the face, where no wall or shadow misleads."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.geometry import BLADE

REACH_MM = 1.2
SOFT_MM = 0.12


def facet_slope(u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The designed slope dy/du of the ring-down face at ``u_mm`` (N,): zero outside the facets."""
    slope = np.zeros_like(u_mm)
    for facet in BLADE.facets:
        slope[(u_mm >= facet.u_mm[0]) & (u_mm < facet.u_mm[1])] = facet.slope
    return slope


def find_shift(u_mm: NDArray[np.float64], log_light: NDArray[np.float64]) -> tuple[float, float]:
    """How far the facets' edges lie from where they should, in mm, and how well they agree.

    ``log_light`` (N,) is the mean log brightness over ``u_mm`` (N,). The steps between facets form
    a code of known signs and sizes; their derivative is matched to the profile's within 1.2 mm.
    The agreement is the correlation at the best shift; near zero means no facets are seen.
    """
    step = float(u_mm[1] - u_mm[0])
    near = (u_mm > BLADE.facets[0].u_mm[0] - 2) & (u_mm < BLADE.facets[-1].u_mm[1] + 2)
    soft = SOFT_MM / step
    seen = gaussian_filter1d(log_light, soft, order=1)[near]
    shifts = np.arange(-REACH_MM, REACH_MM + step / 2, step)
    scores = np.zeros(shifts.size)
    for k, shift in enumerate(shifts):
        code = gaussian_filter1d(facet_slope(u_mm - shift), soft, order=1)[near]
        scores[k] = seen @ code / np.sqrt((seen @ seen) * (code @ code) + 1e-30)
    size = np.abs(scores)
    k = int(np.argmax(size))
    if 0 < k < shifts.size - 1:
        a, b, c = size[k - 1], size[k], size[k + 1]
        bend = a - 2 * b + c
        between = 0.5 * (a - c) / bend if bend < 0 else 0.0
        return float(shifts[k] + between * step), float(scores[k])
    return float(shifts[k]), float(scores[k])
