"""The ripple that is built into the surface, and its true numbers.

The ripple is a sum of damped vibrations in time; the nozzle's motion turns time into length.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.scene import Mode, Motion, SteadyRipple
from reference_images.standard import RIPPLE_ZONE_U_MM

Array = NDArray[np.float64]


def time_at_s(motion: Motion, u_mm: Array) -> Array:
    """Seconds from the corner to each ``u_mm``: u = vc t + a t^2 / 2, then constant speed."""
    vc, a, v = motion.corner_speed_mm_s, motion.accel_mm_s2, motion.speed_mm_s
    end_s = (v - vc) / a
    end_mm = vc * end_s + a * end_s**2 / 2
    u = np.maximum(np.asarray(u_mm, dtype=np.float64), 0.0)
    ramp = 2 * np.minimum(u, end_mm) / (vc + np.sqrt(vc**2 + 2 * a * np.minimum(u, end_mm)))
    return np.asarray(ramp + np.maximum(u - end_mm, 0.0) / v)


def mode_signal_um(mode: Mode, motion: Motion, u_mm: Array) -> NDArray[np.complex128]:
    """The analytic signal of one mode at each ``u_mm``; its real part is the height in um."""
    start_s = time_at_s(motion, np.array([RIPPLE_ZONE_U_MM[0]]))[0]
    t = time_at_s(motion, u_mm) - start_s
    damped = 2 * np.pi * mode.frequency_hz
    decay = damped * mode.damping_ratio / np.sqrt(1 - mode.damping_ratio**2)
    return np.asarray(mode.envelope_um * np.exp(-decay * t + 1j * (damped * t + mode.phase_rad)))


def steady_um(steady: SteadyRipple, u_mm: Array) -> Array:
    """Height in um of the ripple of constant length."""
    return np.asarray(
        steady.amplitude_um * np.cos(2 * np.pi * u_mm / steady.period_mm + steady.phase_rad)
    )


@dataclass(frozen=True)
class RippleTruth:
    """Largest and root-mean-square ring-down over the zone, steady ripple left out."""

    ripple_peak_um: float
    ripple_rms_um: float


def find_ripple_truth(modes: tuple[Mode, ...], motion: Motion) -> RippleTruth:
    """Sample the ring-down every 2 um over the zone. No modes: both numbers are 0."""
    _, y = _sample_zone(modes, motion)
    return RippleTruth(float(np.abs(y).max()), float(np.sqrt(np.mean(y**2))))


def steepest_slope(modes: tuple[Mode, ...], motion: Motion) -> float:
    """Largest |dy/du| of the ring-down over the zone, dimensionless; without modes tiny, not 0."""
    u, y = _sample_zone(modes, motion)
    return float(max(np.abs(np.gradient(y / 1000, u)).max(), 1e-12))


def _sample_zone(modes: tuple[Mode, ...], motion: Motion) -> tuple[Array, Array]:
    """u in mm every 2 um over the zone, and the ring-down's height there in um."""
    u = np.linspace(*RIPPLE_ZONE_U_MM, 30001)
    y = np.zeros_like(u)
    for mode in modes:
        y += mode_signal_um(mode, motion, u).real
    return u, y
