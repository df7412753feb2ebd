"""Where the search looks: damped vibrations and steady ripples over a grid, the baseline aside."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoring.ripple.components import (
    Component,
    Damped,
    Steady,
    Track,
    damped_slopes,
    steady_slopes,
)
from scoring.ripple.fit import Problem, Solution, predict, slope_gain

MAX_MODES = 3
MIN_WAVELENGTH_MM, MAX_WAVELENGTH_MM = 0.4, 22.0
MIN_FREQUENCY_HZ, MAX_FREQUENCY_HZ = 12.0, 260.0
DAMPINGS = (0.03, 0.1)
MAX_FREQUENCIES = 260
STEADY_HANDICAP = 1.02
"""A steady ripple must explain this much more than a vibration to be taken for one first."""

SEARCH_STEP_MM, SAMPLES_A_WAVE = 0.2, 3
"""The search samples this coarsely, and no coarser than so often to the shortest wavelength."""


@dataclass(frozen=True)
class Pairs:
    """F pairs of columns, ``columns`` (n, 2 F), and the products within each pair, (F,)."""

    columns: NDArray[np.float32]
    cc: NDArray[np.float64]
    ss: NDArray[np.float64]
    cs: NDArray[np.float64]

    @staticmethod
    def of(columns: NDArray[np.float32]) -> "Pairs":
        """The pairs of ``columns`` (n, 2 F)."""
        c, s = columns[:, 0::2], columns[:, 1::2]
        cc, ss, cs = (
            np.einsum("nk,nk->k", x, y).astype(np.float64) for x, y in ((c, c), (s, s), (c, s))
        )
        return Pairs(columns, cc, ss, cs)

    def only(self, kept: NDArray[np.bool_]) -> "Pairs":
        """The pairs that are ``kept`` (F,)."""
        columns = self.columns[:, np.repeat(kept, 2)]
        return Pairs(columns, self.cc[kept], self.ss[kept], self.cs[kept])

    def best(self, target: NDArray[np.float64]) -> tuple[int, float, tuple[float, float]]:
        """The pair that explains most of ``target`` (n,): its index, gain and amplitudes."""
        with_target = (target.astype(np.float32) @ self.columns).astype(np.float64)
        tc, ts = with_target[0::2], with_target[1::2]
        most = self.cc * self.ss
        determinant = np.maximum(most - self.cs**2, 1e-12 * most + 1e-300)
        a = (self.ss * tc - self.cs * ts) / determinant
        b = (self.cc * ts - self.cs * tc) / determinant
        gain = a * tc + b * ts
        k = int(np.argmax(gain))
        return k, float(gain[k]), (float(a[k]), float(b[k]))


@dataclass(frozen=True)
class Grid:
    """Slopes of unit components over a grid of frequencies and dampings, and of periods.

    Columns are weighted and freed of the baseline, (n + B, 2 F) and (n + B, 2 P) over the coarse
    samples ``every`` and one row for the likely size of each of B weights of the baseline: a wave
    larger than the baseline may be is left. ``root`` (n,) is the square root of the slope's weight,
    ``base`` (n + B, B) orthonormal.
    """

    every: slice
    root: NDArray[np.float64]
    base: NDArray[np.float64]
    frequency: NDArray[np.float64]
    damping: NDArray[np.float64]
    damped: "Pairs"
    period: NDArray[np.float64]
    steady: "Pairs"

    @staticmethod
    def over(problem: Problem) -> "Grid":
        """The grid that ``problem``'s speed and length ask for."""
        step = float(problem.track.u_mm[1] - problem.track.u_mm[0])
        stride = max(1, int(_search_step_mm(problem.track) / step + 0.01))
        every = slice(None, None, stride)
        full = problem.track
        track = Track(full.u_mm[every], full.time_s[every], full.speed_mm_s[every])
        gain = problem.response.light(problem.facet_slope)[1]
        root = np.sqrt(problem.weight * gain**2)[every]
        seen = problem.base[every] * np.sqrt(problem.weight[every])[:, None]
        likely = np.diag(1 / (problem.base_sd * np.sqrt(stride)))
        base = np.linalg.qr(np.concatenate([seen, likely]))[0]
        thin, size = base.astype(np.float32), root.astype(np.float32)[:, None]

        def free(columns: NDArray[np.float32]) -> Pairs:
            columns *= size
            left = -thin @ (thin[: root.size].T @ columns)
            left[: root.size] += columns
            return Pairs.of(left)

        frequency, damping = _mode_grid(track)
        period = _period_grid(track)
        damped = free(damped_slopes(track, frequency, damping))
        return Grid(
            every,
            root,
            base,
            frequency,
            damping,
            damped,
            period,
            free(steady_slopes(track, period)),
        )

    def without_below(self, frequency_hz: float) -> "Grid":
        """The grid without vibrations slower than ``frequency_hz``."""
        kept = self.frequency > frequency_hz
        return replace(
            self,
            frequency=self.frequency[kept],
            damping=self.damping[kept],
            damped=self.damped.only(kept),
        )

    def best(self, problem: Problem, solution: Solution) -> Component | None:
        """The component that takes most out of the residual; ``None`` where none is left to try."""
        seen = _residual_slope(problem, solution)[self.every] * self.root
        target = -self.base @ (self.base[: seen.size].T @ seen)
        target[: seen.size] += seen
        modes = len(solution.modes)
        found: list[tuple[float, Component]] = []
        if modes < MAX_MODES and self.frequency.size:
            k, gain, (a, b) = self.damped.best(target)
            found.append((gain, Damped(float(self.frequency[k]), float(self.damping[k]), a, b)))
        if modes == len(solution.components):
            k, gain, (a, b) = self.steady.best(target)
            found.append((gain / STEADY_HANDICAP, Steady(float(self.period[k]), a, b)))
        return max(found, key=lambda pair: pair[0])[1] if found else None


def _residual_slope(problem: Problem, solution: Solution) -> NDArray[np.float64]:
    """The slope that facets and components do not explain, through the response's inverse.

    What the baseline took is in it: whether that was ripple is for the search to say.
    """
    smooth = problem.base @ solution.base_weights
    left = problem.mean_log - predict(problem, solution) + smooth - smooth.mean()
    if solution.components:
        return np.asarray(left / slope_gain(problem, solution))
    light = np.exp(np.clip(left / solution.exponent, -3, 1.2))
    return np.asarray(problem.response.slope(light))


def _search_step_mm(track: Track) -> float:
    shortest = max(MIN_WAVELENGTH_MM, float(track.speed_mm_s.max()) / MAX_FREQUENCY_HZ)
    return min(SEARCH_STEP_MM, shortest / SAMPLES_A_WAVE)


def _mode_grid(track: Track) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Frequencies a quarter of the resolution apart, at each damping."""
    cruise = float(track.speed_mm_s.max())
    low = max(MIN_FREQUENCY_HZ, cruise / MAX_WAVELENGTH_MM)
    high = min(MAX_FREQUENCY_HZ, cruise / MIN_WAVELENGTH_MM)
    if high <= low:
        return np.empty(0), np.empty(0)
    duration = float(track.time_s[-1] - track.time_s[0])
    grid = np.arange(low, high, max(1 / (3 * duration), (high - low) / MAX_FREQUENCIES))
    frequency = np.tile(grid, len(DAMPINGS))
    return frequency, np.repeat(np.array(DAMPINGS), grid.size)


def _period_grid(track: Track) -> NDArray[np.float64]:
    length = float(track.u_mm[-1] - track.u_mm[0])
    return np.asarray(1 / np.arange(1 / 8.0, 1 / MIN_WAVELENGTH_MM, 1 / (4 * length)))
