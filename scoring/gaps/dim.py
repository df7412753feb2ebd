"""What is dark after the details without being a gap: faint gaps below the threshold."""

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.boundaries import Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Evidence, Gaps
from scoring.geometry import BLADE
from scoring.photo.opencv import cv2

DIM_SD = 3.0
BESIDE = np.ones((3, 5), np.uint8)
"""What lies so near to a gap, in layers and columns, is taken for part of it."""


def measure_dim_mm2(
    gaps: Gaps,
    open_mm: NDArray[np.float64],
    evidence: Evidence,
    boundaries: Boundaries,
    columns: Columns,
) -> float:
    """Open area ``open_mm`` (K, C) of the recovery zone where it is clearly dark, beside no gap.

    What the same area of the steady zone holds of it is taken off, as steps between layers throw
    shadows all along. 0 where that is more, or where gaps leave nothing to compare.
    """
    apart = cv2.dilate((gaps.member > 0).astype(np.uint8), BESIDE) == 0
    dim = np.where(evidence.depth > DIM_SD * evidence.sd, open_mm, 0.0)
    zones = BLADE.recovery_zone_u_mm, BLADE.steady_zone_u_mm
    seen = [apart & boundaries.in_band[:, None] & columns.inside(zone) for zone in zones]
    if not all(part.any() for part in seen):
        return 0.0
    after, steady = (float(dim[part].mean()) for part in seen)
    return max(0.0, after - steady) * float(seen[0].sum()) * columns.width_mm
