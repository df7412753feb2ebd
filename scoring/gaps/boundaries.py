"""The boundaries between layers that are measured, and the light about each."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.columns import Columns
from scoring.gaps.layers import LayerLines
from scoring.geometry import BLADE
from scoring.photo.opencv import cv2

BEYOND_BAND_MM = 0.6
LIFT_PITCH = 0.2
"""The dark of a gap lies this share of a layer above the boundary: under a lamp on the rim's side
the bead above shows its shaded flank."""

SLACK_PITCH = 0.2
SEARCH_PITCH = 0.5


@dataclass(frozen=True)
class Boundaries:
    """K boundaries over C columns, from the plate up.

    ``at_mm`` (K, C) is the w at which each runs, ``edges_mm`` (K + 1, C) encloses one layer pitch
    around the dark of each. ``in_band`` (K,) tells which belong to the measured band.
    """

    at_mm: NDArray[np.float64]
    edges_mm: NDArray[np.float64]
    in_band: NDArray[np.bool_]
    pitch_mm: float

    @property
    def dark_mm(self) -> NDArray[np.float64]:
        """The w at which the dark of each boundary is seen, (K, C)."""
        return np.asarray((self.edges_mm[:-1] + self.edges_mm[1:]) / 2)


def place_boundaries(
    columns: Columns, lines: LayerLines, *, lift_pitch: float = LIFT_PITCH
) -> Boundaries:
    """Every boundary in the measured band, with a few beyond it on either side.

    ``lift_pitch`` is how far above it the dark of a gap lies.
    """
    low, high = BLADE.measured_band_w_mm
    pitch = lines.pitch_mm
    first = int(np.ceil((low - BEYOND_BAND_MM) / pitch))
    last = int(np.floor((high + BEYOND_BAND_MM) / pitch))
    numbers = np.arange(first, last + 1)
    at = lines.boundaries_mm(numbers, columns.u_mm)
    mean, slack = at.mean(axis=1), SLACK_PITCH * pitch
    return Boundaries(
        at_mm=at,
        edges_mm=lines.boundaries_mm(np.append(numbers, last + 1) - 0.5 + lift_pitch, columns.u_mm),
        in_band=(mean >= low - slack) & (mean <= high + slack),
        pitch_mm=pitch,
    )


def mean_light(columns: Columns, boundaries: Boundaries) -> NDArray[np.float64]:
    """Mean light over the pitch around each boundary, (K, C)."""
    rows, count = columns.light.shape
    total = np.zeros((rows + 2, count))
    total[1:-1] = columns.light
    for above, row in pairwise(total):  # row by row: numpy's own sum goes column by column
        np.add(row, above, out=row)
    at = (columns.w0_mm - boundaries.edges_mm) * columns.px_per_mm + 0.5
    at = np.clip(at, 0.0, rows)
    whole = at.astype(np.intp)
    part = at - whole
    flat = total.ravel()
    index = whole * count + np.arange(count)
    upto = flat[index] * (1 - part) + flat[index + count] * part
    return np.asarray((upto[:-1] - upto[1:]) / np.maximum(at[:-1] - at[1:], 1e-6))


def least_light(columns: Columns, boundaries: Boundaries) -> NDArray[np.float64]:
    """Light of the darkest pixel within half a pitch at each boundary, (K, C)."""
    rows = columns.light.shape[0]
    height = max(3, round(SEARCH_PITCH * boundaries.pitch_mm * columns.px_per_mm))
    least = cv2.erode(columns.light, np.ones((height + 1 - height % 2, 1), np.uint8))
    row = np.rint((columns.w0_mm - boundaries.dark_mm) * columns.px_per_mm).astype(np.intp)
    return np.asarray(
        np.take_along_axis(least, np.clip(row, 0, rows - 1), axis=0), dtype=np.float64
    )
