"""How many gaps there are, and how long the longest is."""

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.boundaries import Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Gaps
from scoring.geometry import BLADE


def measure_lengths_mm(
    gaps: Gaps, boundaries: Boundaries, columns: Columns, *, lost_mm: float
) -> NDArray[np.float64]:
    """Length along u of each gap in the measured band of the recovery zone, cut to it.

    (G,), 0 for gaps elsewhere. ``lost_mm`` is what marking leaves out at both ends together.
    """
    begin, end = BLADE.recovery_zone_u_mm
    half = columns.width_mm / 2
    first, last = columns.u_mm[gaps.first] - half, columns.u_mm[gaps.last] + half
    inside = boundaries.in_band[gaps.row] & (last > begin) & (first < end)
    first = np.maximum(first - lost_mm / 2, begin)
    last = np.minimum(last + lost_mm / 2, end)
    return np.asarray(np.where(inside, last - first, 0.0))
