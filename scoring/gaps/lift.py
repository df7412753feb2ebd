"""Where between the layer lines the dark of this photo's gaps lies."""

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.boundaries import LIFT_PITCH, Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import LEAST_CLEAR_MM, Evidence
from scoring.geometry import BLADE

OFFSETS_PITCH = np.arange(-0.9, 1.0, 0.1)
"""Two pitches: a gap whose dark two boxes share is marked at either of them, or at both."""

CLEAR_RATIO = 2.5
USUAL_PITCH, USUAL_REACH = 0.08, 0.15
"""Where a slot in the middle between two beads is darkest, and how far off that still is usual."""

LEAST_CONCENTRATED = 0.3
EVERY = 8


def find_lift(evidence: Evidence, boundaries: Boundaries, columns: Columns) -> float:
    """How far above its boundary the dark of a gap lies, in pitches, -0.5 to 0.5.

    A starved bead may be thin above or below, so that the slot lies on either side of the boundary
    that the layer lines tell; a box that cuts it in two finds two gaps for one. The mean dark of
    clear gaps by its place in the pitch, taken as a circle, says where to put the boxes' middle.
    ``LIFT_PITCH`` where that is near the usual, with less than 10 mm of clear gaps, or where their
    dark lies nowhere in particular, or nothing beside them is closed.
    """
    zone = columns.inside(BLADE.recovery_zone_u_mm)
    clear = (evidence.ratio > CLEAR_RATIO) & zone
    if clear.sum() * columns.width_mm < LEAST_CLEAR_MM:
        return LIFT_PITCH
    closed = (np.abs(evidence.depth) < evidence.sd) & zone
    closed[:, np.arange(zone.size) % EVERY > 0] = False  # there are plenty
    if not closed.any():
        return LIFT_PITCH
    light, lit = (_mean_light(places, boundaries, columns) for places in (clear, closed))
    dark = 1 - light / np.maximum(lit, 1e-6)
    dark = np.maximum(dark - np.median(dark), 0.0)
    turn = (dark * np.exp(2j * np.pi * OFFSETS_PITCH)).sum()
    if abs(turn) < LEAST_CONCENTRATED * dark.sum():
        return LIFT_PITCH
    lift = float(np.angle(turn)) / (2 * np.pi)
    return LIFT_PITCH if abs(lift - USUAL_PITCH) < USUAL_REACH else lift


def _mean_light(
    places: NDArray[np.bool_], boundaries: Boundaries, columns: Columns
) -> NDArray[np.float64]:
    """Mean light at each of ``OFFSETS_PITCH`` from the boundary, over ``places`` (K, C)."""
    row, column = np.nonzero(places)
    at_mm = boundaries.at_mm[row, column] + OFFSETS_PITCH[:, None] * boundaries.pitch_mm
    at = (columns.w0_mm - at_mm) * columns.px_per_mm
    last = columns.light.shape[0] - 2
    above = np.clip(np.floor(at).astype(np.intp), 0, last)
    part = at - above
    light = columns.light[above, column] * (1 - part) + columns.light[above + 1, column] * part
    return np.asarray(light.mean(axis=1), np.float64)
