"""The ring-down face's numbers: ripple size, modes and steady ripple, each with its interval."""

import itertools
from dataclasses import dataclass

import numpy as np

from scoring.estimate import Estimate
from scoring.flags import Flag, raised
from scoring.measurement import Mode, Trace
from scoring.motion import Motion
from scoring.registration.face import RectifiedFace
from scoring.registration.place import PlacedCoupon
from scoring.ripple.components import Damped, slopes
from scoring.ripple.light import (
    LitFace,
    ReadFace,
    calibrate_face,
    light_flags,
    read_light,
    require_exponent,
    require_gain,
    take_ripple_out,
)
from scoring.ripple.numbers import draw_profile, estimate_ripple
from scoring.ripple.search import Detection, find_components

CLOSE_SHARE = 0.15
UNSURE_SHARE, UNSURE_UM = 0.075, 0.75
"""Half as much again as the bounds, a twentieth and 0.5 um. All 17 of 67 tuning peaks beyond those
pass a tenth, too; what filaments and lamps of other kinds showed wants the narrower limit."""

UNSURE_FREQUENCY_SHARE, UNSURE_DAMPING_SHARE = 0.0075, 0.15
"""Within these no frequency of 67 was off by over 0.5 %, no damping by over a tenth."""


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

    Raises :class:`PhotoClippedError` where over a third of the band, or of its first
    millimetres, gave no light value and :class:`LampError` where the facets do not separate. No
    ripple is a normal answer: the value is 0 and the upper bound the detection limit.
    """
    read = read_light(placed, face)
    lit, detection = _look(read, motion)
    plain = take_ripple_out(read, lit.problem, detection.solution)
    if plain:
        lit, detection = _look(plain, motion)
    return tell_ripple(lit, detection, motion, blur_mm=placed.blur_mm)


def read_plain(placed: PlacedCoupon, face: RectifiedFace, motion: Motion) -> ReadFace:
    """As :func:`read_light`, the evidence freed of the ripple that this photo alone shows.

    Under lamps on opposite sides a ripple's light turns about, which joint laws of light would
    have to make up for. Raises as :func:`read_light` does.
    """
    read = read_light(placed, face)
    lit, detection = _look(read, motion)
    return take_ripple_out(read, lit.problem, detection.solution) or read


def _look(read: ReadFace, motion: Motion) -> tuple[LitFace, Detection]:
    """The face in light calibrated by this photo alone, and the ripple found in it."""
    lit = calibrate_face(read, motion)
    return lit, find_components(lit.problem)


def tell_ripple(
    lit: LitFace, detection: Detection, motion: Motion, *, blur_mm: float
) -> RingdownMeasurement:
    """All numbers of the ripple that was found on a face whose light is understood.

    ``blur_mm`` is the line spread's standard deviation. Raises :class:`LampError` where the facets
    hardly differ in brightness, or ask for another light than the calibrated one.
    """
    problem = lit.problem
    require_gain(lit.gain)
    require_exponent(detection.facet_exponent)
    modes = detection.solution.modes
    contrast = float(np.abs(slopes(modes, problem.track)).max()) * abs(lit.gain)
    metrics, found = estimate_ripple(
        problem,
        detection,
        motion,
        sd_gain=lambda wave_mm: lit.size_sd(contrast=contrast, wave_mm=wave_mm),
        drift_per_mm=lit.drift_per_mm,
        steepness=lit.steepness(contrast),
        floor_share=lit.floor_share,
    )
    flags = light_flags(lit, blur_mm=blur_mm, contrast=contrast) + raised(
        {
            Flag.NO_RIPPLE_FOUND: not modes,
            Flag.STEADY_RIPPLE: len(modes) < len(detection.solution.components),
            Flag.CLOSE_MODES: _lie_close(modes),
            Flag.MODE_UNSURE: any(_mode_is_unsure(mode) for mode in found),
            Flag.SIZE_UNSURE: metrics["ripple_peak_um"].is_unsure(UNSURE_SHARE, UNSURE_UM),
        }
    )
    return RingdownMeasurement(
        metrics, found, flags, draw_profile(problem, detection.fit), lit.facets.shift_mm
    )


def _mode_is_unsure(mode: Mode) -> bool:
    return mode.frequency_hz.is_unsure(UNSURE_FREQUENCY_SHARE) or mode.damping_ratio.is_unsure(
        UNSURE_DAMPING_SHARE
    )


def _lie_close(modes: tuple[Damped, ...]) -> bool:
    return any(
        abs(a.frequency_hz - b.frequency_hz) < CLOSE_SHARE * a.frequency_hz
        for a, b in itertools.combinations(modes, 2)
    )
