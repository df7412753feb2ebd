"""How far past the details the gaps last."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.estimate import Estimate
from scoring.gaps.boundaries import Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Gaps
from scoring.geometry import BLADE
from scoring.motion import Motion

WINDOW_MM = 2.0
PEAK_SHARE = 0.1


@dataclass(frozen=True)
class OpenProfile:
    """Open share of the measured band along u.

    ``share`` (C,) is each column's, over ``u_mm`` (C,); ``moving`` (C,) its 2 mm moving mean, the
    window kept inside the columns' segment.
    """

    u_mm: NDArray[np.float64]
    share: NDArray[np.float64]
    moving: NDArray[np.float64]
    width_mm: float

    def mean_over(self, zone_u_mm: tuple[float, float]) -> float:
        """Open area of a zone over the zone's area."""
        inside = (self.u_mm >= zone_u_mm[0]) & (self.u_mm <= zone_u_mm[1])
        return max(0.0, float(self.share[inside].mean()))


def profile_openness(
    open_mm: NDArray[np.float64], gaps: Gaps, boundaries: Boundaries, columns: Columns
) -> OpenProfile:
    """Add up the open heights ``open_mm`` (K, C) of the gaps in each column."""
    low, high = BLADE.measured_band_w_mm
    counted = (gaps.member > 0) & boundaries.in_band[:, None]
    share = (open_mm * counted).sum(axis=0) / (high - low)
    return OpenProfile(columns.u_mm, share, columns.smooth(share, WINDOW_MM), columns.width_mm)


def find_recovery_mm(profile: OpenProfile, *, peak_share: float = PEAK_SHARE) -> float:
    """Distance from the zone's start to where the moving mean last exceeds a share of its peak.

    The windows lie inside the recovery zone. 0 where nothing is open.
    """
    begin, end = BLADE.recovery_zone_u_mm
    inside = (profile.u_mm >= begin) & (profile.u_mm <= end)
    share = np.maximum(profile.share[inside], 0.0)
    edges = begin + np.arange(share.size + 1) * (end - begin) / share.size
    total = np.concatenate([[0.0], np.cumsum(share)]) * (end - begin) / share.size
    half = WINDOW_MM / 2
    centres = np.arange(begin + half, end - half, profile.width_mm / 2)
    upper, lower = np.interp(centres + half, edges, total), np.interp(centres - half, edges, total)
    moving = (upper - lower) / WINDOW_MM
    if moving.max() <= 0:
        return 0.0
    return float(centres[np.flatnonzero(moving > peak_share * moving.max())[-1]] - begin)


def time_recovery(recovery_mm: Estimate, motion: Motion) -> Estimate:
    """Seconds from the zone's start to the recovery's end, leaving it at the corner speed."""
    ends = np.array([recovery_mm.value, recovery_mm.low, recovery_mm.high])
    return Estimate(*(float(s) for s in motion.time_at(ends)))
