"""How many gaps there are, and how long the longest is."""

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.boundaries import Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Gaps
from scoring.geometry import BLADE


def measure_lengths_mm(gaps: Gaps, boundaries: Boundaries, columns: Columns) -> NDArray[np.float64]:
    """Length along u of each gap in the measured band of the recovery zone, cut to it; (N,)."""
    begin, end = BLADE.recovery_zone_u_mm
    half = columns.width_mm / 2
    first = np.maximum(columns.u_mm[gaps.first] - half, begin)
    last = np.minimum(columns.u_mm[gaps.last] + half, end)
    inside = boundaries.in_band[gaps.row] & (last > first)
    return np.asarray((last - first)[inside])
