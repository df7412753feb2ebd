"""The problem of a drawn check blade: known light, known ripple, known rounding."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.geometry.check_ripple import CHECK_RIPPLE
from scoring.motion import Motion
from scoring.registration.facets import FacetFit, facet_slope
from scoring.ripple.fit import Problem
from scoring.ripple.light import LitFace
from scoring.ripple.problem import pose_problem
from scoring.shading.account import trace_line
from scoring.shading.calibrate import Calibration
from scoring.shading.profile import StripProfiles
from scoring.shading.tone import bend, with_luma
from tests.shading.drawn_card import card_places_mm, photograph, place_drawn
from tests.shading.drawn_shading import PLACEMENT, lamp_at, several, shading_under

STEP_MM = 0.02
U = np.arange(-2.0, 102.0, STEP_MM)
SHARP = place_drawn(photograph(np.full(card_places_mm().shape[:2], 0.4)), PLACEMENT)
PLACED = replace(SHARP, markers=replace(SHARP.markers, blur_px=0.05 * SHARP.px_per_mm))
SHADING = shading_under(lamp_at(azimuth_deg=178, elevation_deg=20, flat_mm=450), contrast=0.15)
STRIPS = 18


def draw_problem(
    amplitudes_um: NDArray[np.float64],
    *,
    rounding_mm: float = 0.0,
    shift_mm: float = 0.0,
    noise: float = 0.0,
    seed: int = 0,
) -> Problem:
    """The problem of a check blade with these amplitudes, one a stretch, flat one included.

    Facets and ripple are rounded alike; ``noise`` is relative, independent for strip and column.
    """
    slope = sum(
        a / 1e3 * CHECK_RIPPLE.waves(s, U - shift_mm)[1][:, 0]
        for a, s in zip(amplitudes_um, CHECK_RIPPLE.stretches, strict=True)
    )
    shown = facet_slope(U) + slope
    if rounding_mm:
        shown = gaussian_filter1d(shown, rounding_mm / STEP_MM, mode="nearest")
    line = trace_line(PLACEMENT, PLACED.camera_mm, U)
    seen = SHADING.channels(SHADING.sight(line), shown)
    # The lens, and reading between pixels (linear interpolation's mean variance, 1/6 px^2).
    spread_mm = np.hypot(PLACED.blur_mm, 1 / (np.sqrt(6) * PLACED.px_per_mm))
    blurred = gaussian_filter1d(seen, spread_mm / STEP_MM, axis=0, mode="nearest")
    rng = np.random.default_rng(seed)
    light = bend(blurred, SHADING.contrast) * (1 + noise * rng.standard_normal((STRIPS, U.size, 1)))
    valid = np.ones((STRIPS, U.size), bool)
    strips = StripProfiles(U, np.arange(float(STRIPS)), with_luma(light), valid, 0.0)
    return pose_problem(PLACED, strips, SHADING, Motion(20, 500))


def lit_face(problem: Problem) -> LitFace:
    """The problem as it stands in a calibrated face whose lamp is 20 degrees up."""
    facets = FacetFit(0.0, 0.0, 0.012, 0.001, 1.0)
    return LitFace(
        problem,
        facets,
        Calibration(SHADING, *[several(SHADING)] * 2),
        2.7,
        np.array([0.015]),
        0.0,
        True,
    )
