"""From the fitted components to reported numbers with 95 % intervals, and the profile to draw."""

from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.special import stdtrit

from scoring.estimate import Estimate
from scoring.geometry import BLADE
from scoring.measurement import Mode, Trace
from scoring.motion import Motion
from scoring.photo.srgb import srgb_code
from scoring.ripple.components import Component, Damped, Steady, Track, follow, heights_mm
from scoring.ripple.fit import Problem, Solution, predict, slope_gain
from scoring.ripple.search import Detection, reference_ripple
from scoring.shading.tone import GAMMA

SD_LENGTH, SD_DAMPING = 0.001, 0.025
"""What the fit cannot see, as relative standard deviations; found on the tuning photos."""

STEEP_SHAPE_SD = np.array([0.02, 0.1])
"""The same for frequency and damping where the ripple is steep, for each unit of steepness."""

SD_FLOOR_UM = 0.08
SD_FLOOR_CODES, LASTING_DAMPING = 0.06, 0.05
"""Faults common to all strips that pass for ripple: texture at least so high, and what coding and
smooth faults (warp, falloff) make of a ripple: so much of an 8-bit code, which is more the longer
the wave is, for a damping of 0.05. A ripple that lasts longer averages more of it."""

ZONE_STEP_MM = 0.1
TRACE_END_U_MM, TRACE_EVERY = 67.0, 2
DRIFT_MM = 4.0
"""Heights that vary over longer than this are not in the photo and are left out of the drawing."""


def estimate_ripple(
    problem: Problem,
    detection: Detection,
    motion: Motion,
    *,
    sd_gain: float,
    steepness: float = 0.0,
    floor_share: float = 1.0,
) -> tuple[dict[str, Estimate], tuple[Mode, ...]]:
    """Metrics and modes of the ring-down face.

    The fit's covariance is carried to each number by its gradient; ``sd_gain`` is the relative
    standard deviation of the scale of heights, ``steepness`` how far the ripple's contrast goes
    beyond what light follows, ``floor_share`` how much of the floor under heights is left (two
    photos share only a part of their faults). Without a mode peak and RMS are 0 with the detection
    limit above; without a steady ripple its period is left out.
    """
    zone = np.arange(*BLADE.ringdown_zone_u_mm, ZONE_STEP_MM)
    track = follow(motion, zone)
    t = float(stdtrit(len(problem.log_light) - 1, 0.975))
    solution = detection.solution

    def bound(
        quantity: Callable[[Solution], float], sd_relative: float, sd_more: float = 0.0
    ) -> Estimate:
        value = quantity(solution)
        variance = _variance(solution, detection.covariance, quantity)
        half = t * float(np.sqrt(variance + (sd_relative * value) ** 2 + sd_more**2))
        return Estimate(value, max(value - half, 0.0), value + half)

    gain = float(np.median(np.abs(slope_gain(problem, solution))))
    code = 255 * float(srgb_code(np.exp(np.median(problem.response.level_log))))
    slope_a_code = GAMMA / code / gain

    def floor_um(mode: Damped) -> float:
        wave_um = 1e3 * motion.speed_mm_s / mode.frequency_hz
        codes = SD_FLOOR_CODES * float(np.sqrt(mode.damping_ratio / LASTING_DAMPING))
        return floor_share * max(SD_FLOOR_UM, codes * slope_a_code * wave_um / (2 * np.pi))

    metrics: dict[str, Estimate] = {}
    if solution.modes:
        peak, rms = (partial(read, track=track) for read in (_peak_um, _rms_um))
        floor = float(np.linalg.norm([floor_um(m) for m in solution.modes]))
        metrics["ripple_peak_um"] = bound(peak, sd_gain, floor)
        flat = floor * rms(solution) / max(peak(solution), 1e-9)
        metrics["ripple_rms_um"] = bound(rms, sd_gain, flat)
    else:
        limit_um = 1e3 * detection.limit_mm
        shape = heights_mm((reference_ripple(track),), track) * 1e3
        metrics["ripple_peak_um"] = Estimate(0.0, 0.0, limit_um * float(np.abs(shape).max()))
        metrics["ripple_rms_um"] = Estimate(0.0, 0.0, limit_um * float(np.sqrt((shape**2).mean())))
    steady = [k for k, c in enumerate(solution.components) if isinstance(c, Steady)]
    if steady:
        size = partial(_of_component, steady[0], _envelope_um)
        metrics["steady_ripple_um"] = bound(size, sd_gain, floor_share * SD_FLOOR_UM)
        period = partial(_of_component, steady[0], _period_mm)
        metrics["steady_period_mm"] = bound(period, SD_LENGTH)
    else:
        limit_um = 1e3 * detection.steady_limit_mm
        metrics["steady_ripple_um"] = Estimate(0.0, 0.0, limit_um)
    found = []
    for k, mode in ((k, c) for k, c in enumerate(solution.components) if isinstance(c, Damped)):
        envelope, frequency, damping, wavelength = (
            partial(_of_component, k, read)
            for read in (_envelope_um, _frequency_hz, _damping, partial(_wavelength_mm, motion))
        )
        # A floor on heights is a floor on phase, hence on frequency and damping.
        phase = 2 * min(floor_um(mode) / envelope(solution), 1.0)
        steep = STEEP_SHAPE_SD * steepness
        sd_damping = float(np.linalg.norm([SD_DAMPING, phase, steep[1]]))
        sd_frequency = float(np.linalg.norm([SD_LENGTH, phase * damping(solution), steep[0]]))
        found.append(
            Mode(
                envelope_um=bound(envelope, sd_gain, floor_um(mode)),
                frequency_hz=bound(frequency, sd_frequency),
                damping_ratio=bound(damping, sd_damping),
                wavelength_mm=bound(wavelength, sd_frequency),
            )
        )
    found.sort(key=lambda m: -m.envelope_um.value)
    return metrics, tuple(found)


def draw_profile(problem: Problem, solution: Solution) -> Trace:
    """Measured and fitted heights in um over the zone and a little beyond.

    Measured is the fit plus the integral of the slope it left over, without slow drift.
    """
    u = problem.track.u_mm
    step = float(u[1] - u[0])
    fitted = heights_mm(solution.components, problem.track)
    left = (problem.mean_log - predict(problem, solution)) / slope_gain(problem, solution)
    left = np.where(problem.weight > 0, left, 0.0)
    height = np.concatenate([[0.0], np.cumsum((left[1:] + left[:-1]) / 2) * step])
    height = height - gaussian_filter1d(height, DRIFT_MM / step, mode="nearest")
    shown = np.flatnonzero(u < TRACE_END_U_MM)[::TRACE_EVERY]

    def um(values: NDArray[np.float64]) -> tuple[float, ...]:
        return tuple(round(float(v), 3) for v in 1e3 * values[shown])

    return Trace("µm", tuple(round(float(v), 3) for v in u[shown]), um(fitted + height), um(fitted))


def _variance(
    solution: Solution, covariance: NDArray[np.float64], quantity: Callable[[Solution], float]
) -> float:
    """Variance of ``quantity`` by the delta method, the gradient taken numerically."""
    vector = solution.vector()
    sd = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    gradient = np.zeros_like(vector)
    first = 2 + len(solution.base_weights)
    for k in range(first, len(vector)):
        step = 0.1 * sd[k] + 1e-12
        ahead, behind = vector.copy(), vector.copy()
        ahead[k] += step
        behind[k] -= step
        gradient[k] = (quantity(solution.moved(ahead)) - quantity(solution.moved(behind))) / (
            2 * step
        )
    return max(float(gradient @ covariance @ gradient), 0.0)


def _peak_um(solution: Solution, track: Track) -> float:
    height: NDArray[np.float64] = np.abs(heights_mm(solution.modes, track))
    return 1e3 * float(height.max())


def _rms_um(solution: Solution, track: Track) -> float:
    return 1e3 * float(np.sqrt(np.mean(heights_mm(solution.modes, track) ** 2)))


def _of_component(index: int, read: Callable[[Component], float], solution: Solution) -> float:
    return read(solution.components[index])


def _envelope_um(component: Component) -> float:
    return 1e3 * component.envelope_mm


def _frequency_hz(component: Component) -> float:
    return float(np.exp(component.shape()[0]))


def _wavelength_mm(motion: Motion, component: Component) -> float:
    return motion.speed_mm_s / _frequency_hz(component)


def _damping(component: Component) -> float:
    return float(np.exp(component.shape()[1]))


def _period_mm(steady: Component) -> float:
    return float(np.exp(steady.shape()[0]))
