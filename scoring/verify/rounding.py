"""How far the printer rounds small features: read from the facets' edges on the same face."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.geometry import BLADE
from scoring.ripple.fit import Problem, Solution

REACH_MM = 1.2
START_MM2 = 0.01
ROUNDS = 12
SD_BLUR = 0.15
"""Relative doubt of the photo's own blur: it is measured on the card, 12 mm below the face."""

SD_UNSEEN_MM2 = 0.003
"""On drawn photos of known rounding the steps show 0.001 more, unexplained; three times that is
left in doubt."""

SD_LIKENESS = 0.3
"""How far a wave's rounding may differ from an edge's, as a share of it: no source, a caution."""

LEAST_STEP, LEAST_SPREAD_PX = 1e-4, 0.01


@dataclass(frozen=True)
class Rounding:
    """The printer's line spread along u: its variance in mm^2 and that one's standard deviation."""

    variance_mm2: float
    sd_mm2: float

    @property
    def spread_mm(self) -> float:
        """Standard deviation of the line spread, in mm."""
        return float(np.sqrt(self.variance_mm2))

    def kept(self, wavelength_mm: float) -> tuple[float, float]:
        """The share of a wave's amplitude that is printed, 0 to 1, and its standard deviation.

        A Gaussian of variance s leaves exp(-s k^2 / 2) of a wave of wavenumber k; any narrow
        spread does so to first order, whatever its shape.
        """
        half = (2 * np.pi / wavelength_mm) ** 2 / 2
        share = float(np.exp(-half * self.variance_mm2))
        sd = float(np.hypot(half * self.sd_mm2 * share, SD_LIKENESS * (1 - share)))
        return share, sd


def measure_rounding(problem: Problem, solution: Solution) -> Rounding:
    """The rounding that the steps between facets show beyond the photo's blur.

    Least squares over the mean profile within 1.2 mm of each step: one variance for all, a place
    and a level for each; the scatter between strips is its doubt. Never negative.
    """
    u = problem.track.u_mm
    edges = _steps(u)
    parts = [np.abs(u - edge) < REACH_MM for edge in edges]
    near = np.logical_or.reduce(parts)
    base = problem.base @ solution.base_weights
    count = np.maximum(problem.valid.sum(axis=0), 1)

    def linearise(variance: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The predicted log light (M,) near the steps, and the pull (M,) of each column on it."""
        told = _predict(problem, solution, variance)
        more = _predict(problem, solution, variance + LEAST_STEP)
        moved = np.gradient(told, u)
        columns = [(more - told) / LEAST_STEP]
        columns += [column * part for part in parts for column in (moved, np.ones_like(u))]
        return (base + told)[near], np.linalg.pinv(np.stack(columns, axis=1)[near])[0]

    variance = START_MM2
    for _ in range(ROUNDS):
        told, pull = linearise(variance)
        variance = max(variance + float(pull @ (problem.mean_log[near] - told)), 0.0)
    told, pull = linearise(variance)
    off = (problem.log_light[:, near] - told) * problem.valid[:, near] / count[near]
    each = off @ pull * len(off)
    scatter = float(np.std(each, ddof=1) / np.sqrt(len(each)))
    step = float(u[1] - u[0])
    blur_mm2 = (problem.blur_px * step) ** 2
    doubts = [scatter, 2 * SD_BLUR * blur_mm2, SD_UNSEEN_MM2]
    return Rounding(variance, float(np.linalg.norm(doubts)))


def _steps(u_mm: NDArray[np.float64]) -> list[float]:
    """Places between facets that lie inside the fitted part with room on either side."""
    return [f.u_mm[0] for f in BLADE.facets[1:] if f.u_mm[0] + REACH_MM < u_mm[-1]]


def _predict(problem: Problem, solution: Solution, variance_mm2: float) -> NDArray[np.float64]:
    """Log light (N,) of the facets rounded by ``variance_mm2``, as the photo blurs it."""
    step = float(problem.track.u_mm[1] - problem.track.u_mm[0])
    spread_px = max(float(np.sqrt(variance_mm2)) / step, LEAST_SPREAD_PX)
    slope = gaussian_filter1d(problem.facet_slope, spread_px, mode="nearest", truncate=6)
    light = gaussian_filter1d(
        problem.response.light(slope)[0], problem.blur_px, mode="nearest", truncate=6
    )
    x = np.log(np.maximum(light, 1e-3))
    return np.asarray(solution.exponent * x + solution.curvature * x**2)
