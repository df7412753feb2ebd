"""The ring-down face's numbers: ripple size, modes and steady ripple, each with its interval."""

import itertools
from dataclasses import dataclass, replace

import numpy as np

from scoring.errors import LampError, PhotoClippedError
from scoring.estimate import Estimate
from scoring.flags import Flag, raised
from scoring.geometry import BLADE
from scoring.measurement import Mode, Trace
from scoring.motion import Motion
from scoring.registration.face import RectifiedFace
from scoring.registration.facets import find_facets
from scoring.registration.place import PlacedCoupon
from scoring.ripple.components import Damped, slopes
from scoring.ripple.fit import Problem
from scoring.ripple.numbers import draw_profile, estimate_ripple
from scoring.ripple.problem import pose_problem
from scoring.ripple.search import find_components
from scoring.shading.calibrate import calibrate
from scoring.shading.evidence import gather_evidence
from scoring.shading.paper import Paper, read_paper
from scoring.shading.profile import extract_strips
from scoring.shading.response import carry_sd

MIN_AGREEMENT = 0.45
MIN_SD_STRETCH = 0.0003
MIN_GAIN, WEAK_GAIN = 1.0, 1.6
"""Contrast per slope, about the cotangent of the lamp's elevation: 1 is 45 degrees up."""

EXPONENT_RANGE = (0.7, 1.4)
MAX_CLIPPED, SOME_CLIPPED = 0.35, 0.005
SOFT_BLUR_MM = 0.09
SD_GAIN = 0.018
"""Relative standard deviation of size that neither fit nor calibration sees: mesh, beads, print."""

RIPPLE_U_MM = 10.0
"""Where most of a ring-down is: the gain is carried from the facets to here."""

GLOSSY_ALBEDO = 0.12
SD_SHORT_MM2 = 0.03
"""A wave of 1 mm may be 3 % weaker than print and lens were allowed for, shorter ones more."""

STEEP_CONTRAST, SD_STEEP = 0.5, 0.15
"""Beyond such a slope times gain, light and slope part ways: flanks throw shadows on each other."""

CLOSE_SHARE = 0.15


@dataclass(frozen=True)
class RingdownMeasurement:
    """What the ring-down face says; ``shift_mm`` is the facets' shift from the outline."""

    metrics: dict[str, Estimate]
    modes: tuple[Mode, ...]
    flags: tuple[Flag, ...]
    trace: Trace
    shift_mm: float


def measure_ringdown(
    placed: PlacedCoupon, face: RectifiedFace, motion: Motion
) -> RingdownMeasurement:
    """Measure the ripple on a rectified ring-down ``face``.

    Raises :class:`PhotoClippedError` where most of the band gave no light value and
    :class:`LampError` where the facets do not separate. No ripple is a normal answer: the value is
    0 and the upper bound the detection limit.
    """
    strips = extract_strips(face)
    if strips.clipped_share > MAX_CLIPPED:
        raise PhotoClippedError(
            f"{strips.clipped_share:.0%} of the face is at full scale; at most {MAX_CLIPPED:.0%} "
            "may be. Lower the exposure (tap the coupon, slide darker) or move the lamp away."
        )
    facets = find_facets(
        strips.u_mm,
        np.log(np.maximum(strips.light.mean(axis=(0, 2)), 1e-5)),
        sd_stretch=max(MIN_SD_STRETCH, placed.pose.scale_sd(BLADE.thickness_mm)),
    )
    strips = replace(strips, u_mm=facets.true_u_mm(strips.u_mm))
    paper = read_paper(placed.photo, placed.pose)
    _require_facets(facets.agreement, paper, placed)
    evidence = gather_evidence(placed, paper, strips)
    calibration = calibrate(evidence, placed.placement, placed.camera_mm)
    shading = calibration.shading
    problem = pose_problem(placed, strips, shading, motion)
    gain = _facet_gain(problem)
    if abs(gain) < MIN_GAIN:
        raise LampError(
            f"The facets hardly differ in brightness (contrast {abs(gain):.2f} per unit of slope, "
            f"at least {MIN_GAIN:g} is needed): the lamp is too high or the light too diffuse. Put "
            "it 15 to 25 degrees up on the label's side, 400 mm or more away, and darken the room."
        )
    detection = find_components(problem)
    if not EXPONENT_RANGE[0] < detection.facet_exponent < EXPONENT_RANGE[1]:
        raise LampError(
            "The facets' brightness does not fit a lamp on the label's side (off by a factor of "
            f"{detection.facet_exponent:.2f}). Use one lamp, on the label's side, 15 to 25 "
            "degrees up, with no second light."
        )
    modes = detection.solution.modes
    contrast = float(np.abs(slopes(modes, problem.track)).max()) * abs(gain)
    flags = raised(
        {
            Flag.CLIPPED: strips.clipped_share > SOME_CLIPPED,
            Flag.LAMP_UNCERTAIN: evidence.shadow is None,
            Flag.WEAK_SHADING: abs(gain) < WEAK_GAIN,
            Flag.GLOSSY: float(shading.albedo.max()) < GLOSSY_ALBEDO,
            Flag.LAMP_FROM_FAR_SIDE: facets.agreement < 0,
            Flag.NO_RIPPLE_FOUND: not modes,
            Flag.STEEP_RIPPLE: contrast > STEEP_CONTRAST,
            Flag.STEADY_RIPPLE: len(modes) < len(detection.solution.components),
            Flag.CLOSE_MODES: _lie_close(modes),
            Flag.SOFT_FOCUS: placed.blur_mm > SOFT_BLUR_MM,
        }
    )
    carry = carry_sd(
        calibration,
        placed.placement,
        placed.camera_mm,
        from_u_mm=np.array([np.mean(f.u_mm) for f in BLADE.facets]),
        to_u_mm=RIPPLE_U_MM,
    )
    steep = max(contrast - STEEP_CONTRAST, 0.0)
    short = SD_SHORT_MM2 / _first_wave_mm(modes, motion) ** 2
    sd_gain = float(np.linalg.norm([SD_GAIN, carry, SD_STEEP * steep, short]))
    sd_u = facets.sd_u_mm(BLADE.ringdown_zone_u_mm[0])
    metrics, found = estimate_ripple(
        problem,
        detection,
        motion,
        sd_gain=sd_gain,
        sd_u_mm=sd_u,
        sd_stretch=facets.sd_stretch,
    )
    return RingdownMeasurement(
        metrics, found, flags, draw_profile(problem, detection.solution), facets.shift_mm
    )


def _require_facets(agreement: float, paper: Paper, placed: PlacedCoupon) -> None:
    if abs(agreement) < MIN_AGREEMENT:
        raise LampError(
            f"The facets do not separate (agreement {abs(agreement):.2f} of 1, at least "
            f"{MIN_AGREEMENT:g} is needed): the lamp is too high, or shines across the face's "
            "length. Put it on the label's side, 15 to 25 degrees up, 400 mm or more away."
        )
    if paper.enough:
        turn = paper.lamp_azimuth_rad - placed.placement.turn_rad
        if abs(np.cos(turn)) < np.cos(np.deg2rad(50)):
            raise LampError(
                "The lamp shines across the face's length, so ripples cast no shade: it must stand "
                "on the label's side for the ring-down face (the rim's side is for the flow face)."
            )


def _facet_gain(problem: Problem) -> float:
    """Log brightness per unit of slope over the facets, the baseline's line taken out."""
    u = problem.track.u_mm
    inside = (u > BLADE.facets[0].u_mm[0]) & (problem.weight > 0)
    x = u[inside] - u[inside].mean()
    columns = np.stack([np.ones_like(x), x, problem.facet_slope[inside]], axis=1)
    return float(np.linalg.lstsq(columns, problem.mean_log[inside], rcond=None)[0][2])


def _lie_close(modes: tuple[Damped, ...]) -> bool:
    return any(
        abs(a.frequency_hz - b.frequency_hz) < CLOSE_SHARE * a.frequency_hz
        for a, b in itertools.combinations(modes, 2)
    )


def _first_wave_mm(modes: tuple[Damped, ...], motion: Motion) -> float:
    """Wavelength of the largest vibration where the zone starts; infinite without one."""
    if not modes:
        return float("inf")
    largest = max(modes, key=lambda c: c.envelope_mm)
    start = np.array([BLADE.ringdown_zone_u_mm[0]])
    return float(motion.speed_at(start)[0]) / largest.frequency_hz
