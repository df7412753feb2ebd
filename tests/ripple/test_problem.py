"""Strips of a drawn face made into the least-squares problem they stand for."""

import numpy as np
import pytest

from scoring.geometry import BLADE
from scoring.motion import Motion
from scoring.registration.facets import facet_slope
from scoring.ripple.components import Damped, follow, slopes
from scoring.ripple.fit import Problem, Solution, predict
from scoring.ripple.problem import FIT_U_MM, baseline, pose_problem
from scoring.shading.account import trace_line
from scoring.shading.profile import StripProfiles
from scoring.shading.tone import bend, with_luma
from tests.shading.drawn_card import card_places_mm, photograph, place_drawn
from tests.shading.drawn_shading import PLACEMENT, lamp_at, shading_under

U = np.arange(-2.0, 102.0, 0.05)
MOTION = Motion(150, 5000, 5)
TRUTH = (Damped(60, 0.05, 0.02, -0.01),)
PLACED = place_drawn(photograph(np.full(card_places_mm().shape[:2], 0.4)), PLACEMENT)
SHADING = shading_under(lamp_at(azimuth_deg=178, elevation_deg=20, flat_mm=450), contrast=0.15)
STRIPS = 8


def _pose(
    valid: np.ndarray | None = None,
    *,
    strip_levels: np.ndarray | None = None,
    column_levels: np.ndarray | None = None,
) -> Problem:
    """The problem of noiseless strips with ``TRUTH`` on them."""
    ripple = np.where(U >= 3.0, slopes(TRUTH, follow(MOTION, np.maximum(U, 3.0))), 0.0)
    line = trace_line(PLACEMENT, PLACED.camera_mm, U)
    seen = SHADING.channels(SHADING.sight(line), facet_slope(U) + ripple)
    light = np.tile(bend(seen, SHADING.contrast), (STRIPS, 1, 1))
    if strip_levels is not None:
        light = light * strip_levels[:, None, None]
    if column_levels is not None:
        light = light * column_levels[:, None]
    shown = np.ones((STRIPS, U.size), bool) if valid is None else valid
    strips = StripProfiles(U, np.arange(float(STRIPS)), with_luma(light), shown, 0.0)
    return pose_problem(PLACED, strips, SHADING, MOTION)


def test_the_truth_explains_what_is_left_of_the_light() -> None:
    """Lamp, tone curve and level are out: the known ripple and facets alone remain."""
    problem = _pose()
    told = predict(problem, Solution(1.0, 0.0, np.zeros(problem.base.shape[1]), TRUTH))
    counted = problem.weight > 0
    off = (problem.mean_log - told)[counted]
    contrast = np.ptp(told[counted])
    assert np.std(off) < 0.003 * contrast


def test_columns_are_a_tenth_of_a_millimetre_inside_the_fitted_part() -> None:
    problem = _pose()
    assert np.diff(problem.track.u_mm) == pytest.approx(0.1)
    assert problem.track.u_mm[0] >= FIT_U_MM[0]
    assert problem.track.u_mm[-1] <= FIT_U_MM[1]
    assert problem.log_light.shape == (STRIPS, problem.track.u_mm.size)


def test_brightness_of_whole_strips_does_not_matter() -> None:
    levels = np.linspace(0.9, 1.1, STRIPS)
    plain, uneven = _pose(), _pose(strip_levels=levels)
    # A bent tone curve is not quite scale-free: luma of scaled light is scaled to 1 part in 1000.
    assert uneven.log_light == pytest.approx(plain.log_light, abs=1e-3)


def test_facet_edges_have_no_weight() -> None:
    problem = _pose()
    for facet in BLADE.facets:
        near = np.abs(problem.track.u_mm - facet.u_mm[0]) < 0.3
        assert near.any()
        assert not problem.weight[near].any()


def test_columns_clipped_in_most_strips_have_no_weight() -> None:
    valid = np.ones((STRIPS, U.size), bool)
    valid[:5, (U > 30) & (U < 31)] = False
    valid[:1, (U > 40) & (U < 41)] = False
    problem = _pose(valid)
    u = problem.track.u_mm
    assert not problem.weight[(u > 30.1) & (u < 30.9)].any()
    some, full = problem.weight[(u > 40.1) & (u < 40.9)], problem.weight[(u > 50) & (u < 51)]
    assert some == pytest.approx(full[: some.size] * (STRIPS - 1) / STRIPS)


def test_columns_in_a_ripples_own_shadow_have_no_weight() -> None:
    """A flank that gets a fifth of the light says no more than that it is steep."""
    problem = _pose(column_levels=np.where((U > 5) & (U < 6), 0.2, 1.0))
    u = problem.track.u_mm
    assert not problem.weight[(u > 5.1) & (u < 5.9)].any()
    assert problem.weight[(u > 6.1) & (u < 50)].all()


def test_baseline_holds_slow_changes_only() -> None:
    """A quartic is taken up whole; a wave of 4 mm, a ripple's, hardly at all."""
    u = np.arange(*FIT_U_MM, 0.1)
    columns, sizes = baseline(u)
    assert columns.shape == (u.size, sizes.size)
    x = (u - u.mean()) / 45

    def left(target: np.ndarray) -> float:
        fit = np.linalg.lstsq(columns, target, rcond=None)[0]
        return float(np.std(target - columns @ fit) / np.std(target))

    assert left(1 + x - 2 * x**2 + x**3 + x**4) < 1e-6
    assert left(np.cos(2 * np.pi * u / 4.0)) > 0.95
    assert (np.diff(sizes) <= 0).all()
