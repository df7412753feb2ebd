"""Where the search looks: damped vibrations and steady ripples over a grid, the baseline aside."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from scoring.ripple.components import (
    START_U_MM,
    Component,
    Damped,
    Steady,
    Track,
    find_pole,
)
from scoring.ripple.fit import Fit, Problem, slope_gain

MAX_MODES = 3
MIN_WAVELENGTH_MM, MAX_WAVELENGTH_MM, MAX_PERIOD_MM = 0.4, 22.0, 8.0
MIN_FREQUENCY_HZ, MAX_FREQUENCY_HZ = 12.0, 260.0
DAMPINGS = (0.03, 0.1)
MAX_FREQUENCIES = 260
STEADY_HANDICAP = 1.02
"""A steady ripple must explain this much more than a vibration to be taken for one first."""

SEARCH_STEP_MM, SAMPLES_A_WAVE = 0.2, 3
"""The search samples this coarsely, and no coarser than so often to the shortest wavelength."""

STEADY_OVERSAMPLING = 4
"""Steady ripples are looked for so many to the resolution."""

FINE_TURNS = 16


@dataclass(frozen=True)
class Waves:
    """K waves exp(pole x) over n samples: the slopes of vibrations in time, of steady ripples in u.

    ``pole`` (K,); ``against`` gives the products (R, K) of rows (R, n) with the weighted waves;
    ``cc``, ``ss`` and ``cs`` (K,) are those of the waves' real and imaginary parts, once freed of
    the baseline, with each other.
    """

    pole: NDArray[np.complex128]
    against: Callable[[NDArray[np.float64]], NDArray[np.complexfloating[Any, Any]]]
    cc: NDArray[np.float64]
    ss: NDArray[np.float64]
    cs: NDArray[np.float64]

    @staticmethod
    def vibrations(track: Track, size: NDArray[np.float64], base: NDArray[np.float64]) -> "Waves":
        """Vibrations over the grid times ``size`` (n,); ``base`` (B, n) is the baseline's."""
        pole = _mode_poles(track)
        waves = np.empty((track.time_s.size, *pole.shape), np.complex64)
        for k, row in enumerate(pole):
            _turn_evenly(row, track.time_s, size, out=waves[:, k])
        pairs = waves.reshape(track.time_s.size, -1).view(np.float32)

        def against(rows: NDArray[np.float64]) -> NDArray[np.complex64]:
            return (rows.astype(np.float32) @ pairs).view(np.complex64)

        c, s = pairs[:, ::2], pairs[:, 1::2]
        cc, ss, cs = (np.einsum("nk,nk->k", x, y) for x, y in ((c, c), (s, s), (c, s)))
        return Waves(pole.ravel(), against, cc, ss, cs)._freed_of(base)

    @staticmethod
    def steady(track: Track, size: NDArray[np.float64], base: NDArray[np.float64]) -> "Waves":
        """Steady ripples from the first sample on, the same way. Samples lie evenly."""
        length = STEADY_OVERSAMPLING * (size.size - 1)
        apart = 1 / (STEADY_OVERSAMPLING * float(track.u_mm[-1] - track.u_mm[0]))
        per_mm = np.arange(1 / MAX_PERIOD_MM, 1 / MIN_WAVELENGTH_MM, apart)
        pole = np.asarray(2j * np.pi * per_mm, np.complex128)
        first = size * np.exp(-pole[0] * (track.u_mm - track.u_mm[0]))

        def against(rows: NDArray[np.float64]) -> NDArray[np.complex128]:
            return np.asarray(fft.fft(rows * first, length)[:, : pole.size].conj())

        # cos^2 and sin^2 are the half of 1 plus and minus a wave of twice the turns.
        twice = fft.fft(first**2, length)[2 * np.arange(pole.size) % length].conj()
        even = float(size @ size)
        cc, ss, cs = (even + twice.real) / 2, (even - twice.real) / 2, twice.imag / 2
        return Waves(pole, against, cc, ss, cs)._freed_of(base)

    def only(self, kept: NDArray[np.bool_]) -> "Waves":
        """The waves that are ``kept`` (K,)."""
        return Waves(
            self.pole[kept],
            lambda rows: self.against(rows)[:, kept],
            self.cc[kept],
            self.ss[kept],
            self.cs[kept],
        )

    def best(self, target: NDArray[np.float64]) -> tuple[float, complex, complex]:
        """The wave that explains most of ``target`` (n,), which is free of the baseline.

        How much it explains, its pole, and what to multiply it by for its real part to do so.
        """
        seen = self.against(target[None])[0].astype(np.complex128)
        most = self.cc * self.ss
        determinant = np.maximum(most - self.cs**2, 1e-12 * most + 1e-300)
        a = (self.ss * seen.real - self.cs * seen.imag) / determinant
        b = (self.cc * seen.imag - self.cs * seen.real) / determinant
        gain = a * seen.real + b * seen.imag
        k = int(np.argmax(gain))
        return float(gain[k]), complex(self.pole[k]), complex(a[k], -b[k])

    def _freed_of(self, base: NDArray[np.float64]) -> "Waves":
        on_base = self.against(base).astype(np.complex128)
        c, s = on_base.real, on_base.imag
        return replace(
            self,
            cc=self.cc - (c * c).sum(axis=0),
            ss=self.ss - (s * s).sum(axis=0),
            cs=self.cs - (c * s).sum(axis=0),
        )


@dataclass(frozen=True)
class Grid:
    """Slopes of components over a grid of frequencies and dampings, and of periods.

    Over the coarse samples ``every`` and one row for the likely size of each of B weights of the
    baseline, (n + B), so that a wave larger than the baseline may be is left: ``base`` (n + B, B)
    is orthonormal. ``root`` (n,) is the square root of the slope's weight.
    """

    every: slice
    root: NDArray[np.float64]
    base: NDArray[np.float64]
    damped: Waves
    steady: Waves

    @staticmethod
    def over(problem: Problem) -> "Grid":
        """The grid that ``problem``'s speed and length ask for."""
        step = float(problem.track.u_mm[1] - problem.track.u_mm[0])
        stride = max(1, int(_search_step_mm(problem.track) / step + 0.01))
        every = slice(None, None, stride)
        full = problem.track
        track = Track(full.u_mm[every], full.time_s[every], full.speed_mm_s[every])
        root = np.sqrt(problem.weight * problem.facet_rate**2)[every]
        seen = problem.base[every] * np.sqrt(problem.weight[every])[:, None]
        likely = np.diag(1 / (problem.base_sd * np.sqrt(stride)))
        base = np.linalg.qr(np.concatenate([seen, likely]))[0]
        seen = base[: root.size].T
        return Grid(
            every,
            root,
            base,
            Waves.vibrations(track, root / track.speed_mm_s, seen),
            Waves.steady(track, root, seen),
        )

    def without_below(self, frequency_hz: float) -> "Grid":
        """The grid without vibrations slower than ``frequency_hz``."""
        return replace(
            self, damped=self.damped.only(np.abs(self.damped.pole) > 2 * np.pi * frequency_hz)
        )

    def best(self, problem: Problem, fit: Fit) -> Component | None:
        """The component that takes most out of the residual; ``None`` where none is left to try."""
        seen = _residual_slope(problem, fit)[self.every] * self.root
        target = seen - self.base[: seen.size] @ (self.base[: seen.size].T @ seen)
        modes = len(fit.solution.modes)
        found: list[tuple[float, Component]] = []
        if modes < MAX_MODES and self.damped.pole.size:
            gain, pole, slope = self.damped.best(target)
            found.append((gain, Damped.of(pole, slope / pole)))
        if modes == len(fit.solution.components):
            gain, pole, slope = self.steady.best(target)
            from_start = START_U_MM - float(problem.track.u_mm[0])
            steady = Steady.of(pole, slope * np.exp(pole * from_start) / pole)
            found.append((gain / STEADY_HANDICAP, steady))
        return max(found, key=lambda pair: pair[0])[1] if found else None


def _turn_evenly(
    pole: NDArray[np.complex128],
    x: NDArray[np.float64],
    size: NDArray[np.float64],
    *,
    out: NDArray[np.complex64],
) -> None:
    """Put ``size`` (n,) times exp(pole x) into ``out`` (n, K), for evenly spaced poles (K,).

    Each is a coarse turn times a fine one, of which there are few. Good to a millionth, for
    searching.
    """
    if pole.size < 2:
        out[:] = size[:, None] * np.exp(np.multiply.outer(x, pole))
        return
    turn = np.exp((pole[1] - pole[0]) * x)
    fine = np.vander(turn, FINE_TURNS, increasing=True)
    first = size * np.exp(pole[0] * x)
    many = -(-pole.size // FINE_TURNS)
    coarse = first[:, None] * np.vander(fine[:, -1] * turn, many, increasing=True)
    for k in range(many):
        part = out[:, k * FINE_TURNS : (k + 1) * FINE_TURNS]
        np.multiply(coarse[:, k, None], fine[:, : part.shape[1]], out=part)


def _residual_slope(problem: Problem, fit: Fit) -> NDArray[np.float64]:
    """The slope that facets and components do not explain, through the response's inverse.

    What the baseline took is in it: whether that was ripple is for the search to say.
    """
    solution = fit.solution
    smooth = problem.base @ solution.base_weights
    left = problem.mean_log - fit.predicted + smooth - smooth.mean()
    if solution.components:
        return np.asarray(left / slope_gain(problem, solution))
    light = np.exp(np.clip(left / solution.exponent, -3, 1.2))
    return np.asarray(problem.response.slope(light))


def _search_step_mm(track: Track) -> float:
    shortest = max(MIN_WAVELENGTH_MM, float(track.speed_mm_s.max()) / MAX_FREQUENCY_HZ)
    return min(SEARCH_STEP_MM, shortest / SAMPLES_A_WAVE)


def _mode_poles(track: Track) -> NDArray[np.complex128]:
    """Frequencies a third of the resolution apart, a row for each damping."""
    cruise = float(track.speed_mm_s.max())
    low = max(MIN_FREQUENCY_HZ, cruise / MAX_WAVELENGTH_MM)
    high = min(MAX_FREQUENCY_HZ, cruise / MIN_WAVELENGTH_MM)
    duration = float(track.time_s[-1] - track.time_s[0])
    step = max(1 / (3 * duration), (high - low) / MAX_FREQUENCIES)
    frequency = np.arange(low, high, step) if high > low else np.empty(0)
    return find_pole(frequency, np.array(DAMPINGS)[:, None])
