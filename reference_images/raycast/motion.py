"""The true ripple: damped vibrations in time, carried to length by the nozzle's motion."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reference_images.standard import RIPPLE_ZONE_U_MM

Array = NDArray[np.float64]
STEP_MM = 0.001
"""Peak and RMS are taken at points this far apart."""


@dataclass(frozen=True)
class Motion:
    """The outer wall's: cruise speed, acceleration, speed at the corner."""

    speed_mm_s: float
    accel_mm_s2: float
    corner_speed_mm_s: float


@dataclass(frozen=True)
class Mode:
    """One vibration: envelope and phase (cosine) at the zone's start, damped frequency."""

    envelope_um: float
    frequency_hz: float
    damping_ratio: float
    phase_rad: float


def time_s(u_mm: ArrayLike, motion: Motion) -> Array:
    """Time since the corner at each distance from it, any shape: constant acceleration, cruise."""
    u = np.asarray(u_mm, float)
    v, a, corner = motion.speed_mm_s, motion.accel_mm_s2, motion.corner_speed_mm_s
    knee_mm = (v * v - corner * corner) / (2 * a)
    knee_s = (v - corner) / a
    rising = (-corner + np.sqrt(corner * corner + 2 * a * np.minimum(u, knee_mm))) / a
    return np.where(u < knee_mm, rising, knee_s + (u - knee_mm) / v)


def speed_mm_s(u_mm: ArrayLike, motion: Motion) -> Array:
    """The nozzle's speed at each distance from the corner, any shape."""
    u = np.asarray(u_mm, float)
    corner = motion.corner_speed_mm_s
    rising = np.sqrt(corner * corner + 2 * motion.accel_mm_s2 * u)
    return np.asarray(np.minimum(motion.speed_mm_s, rising))


def mode_signal_mm(u_mm: ArrayLike, mode: Mode, motion: Motion) -> NDArray[np.complex128]:
    """One mode as a complex number, any shape; its real part is the height, its size the envelope.

    y = A exp(-zeta w0 (t - t4)) cos(wd t + phase): so the phase is that at the corner.
    """
    damped = 2 * np.pi * mode.frequency_hz
    natural = damped / np.sqrt(1 - mode.damping_ratio * mode.damping_ratio)
    t = time_s(u_mm, motion)
    start = time_s(RIPPLE_ZONE_U_MM[0], motion)
    envelope = mode.envelope_um * 1e-3 * np.exp(-mode.damping_ratio * natural * (t - start))
    return np.asarray(envelope * np.exp(1j * (damped * t + mode.phase_rad)))


def ripple_mm(u_mm: ArrayLike, modes: Iterable[Mode], motion: Motion) -> Array:
    """Height of the ring-down at each distance, any shape; 0 without modes."""
    height = np.zeros_like(np.asarray(u_mm, float))
    for mode in modes:
        height = mode_signal_mm(u_mm, mode, motion).real + height
    return height


def find_ripple_truth(modes: tuple[Mode, ...], motion: Motion) -> tuple[float, float]:
    """Largest and root-mean-square height of the ring-down over its zone, in um."""
    start, end = RIPPLE_ZONE_U_MM
    u = start + (np.arange(round((end - start) / STEP_MM)) + 0.5) * STEP_MM
    height_um = ripple_mm(u, modes, motion) * 1e3
    return float(np.abs(height_um).max()), float(np.sqrt((height_um**2).mean()))
