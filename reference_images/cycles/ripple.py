"""The true ripple: damped vibrations in time, carried to length by the nozzle's motion."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reference_images.standard import LENGTH_MM, RIPPLE_ZONE_U_MM

Array = NDArray[np.float64]
STEEPEST_DEG, FADED_IN_MM, COUNTED_FROM_MM = 12.0, 1.0, 0.5
"""At the corner itself, where the nozzle is slow, slopes would be absurd: the ripple is faded in,
and no steeper than this from half a millimetre on."""

LEAST_MM = 0.003
APART_HZ = 15.0
TRIES = 2000


@dataclass(frozen=True)
class Motion:
    """The outer wall's: cruise speed, acceleration, speed at the corner."""

    speed_mm_s: float
    accel_mm_s2: float
    corner_speed_mm_s: float


@dataclass(frozen=True)
class Mode:
    """A exp(-zeta w t) cos(w sqrt(1 - zeta^2) t + phase), w = 2 pi ``natural_hz``; mm at t = 0."""

    amplitude_mm: float
    natural_hz: float
    damping_ratio: float
    phase_rad: float


def time_s(u_mm: Array, motion: Motion) -> Array:
    """Time since the corner at each distance from it, any shape: constant acceleration, cruise."""
    v, a, corner = motion.speed_mm_s, motion.accel_mm_s2, motion.corner_speed_mm_s
    knee_mm, knee_s = (v * v - corner * corner) / (2 * a), (v - corner) / a
    rising = (np.sqrt(corner**2 + 2 * a * np.maximum(u_mm, 0)) - corner) / a
    return np.where(u_mm < knee_mm, rising, knee_s + (u_mm - knee_mm) / v)


def ripple_mm(u_mm: Array, motion: Motion, modes: tuple[Mode, ...]) -> Array:
    """Height of the ring-down at each distance, any shape; 0 without modes."""
    t = time_s(u_mm, motion)
    y = np.zeros_like(t)
    for mode in modes:
        w = 2 * np.pi * mode.natural_hz
        turn = w * math.sqrt(1 - mode.damping_ratio**2) * t + mode.phase_rad
        y = y + mode.amplitude_mm * np.exp(-mode.damping_ratio * w * t) * np.cos(turn)
    return y


def ease(x: Array) -> Array:
    """0 up to 0, smoothly 1 from 1 on, any shape."""
    x = np.clip(x, 0, 1)
    return np.asarray(x * x * (3 - 2 * x))


def fade_in(u_mm: Array) -> Array:
    """0 at the corner, smoothly 1 from ``FADED_IN_MM`` on."""
    return ease(u_mm / FADED_IN_MM)


def draw_ripple(rng: np.random.Generator) -> tuple[Motion, tuple[Mode, ...]]:
    """Motion and modes at random. Raises :class:`RuntimeError` where none turns up, which is rare.

    Peaks of 3 to 120 um in the zone are aimed at; what is too steep is made lower.
    """
    for _ in range(TRIES):
        speed = rng.uniform(60, 300)
        accel = np.exp(rng.uniform(np.log(1000), np.log(20000)))
        motion = Motion(
            float(round(speed)), float(round(accel, -2)), round(float(rng.uniform(5, 10)), 1)
        )
        count = int(rng.integers(1, 3))
        hz = rng.uniform(25, 120, count)
        if count == 2 and abs(hz[0] - hz[1]) < APART_HZ:
            continue
        modes = tuple(
            Mode(
                amplitude_mm=1.0 if k == 0 else float(rng.uniform(0.25, 0.9)),
                natural_hz=float(hz[k]),
                damping_ratio=float(rng.uniform(0.02, 0.12)),
                phase_rad=float(rng.uniform(-np.pi, np.pi)),
            )
            for k in range(count)
        )
        target_mm = float(np.exp(rng.uniform(np.log(3), np.log(120)))) / 1000
        zone = np.linspace(*RIPPLE_ZONE_U_MM, 24001)
        modes = _scale(modes, target_mm / float(np.abs(ripple_mm(zone, motion, modes)).max()))
        u = np.linspace(0, LENGTH_MM, 200001)
        slopes = np.abs(np.gradient(ripple_mm(u, motion, modes) * fade_in(u), u))
        steepest = float(slopes[u >= COUNTED_FROM_MM].max())
        modes = _scale(modes, min(1.0, math.tan(math.radians(STEEPEST_DEG)) / steepest))
        if float(np.abs(ripple_mm(zone, motion, modes)).max()) >= LEAST_MM:
            return motion, modes
    raise RuntimeError("no ripple of these ranges turned up")


def draw_motion(rng: np.random.Generator) -> Motion:
    """The motion of a flow face."""
    speed = float(round(rng.uniform(60, 300)))
    accel = float(round(np.exp(rng.uniform(np.log(1000), np.log(20000))), -2))
    return Motion(speed, accel, float(round(rng.uniform(5, 10), 1)))


def find_ripple_truth(motion: Motion, modes: tuple[Mode, ...]) -> dict[str, object]:
    """Peak and RMS over the zone, and each mode as it stands at the zone's start."""
    u = np.linspace(*RIPPLE_ZONE_U_MM, 60001)
    y_um = 1000 * ripple_mm(u, motion, modes)
    start_s = float(time_s(np.array(RIPPLE_ZONE_U_MM[0]), motion))
    stated = []
    for mode in modes:
        w = 2 * np.pi * mode.natural_hz
        fallen = math.exp(-mode.damping_ratio * w * start_s)
        damped = math.sqrt(1 - mode.damping_ratio**2)
        stated.append(
            {
                "envelope_um": 1000 * mode.amplitude_mm * fallen,
                "frequency_hz": mode.natural_hz * damped,
                "damping_ratio": mode.damping_ratio,
                "phase_rad": (mode.phase_rad + w * damped * start_s) % (2 * np.pi),
            }
        )
    return {
        "modes": stated,
        "ripple_peak_um": float(np.abs(y_um).max()),
        "ripple_rms_um": float(np.sqrt((y_um**2).mean())),
        "steady_ripple_um": 0.0,
        "steady_period_mm": 2.0,
    }


def _scale(modes: tuple[Mode, ...], factor: float) -> tuple[Mode, ...]:
    return tuple(replace(m, amplitude_mm=m.amplitude_mm * factor) for m in modes)
