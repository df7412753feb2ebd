"""The Cramer-Rao bound of damped sinusoids in white noise, independent of the package.

A mode is its log frequency, log damping ratio, log amplitude and phase: the slope of
y = A exp(-z w t) cos(w_d t + phi), t from u = 4 mm, is Re(p A exp(j phi) exp(p t)) / speed with the
pole p = w (-z + j sqrt(1 - z^2)).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Mode:
    """A vibration by the numbers that are reported of it."""

    frequency_hz: float
    damping_ratio: float
    envelope_mm: float
    phase: float

    @property
    def pole(self) -> complex:
        """The pole in 1/s."""
        z = self.damping_ratio
        return complex(2 * np.pi * self.frequency_hz * (-z + 1j * np.sqrt(1 - z**2)))


def travel(
    u_mm: NDArray[np.float64], *, speed_mm_s: float, accel_mm_s2: float, corner_speed_mm_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Seconds since u = 4 mm, and speed, (N,): the root of u = vc t + a t^2 / 2, then u / v."""
    corner, accel = corner_speed_mm_s, accel_mm_s2
    ramp_s = (speed_mm_s - corner) / accel
    ramp_mm = corner * ramp_s + accel * ramp_s**2 / 2

    def clock(at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        on_ramp = (-corner + np.sqrt(corner**2 + 2 * accel * at_mm)) / accel
        return np.where(at_mm < ramp_mm, on_ramp, ramp_s + (at_mm - ramp_mm) / speed_mm_s)

    time = clock(u_mm)
    return time - clock(np.array([4.0])), np.minimum(corner + accel * time, speed_mm_s)


def slope_of(
    modes: tuple[Mode, ...], time_s: NDArray[np.float64], speed_mm_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Summed slope (N,)."""
    return sum(
        (
            (m.pole * m.envelope_mm * np.exp(1j * m.phase + m.pole * time_s)).real / speed_mm_s
            for m in modes
        ),
        start=np.zeros_like(time_s),
    )


def slope_jacobian(
    modes: tuple[Mode, ...], time_s: NDArray[np.float64], speed_mm_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Derivatives (N, 4 M) of the slope: by log frequency, log damping, log amplitude, phase."""
    columns = []
    for m in modes:
        p, z = m.pole, m.damping_ratio
        wave = m.envelope_mm * np.exp(1j * m.phase + p * time_s) / speed_mm_s
        by_pole = (1 + p * time_s) * wave
        by_log_damping = z * abs(p) * (-1 - 1j * z / np.sqrt(1 - z**2))
        columns += [p * by_pole, by_log_damping * by_pole, p * wave, 1j * p * wave]
    return np.stack(columns, axis=1).real


def bound_sd(jacobian: NDArray[np.float64], noise_sd: float) -> NDArray[np.float64]:
    """The bound's standard deviations (P,): white Gaussian noise, Fisher matrix J'J / sigma^2."""
    scale = np.linalg.norm(jacobian, axis=0)
    scaled = jacobian / scale
    return np.asarray(noise_sd * np.sqrt(np.diag(np.linalg.inv(scaled.T @ scaled))) / scale)
