"""The least-squares fit: known truth in, truth out, and scatter as it says."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import least_squares

from scoring.motion import Motion
from scoring.ripple.components import Damped, Steady, slopes
from scoring.ripple.fit import (
    SD_CURVATURE,
    Problem,
    Solution,
    covariance,
    evaluate,
    predict,
    refine,
    start,
)
from tests.ripple.synthetic import COTANGENT, synthesise

MOTION = Motion(150, 5000, 5)
TRUTH = (Damped(60, 0.05, 0.02, -0.01), Steady(2.0, 0.002, 0.001))


def _clean(*components: Damped | Steady) -> Problem:
    return synthesise(np.random.default_rng(0), components, MOTION, noise=1e-6)


def _flat(problem: Problem, *components: Damped | Steady) -> Solution:
    return Solution(1.0, 0.0, np.zeros(problem.base.shape[1]), components)


def _refined(problem: Problem, solution: Solution) -> Solution:
    return refine(problem, evaluate(problem, solution)).solution


def test_prediction_of_the_truth_is_the_light() -> None:
    problem = _clean(*TRUTH)
    assert predict(problem, _flat(problem, *TRUTH)) == pytest.approx(problem.mean_log, abs=1e-5)


def test_blur_spreads_light_not_its_logarithm() -> None:
    problem = replace(_clean(*TRUTH), blur_px=3.0)
    light = 1 + COTANGENT * (problem.facet_slope + slopes(TRUTH, problem.track))
    blurred = gaussian_filter1d(light, 3.0, mode="nearest", truncate=3.0)
    assert predict(problem, _flat(problem, *TRUTH)) == pytest.approx(np.log(blurred), abs=1e-5)


def test_blur_halves_the_contrast_at_its_mtf50() -> None:
    """MTF50 of a Gaussian line spread is 0.1873906 / SD (slanted edge, ISO 12233; recomputed)."""
    sd_px, step_mm = 4.0, 0.1
    ripple = Steady(sd_px * step_mm / 0.1873906, 1e-4, 0.0)
    problem = _clean()
    sharp, soft = (
        predict(replace(problem, blur_px=b), _flat(problem, ripple))
        - predict(replace(problem, blur_px=b), _flat(problem))
        for b in (0.0, sd_px)
    )
    inner = (problem.track.u_mm > 10) & (problem.track.u_mm < 60)
    # The kernel is cut at three SD, which costs two thousandths.
    assert soft[inner] @ sharp[inner] == pytest.approx(sharp[inner] @ sharp[inner] / 2, rel=5e-3)


def test_refining_reaches_the_optimum_of_scipy() -> None:
    """scipy's trust-region least squares on the same residuals, from the same start."""
    problem = synthesise(np.random.default_rng(3), TRUTH, MOTION, noise=0.02)
    first = _flat(problem, Damped(62, 0.07, 0.015, 0.0), Steady(2.01, 0.001, 0.0))
    priors = np.concatenate([[1 / problem.exponent_sd, 1 / SD_CURVATURE], 1 / problem.base_sd])
    expected = np.zeros(priors.size)
    expected[0] = problem.exponent

    def residuals(vector: NDArray[np.float64]) -> NDArray[np.float64]:
        off = problem.mean_log - predict(problem, first.moved(vector))
        return np.append(np.sqrt(problem.weight) * off, priors * (vector[: priors.size] - expected))

    best = least_squares(residuals, first.vector(), x_scale="jac", xtol=1e-10, ftol=1e-10)
    ours = _refined(problem, first).vector()
    assert np.sum(residuals(ours) ** 2) == pytest.approx(2 * best.cost, rel=1e-5)
    jacobian = np.asarray(best.jac)
    sd = np.sqrt(np.diag(np.linalg.inv(jacobian.T @ jacobian)))
    assert (np.abs(ours - best.x) < 0.05 * sd).all()


def test_vector_and_solution_are_one_to_one() -> None:
    problem = _clean(*TRUTH)
    solution = _flat(problem, *TRUTH)
    vector = solution.vector() + 0.01
    assert solution.moved(vector).vector() == pytest.approx(vector)


@pytest.mark.parametrize("blur_px", [0.0, 2.0])
def test_truth_comes_back_from_a_start_beside_it(blur_px: float) -> None:
    problem = replace(_clean(), blur_px=blur_px)
    light = predict(problem, _flat(problem, *TRUTH))
    problem = replace(problem, log_light=np.tile(light, (18, 1)))
    beside = (Damped(61, 0.07, 0.015, 0.0), Steady(2.01, 0.001, 0.0))
    found = _refined(problem, _flat(problem, *beside))
    mode, steady = found.components
    assert isinstance(mode, Damped)
    assert isinstance(steady, Steady)
    assert (mode.frequency_hz, mode.damping_ratio) == pytest.approx((60, 0.05), rel=1e-3)
    assert (mode.a_mm, mode.b_mm) == pytest.approx((0.02, -0.01), abs=2e-5)
    assert steady.period_mm == pytest.approx(2.0, rel=1e-4)
    assert found.exponent == pytest.approx(1.0, abs=1e-3)


def test_refining_never_makes_the_fit_worse() -> None:
    problem = synthesise(np.random.default_rng(2), TRUTH, MOTION, noise=0.02)
    before = _flat(problem, Damped(45, 0.1, 0.01, 0.0))
    after = _refined(problem, before)
    left = [
        float(problem.weight @ (problem.mean_log - predict(problem, s)) ** 2)
        for s in (before, after)
    ]
    assert left[1] < left[0]


def test_columns_without_weight_do_not_count() -> None:
    problem = _clean(TRUTH[0])
    spoilt = problem.log_light.copy()
    spoilt[:, 200:230] = 1.0
    weight = problem.weight.copy()
    weight[200:230] = 0.0
    found = _refined(
        replace(problem, log_light=spoilt, weight=weight), _flat(problem, Damped(61, 0.06, 0.02, 0))
    )
    assert np.exp(found.components[0].shape()) == pytest.approx([60, 0.05], rel=1e-3)


def test_start_holds_no_component() -> None:
    assert start(_clean()).solution.components == ()


@pytest.mark.parametrize("coloured_px", [0.0, 2.0])
def test_covariance_is_the_scatter_of_repeated_fits(coloured_px: float) -> None:
    """Monte Carlo over 100 photos: white noise, and noise that hangs together over 0.5 mm.

    A hundred fits know a standard deviation to 7 %; a quarter is over three times that. The
    second noise, of like size, weighs 5.5 times as much at this ripple's wavelength (its
    spectrum, 2 sqrt(pi) s exp(-(k s)^2)), so a formula for white noise would be off by half.
    """
    rng = np.random.default_rng(5)
    truth = Damped(60, 0.05, 0.012, -0.005)
    clean = _clean(truth)
    found, told = [], []
    for _ in range(100):
        noise = rng.normal(0, 0.01, clean.log_light.shape)
        if coloured_px:
            noise = gaussian_filter1d(noise, coloured_px, axis=1)
            noise *= np.sqrt(2 * np.sqrt(np.pi) * coloured_px)
        problem = replace(
            clean, log_light=clean.log_light + noise, weight=np.full_like(clean.weight, 18 / 1e-4)
        )
        fit = refine(problem, evaluate(problem, _flat(problem, truth)))
        found.append(fit.solution.vector()[-4:])
        told.append(np.diag(covariance(problem, fit))[-4:])
    ratio = np.std(found, axis=0, ddof=1) / np.sqrt(np.mean(told, axis=0))
    assert (ratio > 0.75).all()
    assert (ratio < 1.25).all()


def test_known_shapes_have_no_variance() -> None:
    problem = synthesise(np.random.default_rng(6), TRUTH, MOTION)
    fit = refine(problem, evaluate(problem, _flat(problem, *TRUTH)))
    held = covariance(problem, fit, shapes_known=True)
    free = covariance(problem, fit)
    shape_places = [-7, -6, -3]
    assert (np.diag(held)[shape_places] == 0).all()
    assert (np.diag(free)[shape_places] > 0).all()
    assert (np.diag(held)[[-5, -4, -2, -1]] > 0).all()


def test_misfit_of_the_mean_widens_the_covariance() -> None:
    """What all strips share, as marks on the face, is not in their scatter."""
    problem = synthesise(np.random.default_rng(7), (TRUTH[0],), MOTION)
    marks = 0.02 * np.sign(np.sin(problem.track.u_mm * 7.0))
    marked = replace(problem, log_light=problem.log_light + marks)
    plain, wide = (
        covariance(p, refine(p, evaluate(p, _flat(p, TRUTH[0]))))[-1, -1] for p in (problem, marked)
    )
    assert wide > 4 * plain
