"""Which components a profile holds: none, one, two or three vibrations, and a steady ripple."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from scoring.ripple.components import (
    Component,
    Damped,
    Steady,
    Track,
    damped_basis,
    steady_basis,
)
from scoring.ripple.fit import Problem, Solution, covariance, predict, refine, start

MAX_MODES = 3
MIN_WAVELENGTH_MM, MAX_WAVELENGTH_MM = 0.6, 22.0
MIN_FREQUENCY_HZ, MAX_FREQUENCY_HZ = 12.0, 260.0
DAMPINGS = (0.02, 0.06, 0.15)
FALSE_ALARM = 1e-4
"""Chance of taking noise for a component, before the number of places looked at is counted."""

REFERENCE_WAVELENGTH_MM, REFERENCE_DAMPING = 3.0, 0.05
"""The ripple whose smallest findable size stands for the photo's detection limit."""

DECIMATE = 3


@dataclass(frozen=True)
class Detection:
    """The chosen solution, its covariance, and the smallest envelope (mm) that would be found."""

    solution: Solution
    covariance: NDArray[np.float64]
    limit_mm: float


def find_components(problem: Problem) -> Detection:
    """Add components one at a time while each is established by the scatter between strips.

    Each round projects a grid of damped vibrations and steady ripples on what is left (the
    maximum-likelihood search for one component), refits everything together, and keeps the new
    component if its amplitude's Wald statistic, from the strips' own scatter, could hardly come
    from noise. None at all is a normal answer.
    """
    solution = start(problem)
    while len(solution.components) < MAX_MODES + 1:
        candidate = _best_candidate(problem, solution)
        if candidate is None:
            break
        grown = Solution(
            solution.exponent,
            solution.curvature,
            solution.base_weights,
            (*solution.components, candidate),
        )
        grown = refine(problem, grown)
        if not _established(problem, grown):
            break
        solution = grown
    spread = covariance(problem, solution)
    return Detection(solution, spread, _limit(problem, solution))


def _established(problem: Problem, solution: Solution) -> bool:
    """Whether every component stands out of the scatter between strips (Hotelling's T^2)."""
    spread = covariance(problem, solution)
    strips = len(problem.log_light)
    at = 2 + len(solution.base_weights)
    for c in solution.components:
        size = len(c.shape())
        part = slice(at + size, at + size + 2)
        amplitude = np.array([c.a_mm, c.b_mm])
        wald = float(amplitude @ np.linalg.pinv(spread[part, part]) @ amplitude)
        f = wald * (strips - 2) / (2 * (strips - 1))
        if stats.f.sf(f, 2, strips - 2) > FALSE_ALARM:
            return False
        at += size + 2
    return True


def _best_candidate(problem: Problem, solution: Solution) -> Component | None:
    """The grid's component that takes most out of the residual, or ``None`` if the grid is empty."""
    every = slice(None, None, DECIMATE)
    track = Track(
        *(v[every] for v in (problem.track.u_mm, problem.track.time_s, problem.track.speed_mm_s))
    )
    slope = _residual_slope(problem, solution)[every]
    weight = np.sqrt(_slope_weight(problem, solution))[every]
    base = np.linalg.qr(problem.base[every] * weight[:, None])[0]
    target = slope * weight
    target = target - base @ (base.T @ target)
    modes = sum(isinstance(c, Damped) for c in solution.components)
    steady = sum(isinstance(c, Steady) for c in solution.components)
    best: tuple[float, Component] | None = None
    if modes < MAX_MODES:
        frequency, damping = _mode_grid(track)
        if frequency.size:
            columns = damped_basis(track, frequency, damping)[1]
            k, gain, (a, b) = _project(columns, weight, base, target)
            best = gain, Damped(float(frequency[k]), float(damping[k]), a, b)
    if steady == 0:
        period = _period_grid(track)
        columns = steady_basis(track, period)[1]
        k, gain, (a, b) = _project(columns, weight, base, target)
        if best is None or gain > 1.02 * best[0]:
            best = gain, Steady(float(period[k]), a, b)
    return best[1] if best else None


def _residual_slope(problem: Problem, solution: Solution) -> NDArray[np.float64]:
    """The slope that the fit does not explain yet, through the response's inverse."""
    empty = Solution(solution.exponent, solution.curvature, solution.base_weights, ())
    facets = predict(problem, empty)
    if solution.components:
        left = problem.mean_log - predict(problem, solution)
        gain = solution.exponent * problem.response.light(problem.facet_slope)[1]
        return np.asarray(left / gain)
    left = problem.mean_log - facets
    light = np.exp(np.clip(left / solution.exponent, -3, 1.2))
    return problem.response.slope(light)


def _slope_weight(problem: Problem, solution: Solution) -> NDArray[np.float64]:
    """Inverse variance of the slope at each column."""
    gain = solution.exponent * problem.response.light(problem.facet_slope)[1]
    return np.asarray(problem.weight * gain**2)


def _mode_grid(track: Track) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Frequencies a quarter of the resolution apart, at each damping."""
    cruise = float(track.speed_mm_s.max())
    low = max(MIN_FREQUENCY_HZ, cruise / MAX_WAVELENGTH_MM)
    high = min(MAX_FREQUENCY_HZ, cruise / MIN_WAVELENGTH_MM)
    if high <= low:
        return np.empty(0), np.empty(0)
    duration = float(track.time_s[-1] - track.time_s[0])
    grid = np.arange(low, high, max(1 / (3 * duration), (high - low) / 400))
    frequency = np.tile(grid, len(DAMPINGS))
    return frequency, np.repeat(np.array(DAMPINGS), grid.size)


def _period_grid(track: Track) -> NDArray[np.float64]:
    length = float(track.u_mm[-1] - track.u_mm[0])
    return np.asarray(1 / np.arange(1 / 8.0, 1 / MIN_WAVELENGTH_MM, 1 / (4 * length)))


def _project(
    columns: NDArray[np.float64],
    weight: NDArray[np.float64],
    base: NDArray[np.float64],
    target: NDArray[np.float64],
) -> tuple[int, float, tuple[float, float]]:
    """The pair of columns that explains most of ``target``: its index, gain and amplitudes."""
    scaled = columns * weight[:, None]
    scaled = scaled - base @ (base.T @ scaled)
    with_target = scaled.T @ target
    c, s = scaled[:, 0::2], scaled[:, 1::2]
    cc, ss, cs = (c * c).sum(axis=0), (s * s).sum(axis=0), (c * s).sum(axis=0)
    tc, ts = with_target[0::2], with_target[1::2]
    determinant = np.maximum(cc * ss - cs**2, 1e-12 * cc * ss + 1e-300)
    a = (ss * tc - cs * ts) / determinant
    b = (cc * ts - cs * tc) / determinant
    gain = a * tc + b * ts
    k = int(np.argmax(gain))
    return k, float(gain[k]), (float(a[k]), float(b[k]))


def reference_ripple(track: Track) -> Damped:
    """A 1 um ripple of the wavelength and damping that detection limits are quoted for."""
    speed = float(track.speed_mm_s.max())
    return Damped(speed / REFERENCE_WAVELENGTH_MM, REFERENCE_DAMPING, 1e-3, 0.0)


def _limit(problem: Problem, solution: Solution) -> float:
    """The envelope, in mm, of a 3 mm ripple of usual damping that would just be established."""
    trial = reference_ripple(problem.track)
    grown = Solution(
        solution.exponent, solution.curvature, solution.base_weights, (*solution.components, trial)
    )
    spread = covariance(problem, grown, shapes_known=True)[-2:, -2:]
    strips = len(problem.log_light)
    f = stats.f.isf(FALSE_ALARM, 2, strips - 2)
    wald = f * 2 * (strips - 1) / (strips - 2)
    return float(np.sqrt(wald * np.trace(spread) / 2))
