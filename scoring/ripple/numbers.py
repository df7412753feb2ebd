"""From the fitted components to reported numbers with 95 % intervals, and the profile to draw."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.special import stdtrit

from scoring.estimate import Estimate
from scoring.geometry import BLADE
from scoring.measurement import Mode, Trace
from scoring.motion import Motion
from scoring.ripple.components import Damped, Steady, Track, follow, heights_mm
from scoring.ripple.fit import Fit, Problem, Solution, slope_gain
from scoring.ripple.search import Detection

SD_LENGTH, SD_DAMPING = 0.001, 0.025
"""What the fit cannot see, as relative standard deviations; found on the tuning photos."""

STEEP_SHAPE_SD = np.array([0.02, 0.1])
"""The same for frequency and damping where the ripple is steep, for each unit of steepness."""

SD_FLOOR_UM = 0.08
SD_FLOOR_CODES, LASTING_DAMPING = 0.04, 0.05
"""Faults common to all strips that pass for ripple: texture at least so high, and what coding and
smooth faults (warp, falloff) make of a ripple: so much of an 8-bit code, which is more the longer
the wave is, for a damping of 0.05. A ripple that lasts longer averages more of it."""

HIDDEN_SHARE = 0.4
"""So much of the detection limit may well hide beside ripples that were found."""

ZONE_STEP_MM = 0.1
TRACE_END_U_MM, TRACE_EVERY = 67.0, 2
DRIFT_MM = 4.0
"""Heights that vary over longer than this are not in the photo and are left out of the drawing."""


def estimate_ripple(
    problem: Problem,
    detection: Detection,
    motion: Motion,
    *,
    sd_gain: Callable[[float], float],
    drift_per_mm: float = 0.0,
    steepness: float = 0.0,
    floor_share: float = 1.0,
) -> tuple[dict[str, Estimate], tuple[Mode, ...]]:
    """Metrics and modes of the ring-down face.

    The fit's covariance is carried to each number by its gradient; ``sd_gain`` tells the relative
    standard deviation of the scale of heights by the wavelength in mm, ``drift_per_mm`` that of its
    change along the face, ``steepness`` how far the ripple's contrast goes beyond what light
    follows, ``floor_share`` how much of the floor under heights is left (two photos share only a
    part of their faults). Peak and RMS may be larger by a share of the detection limit.
    Without a mode peak and RMS are 0 with the detection limit above; without a steady ripple its
    period is left out.
    """
    zone = np.arange(*BLADE.ringdown_zone_u_mm, ZONE_STEP_MM)
    track = follow(motion, zone)
    t = float(stdtrit(len(problem.log_light) - 1, 0.975))
    solution = detection.solution

    def bound(value: float, sd: float, sd_relative: float, sd_more: float = 0.0) -> Estimate:
        half = t * float(np.sqrt(sd**2 + (sd_relative * value) ** 2 + sd_more**2))
        return Estimate(value, max(value - half, 0.0), value + half)

    slope_a_code = problem.log_a_code / float(np.median(np.abs(slope_gain(problem, solution))))

    def floor_um(mode: Damped) -> float:
        wave_um = 1e3 * motion.speed_mm_s / mode.frequency_hz
        codes = SD_FLOOR_CODES * float(np.sqrt(mode.damping_ratio / LASTING_DAMPING))
        return floor_share * max(SD_FLOOR_UM, codes * slope_a_code * wave_um / (2 * np.pi))

    # Size is told where the zone starts, and waves are shortest there.
    def gain_sd(mode: Damped) -> float:
        return sd_gain(float(track.speed_mm_s[0]) / mode.frequency_hz)

    peak_limit, rms_limit = _limits_um(detection, track)
    metrics: dict[str, Estimate] = {}
    if solution.modes:
        (peak, sd_peak), (rms, sd_rms) = _sizes_um(solution, detection.covariance, track)
        floor = float(np.linalg.norm([floor_um(m) for m in solution.modes]))
        sd_size = gain_sd(max(solution.modes, key=lambda c: c.envelope_mm))
        of_peak = bound(peak, sd_peak, sd_size, floor)
        of_rms = bound(rms, sd_rms, sd_size, floor * rms / max(peak, 1e-9))
        # Heights add up where waves meet; mean squares of unlike waves always do.
        above = float(np.hypot(of_peak.high - peak, HIDDEN_SHARE * peak_limit))
        rms_high = float(np.hypot(of_rms.high, HIDDEN_SHARE * rms_limit))
        metrics["ripple_peak_um"] = replace(of_peak, high=peak + above)
        metrics["ripple_rms_um"] = replace(of_rms, high=rms_high)
    else:
        metrics["ripple_peak_um"] = Estimate(0.0, 0.0, peak_limit)
        metrics["ripple_rms_um"] = Estimate(0.0, 0.0, rms_limit)

    def as_mode(c: Damped, sd_envelope: float, sd_shape: NDArray[np.float64]) -> Mode:
        envelope = 1e3 * c.envelope_mm
        # A floor on heights is a floor on phase, hence on frequency and damping.
        phase = 2 * min(floor_um(c) / envelope, 1.0)
        steep = STEEP_SHAPE_SD * steepness
        # A scale that drifts along the face passes for decay, the more the longer a ripple lasts.
        decay_mm = motion.speed_mm_s / (2 * np.pi * c.frequency_hz * c.damping_ratio)
        drift = drift_per_mm * decay_mm
        sd_damping = float(np.linalg.norm([sd_shape[1], SD_DAMPING, phase, steep[1], drift]))
        sd_frequency = float(
            np.linalg.norm([sd_shape[0], SD_LENGTH, phase * c.damping_ratio, steep[0]])
        )
        return Mode(
            envelope_um=bound(envelope, sd_envelope, gain_sd(c), floor_um(c)),
            frequency_hz=bound(c.frequency_hz, 0.0, sd_frequency),
            damping_ratio=bound(c.damping_ratio, 0.0, sd_damping),
            wavelength_mm=bound(motion.speed_mm_s / c.frequency_hz, 0.0, sd_frequency),
        )

    found = []
    for c, place, amplitudes in solution.places():
        by_amplitude = np.array([c.a_mm, c.b_mm]) / max(c.envelope_mm, 1e-12)
        sd = 1e3 * _sd(by_amplitude, detection.covariance[amplitudes, amplitudes])
        # Shapes are logarithms, so their standard deviations are relative.
        sd_shape = np.sqrt(np.maximum(np.diag(detection.covariance)[place], 0.0))
        if isinstance(c, Damped):
            found.append(as_mode(c, sd, sd_shape))
        elif isinstance(c, Steady):
            size, sd_length = 1e3 * c.envelope_mm, float(np.hypot(sd_shape[0], SD_LENGTH))
            sd_size, floor = sd_gain(c.period_mm), floor_share * SD_FLOOR_UM
            metrics["steady_ripple_um"] = bound(size, sd, sd_size, floor)
            metrics["steady_period_mm"] = bound(c.period_mm, 0.0, sd_length)
    if "steady_ripple_um" not in metrics:
        limit_um = 1e3 * detection.steady_limit_mm
        metrics["steady_ripple_um"] = Estimate(0.0, 0.0, limit_um)
    found.sort(key=lambda m: -m.envelope_um.value)
    return metrics, tuple(found)


def draw_profile(problem: Problem, fit: Fit) -> Trace:
    """Measured and fitted heights in um over the zone and a little beyond.

    Measured is the fit plus the integral of the slope it left over, without slow drift.
    """
    u = problem.track.u_mm
    step = float(u[1] - u[0])
    fitted = heights_mm(fit.solution.components, problem.track)
    left = (problem.mean_log - fit.predicted) / slope_gain(problem, fit.solution)
    left = np.where(problem.weight > 0, left, 0.0)
    height = np.concatenate([[0.0], np.cumsum((left[1:] + left[:-1]) / 2) * step])
    height = height - gaussian_filter1d(height, DRIFT_MM / step, mode="nearest")
    shown = np.flatnonzero(u < TRACE_END_U_MM)[::TRACE_EVERY]

    def um(values: NDArray[np.float64]) -> tuple[float, ...]:
        return tuple(np.round(1e3 * values[shown], 3).tolist())

    return Trace("µm", tuple(np.round(u[shown], 3).tolist()), um(fitted + height), um(fitted))


def _limits_um(detection: Detection, track: Track) -> tuple[float, float]:
    """The detection limit: peak and RMS over ``track`` of the largest that would just be found."""
    heights_um = 1e3 * np.stack([heights_mm((c,), track) for c in detection.just_found()])
    rms = np.sqrt((heights_um**2).mean(axis=1))
    return float(np.abs(heights_um).max()), float(rms.max())


def _sizes_um(
    solution: Solution, covariance: NDArray[np.float64], track: Track
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Peak and RMS over ``track`` of what the vibrations add up to, each with its fit's SD."""
    height = np.zeros_like(track.u_mm)
    derivatives = np.zeros((len(covariance), height.size))
    for c, shape, amplitudes in solution.places():
        if isinstance(c, Damped):
            rows = c.height_derivatives(track)
            derivatives[shape], derivatives[amplitudes] = rows[:2], rows[2:]
            height += np.array([c.a_mm, c.b_mm]) @ rows[2:]
    step = 0.1 * np.sqrt(np.maximum(np.diag(covariance), 0.0))[:, None] + 1e-12

    # By differences: another wave may be the highest a little farther on.
    def sized(read: Callable[[NDArray[np.float64]], NDArray[np.float64]]) -> tuple[float, float]:
        ahead, behind = read(height + step * derivatives), read(height - step * derivatives)
        sd = _sd((ahead - behind) / (2 * step[:, 0]), covariance)
        return 1e3 * float(read(height)), 1e3 * sd

    def highest(y: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.abs(y).max(axis=-1))

    def root_mean_square(y: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.sqrt(np.mean(y**2, axis=-1)))

    return sized(highest), sized(root_mean_square)


def _sd(gradient: NDArray[np.float64], covariance: NDArray[np.float64]) -> float:
    """Standard deviation of a number of this ``gradient`` (P,) by the delta method."""
    return float(np.sqrt(max(float(gradient @ covariance @ gradient), 0.0)))
