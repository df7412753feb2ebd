"""Frequency and damping beside those of the trade's own method, from a control library.

The eigensystem realization algorithm (Juang and Pappa 1985, doi:10.2514/3.20031) reads the poles
from a free decay; ``control.damp`` turns poles into natural frequencies and damping ratios.
"""

import control
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from scoring.motion import Motion
from scoring.ripple.components import Damped, follow, slopes
from scoring.ripple.fit import Problem
from scoring.ripple.search import find_components
from tests.ripple.cramer_rao import Mode, bound_sd, slope_jacobian
from tests.ripple.synthetic import COTANGENT, synthesise

FLAT = Motion(150, 200_000, 150)
TRUTH = (Damped(52, 0.03, 0.010, -0.003), Damped(80, 0.06, 0.004, 0.006))
END_U_MM = 66.0
"""The facets lie beyond."""


def _by_realization(
    free_decay: NDArray[np.float64], step_s: float, modes: int
) -> NDArray[np.float64]:
    """Frequency in Hz and damping ratio (M, 2), the slowest mode first."""
    rows = len(free_decay) // 2 - 1
    # The first value of a response to an impulse is the feedthrough, which a decay has not.
    response = np.concatenate([[0.0], free_decay])
    system, _ = control.eigensys_realization(response, 2 * modes, m=rows, n=rows, dt=step_s)
    omega, ratio, poles = control.damp(system, doprint=False)
    upper = poles.imag > 0
    order = np.argsort(omega[upper])
    return np.stack([omega[upper][order] / (2 * np.pi), ratio[upper][order]], axis=1)


def _by_us(problem: Problem) -> NDArray[np.float64]:
    modes = sorted(find_components(problem).solution.modes, key=lambda c: c.frequency_hz)
    return np.array([[c.frequency_hz, c.damping_ratio] for c in modes])


def _free_decay(problem: Problem) -> tuple[NDArray[np.float64], float]:
    """The slope in the light at constant speed, and its step in seconds."""
    seen = problem.track.u_mm < END_U_MM
    time = problem.track.time_s[seen]
    return (np.exp(problem.mean_log[seen]) - 1) / COTANGENT, float(time[1] - time[0])


@pytest.mark.parametrize("truth", [TRUTH[:1], TRUTH])
def test_without_noise_both_read_the_same(truth: tuple[Damped, ...]) -> None:
    problem = synthesise(np.random.default_rng(0), truth, FLAT, noise=1e-6)
    theirs = _by_realization(*_free_decay(problem), len(truth))
    assert _by_us(problem) == pytest.approx(theirs, rel=1e-3)
    assert theirs[:, 0] == pytest.approx([c.frequency_hz for c in truth], rel=1e-4)
    assert theirs[:, 1] == pytest.approx([c.damping_ratio for c in truth], rel=1e-3)


def test_accelerating_ripple_is_a_free_decay_in_time() -> None:
    """Heights' rate of change at even times, through a spline: frequency hangs on no speed."""
    motion = Motion(150, 800, 5)
    problem = synthesise(np.random.default_rng(0), TRUTH, motion, noise=1e-6)
    u = np.arange(4, END_U_MM, 0.02)
    track = follow(motion, u)
    even_s = np.linspace(0, track.time_s[-1], 300)
    rate = CubicSpline(track.time_s, slopes(TRUTH, track) * track.speed_mm_s)(even_s)
    theirs = _by_realization(rate, float(even_s[1]), 2)
    assert _by_us(problem) == pytest.approx(theirs, rel=2e-3)


def test_in_noise_both_agree_within_what_noise_allows() -> None:
    """Both err by the same noise, so they part by less than its bound lets either err (a third of
    it when written); and neither lies to one side of the other by more than chance."""
    noise, runs = 0.02, 12
    modes = tuple(
        Mode(c.frequency_hz, c.damping_ratio, c.envelope_mm, float(-np.arctan2(c.b_mm, c.a_mm)))
        for c in TRUTH
    )
    apart = []
    for seed in range(runs):
        problem = synthesise(np.random.default_rng(seed), TRUTH, FLAT, noise=noise)
        theirs = _by_realization(*_free_decay(problem), len(TRUTH))
        apart.append(np.log(_by_us(problem) / theirs))
    track = follow(FLAT, np.arange(4, END_U_MM, 0.1))
    jacobian = COTANGENT * slope_jacobian(modes, track.time_s, track.speed_mm_s)
    bound = bound_sd(jacobian, noise / np.sqrt(18)).reshape(2, 4)[:, :2]
    scaled = np.array(apart) / bound
    assert (np.sqrt(np.mean(scaled**2, axis=0)) < 1).all()
    assert (np.abs(scaled.mean(axis=0)) < 3 * scaled.std(axis=0, ddof=1) / np.sqrt(runs)).all()
