"""The edges that lie across the coupon's sides in a photo, and which are the face's own."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from scoring.geometry import BLADE
from scoring.registration.outline import Side
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample_face

FINE_PX_PER_MM = 12.0
GROUPS = 10
"""Every side is read in so many parts."""

ROUNDING_MM, SD_ENDS_MM = 0.25, 0.3
"""Printed corners are rounded: both ends of the face look short by an unknown, like amount, and so
well they keep the coupon's length apart."""

LEAST_FOOT_MM, FOOT_SLACK_MM = 0.25, 0.15
"""From which width on a side wall's two edges part, and how well their distance is known."""


def edge_profiles(
    codes: NDArray[np.uint8],
    pose: Pose,
    placement: Placement,
    sides: tuple[Side, ...],
    off: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Derivative across each side, (sides, GROUPS, offsets), averaged along each group of a side.

    Each in the channel that shows the side best.
    """
    per_group = 8
    t = (np.arange(GROUPS * per_group) + 0.5) / (GROUPS * per_group)
    u, w = np.stack([side.across(t, off) for side in sides], axis=1)
    shape = (len(sides), GROUPS, per_group, off.size, 3)
    grouped = sample_face(codes, pose, placement, u.reshape(-1, off.size), w.reshape(-1, off.size))
    grouped = grouped.reshape(shape).mean(axis=2)
    slope = gaussian_filter1d(grouped, 0.08 * FINE_PX_PER_MM, axis=2, order=1)
    channel = np.argmax(np.abs(slope).max(axis=2).mean(axis=1), axis=1)
    return np.stack([one[..., k] for one, k in zip(slope, channel, strict=True)])


def choose_pairs(
    strengths: NDArray[np.float64],
    feet_mm: list[float],
    off: NDArray[np.float64],
    sd_scale: float,
    sd_pair_mm: float,
) -> list[float]:
    """The offset of each side's true edge: opposite sides must lie the known length apart.

    A side wall or a shadow gives a second edge beside the true one; a pair whose spacing differs
    from the coupon's by more than the scale can explain is hardly the coupon (heavy tails: one
    edge may be unseen in a shadow).
    """
    chosen: list[float] = []
    for a, b, length, inset, sd_mm in (
        (0, 1, BLADE.length_mm, 2 * ROUNDING_MM, SD_ENDS_MM),
        (2, 3, BLADE.height_mm, 0.0, sd_pair_mm),
    ):
        peaks_a, peaks_b = (_peaks(strengths[k], off, feet_mm[k]) for k in (a, b))
        best, pair = -np.inf, (0.0, 0.0)
        for pa, sa in peaks_a:
            for pb, sb in peaks_b:
                stretch = (pa + pb + inset) / np.hypot(sd_scale * length, sd_mm)
                score = np.log(sa) + np.log(sb) - 1.5 * np.log1p(stretch**2)
                if score > best:
                    best, pair = score, (pa, pb)
        chosen.extend(pair)
    return chosen


def _peaks(
    strength: NDArray[np.float64], off: NDArray[np.float64], foot_mm: float
) -> list[tuple[float, float]]:
    """Places of a side's five boldest edges and how well each would do as the face's own.

    Where the side wall is seen its foot makes an edge too, ``foot_mm`` outside the face's: what has
    none there is hardly the face's edge, however bold.
    """
    inner = strength[1:-1]
    peak = (inner >= strength[:-2]) & (inner > strength[2:])
    places = np.flatnonzero(peak) + 1
    top = places[np.argsort(strength[places])[::-1][:5]]
    if top.size == 0:
        top = np.array([int(np.argmax(strength))])
    bold = strength + 1e-6
    fit = bold[top]
    if foot_mm > LEAST_FOOT_MM:
        wide = maximum_filter1d(bold, round(2 * FOOT_SLACK_MM * FINE_PX_PER_MM) | 1)
        fit = fit * np.interp(off[top] + foot_mm, off, wide, right=np.median(bold)) / bold.max()
    return [(float(off[k]), float(f)) for k, f in zip(top, fit, strict=True)]
