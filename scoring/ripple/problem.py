"""From calibrated strips to the least-squares problem of the ripple."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.motion import Motion
from scoring.registration.facets import facet_slope
from scoring.registration.place import PlacedCoupon
from scoring.ripple.components import follow
from scoring.ripple.fit import Problem
from scoring.shading.account import Shading
from scoring.shading.gather import FACET_MARGIN_MM
from scoring.shading.profile import StripProfiles
from scoring.shading.response import tabulate_response

FIT_U_MM = (3.5, 93.0)
BIN_MM = 0.1
"""Columns are averaged to about this; the averaging counts as line spread."""

FREE_DEGREE, MOST_HALF_WAVES = 4, 18
SD_BASE = 0.012
"""Log light of the baseline's waves a quarter of the face long; shorter ones are ever smaller."""

SHADED = 0.5
"""A column so much darker than most lies on a flank that the lamp hardly reaches: there light no
longer follows slope. A ripple is told by the rest of its waves."""

MIN_VALID_STRIPS = 0.5
MIN_LIGHT = 1e-6


def pose_problem(
    placed: PlacedCoupon, strips: StripProfiles, shading: Shading, motion: Motion
) -> Problem:
    """Take tone curve, lamp and level out of the strips; ripple and a small baseline are left.

    Columns at facet edges, clipped in most strips, or in a steep ripple's own shadow get no weight.
    """
    strips = _coarsen(strips)
    u = strips.u_mm
    light = strips.light[..., 3]
    response = tabulate_response(shading, placed.placement, placed.camera_mm, u_mm=u)
    valid = strips.valid & (light > MIN_LIGHT)
    log_light = np.log(np.maximum(light, MIN_LIGHT)) - response.level_log
    log_light = level_strips(log_light, valid)
    weight = weigh_columns(log_light, valid)
    mean_log = (log_light * valid).sum(axis=0) / np.maximum(valid.sum(axis=0), 1)
    weight[mean_log - np.median(mean_log) < np.log(SHADED)] = 0.0
    for facet in BLADE.facets:
        for edge in facet.u_mm:
            weight[np.abs(u - edge) < FACET_MARGIN_MM] = 0.0
    step = float(u[1] - u[0])
    base, base_sd = baseline(u)
    return Problem(
        track=follow(motion, u),
        log_light=log_light,
        valid=valid,
        weight=weight,
        base=base,
        base_sd=base_sd,
        facet_slope=facet_slope(u),
        response=response,
        blur_px=float(np.hypot(resampled_blur_mm(placed), step / np.sqrt(12))) / step,
    )


def resampled_blur_mm(placed: PlacedCoupon) -> float:
    """Standard deviation of the rectified face's line spread."""
    # Reading between two pixels averages them: a sixth of a pixel squared, on the whole.
    return float(np.hypot(placed.blur_mm, 1 / (np.sqrt(6) * placed.px_per_mm)))


def level_strips(log_light: NDArray[np.float64], valid: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Strips (K, N) with each one's own level removed."""
    count = np.maximum(valid.sum(axis=1, keepdims=True), 1)
    return np.asarray(log_light - (log_light * valid).sum(axis=1, keepdims=True) / count)


def weigh_columns(log_light: NDArray[np.float64], valid: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Inverse variance (N,) of the strips' mean, zero where too few strips are valid."""
    seen = valid.sum(axis=0)
    mean = (log_light * valid).sum(axis=0) / np.maximum(seen, 1)
    spread = max(float(np.median(np.std(log_light - mean, axis=0))), 1e-5)
    return np.where(seen < MIN_VALID_STRIPS * len(log_light), 0.0, seen / spread**2)


def baseline(u_mm: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Columns (N, B) of a smooth baseline over ``u_mm`` (N,), and the likely size (B,) of each.

    A quartic, free, takes what lamp and lens leave; cosines down to 10 mm, held ever smaller, take
    warp and reflections, which would otherwise pass for slow vibrations.
    """
    x = 2 * (u_mm - FIT_U_MM[0]) / (FIT_U_MM[1] - FIT_U_MM[0]) - 1
    quartic = np.polynomial.chebyshev.chebvander(x, FREE_DEGREE)
    orders = np.arange(FREE_DEGREE + 1, MOST_HALF_WAVES + 1)
    cosines = np.cos(np.pi * orders * (x[:, None] + 1) / 2)
    sizes = SD_BASE * (FREE_DEGREE / orders) ** 3
    columns = np.concatenate([quartic, cosines], axis=1)
    return np.asarray(columns), np.concatenate([np.full(FREE_DEGREE + 1, 1.0), sizes])


def _coarsen(strips: StripProfiles) -> StripProfiles:
    """The fitted part of u, neighbouring columns averaged to about 0.1 mm."""
    step = float(strips.u_mm[1] - strips.u_mm[0])
    size = max(1, round(BIN_MM / step))
    inside = (strips.u_mm > FIT_U_MM[0]) & (strips.u_mm < FIT_U_MM[1])
    first, count = int(np.argmax(inside)), int(np.count_nonzero(inside)) // size
    # Every size-th column from each start on: numpy adds up along a short axis slowly.
    apart = [slice(first + k, first + k + count * size, size) for k in range(size)]
    return replace(
        strips,
        u_mm=np.asarray(sum(strips.u_mm[s] for s in apart) / size),
        light=np.asarray(sum(strips.light[:, s] for s in apart) / size),
        valid=np.logical_and.reduce([strips.valid[:, s] for s in apart]),
    )
