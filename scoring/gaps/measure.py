"""Under-extrusion on the flow face: every metric, its interval, and the mask of open gaps."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.errors import CouponNotFoundError, LampError, PhotoClippedError, WrongFaceError
from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.gaps.boundaries import (
    LIFT_PITCH,
    Boundaries,
    least_light,
    mean_light,
    place_boundaries,
)
from scoring.gaps.closed import find_darkness
from scoring.gaps.columns import Columns, average_columns
from scoring.gaps.dim import BESIDE
from scoring.gaps.gain import compare_with_depth, foretell_gain
from scoring.gaps.gaps import (
    USUAL_RISE,
    Evidence,
    choose_open,
    combine,
    find_dark,
    weigh_evidence,
)
from scoring.gaps.intervals import estimate_numbers
from scoring.gaps.layers import find_layer_lines
from scoring.gaps.lift import find_lift
from scoring.gaps.mask import draw_mask
from scoring.gaps.modulation import compare_layer_lines
from scoring.gaps.openness import measure_openness
from scoring.gaps.recovery import time_recovery
from scoring.measurement import Trace
from scoring.medians import median
from scoring.metrics import FACE_WORDS, FaceName, metrics_of
from scoring.motion import Motion
from scoring.photo.opencv import cv2
from scoring.registration.face import RectifiedFace
from scoring.registration.grooves import UNSEEN, GrooveFit

FLAGGED_SHIFT, FLAGGED_SPILL = 0.015, -0.08
MANY_CLIPPED, MOST_CLIPPED = 0.02, 0.5
DARKEST_LIGHT = 0.003
LEAST_RISE, LOW_RISE = 0.462, 0.53
"""24.8 and 28 degrees."""


@dataclass(frozen=True)
class GapMeasurement:
    """One flow face's numbers.

    ``metrics`` holds every metric of the flow face; ``open_mask`` (M, N) marks open gaps on the
    rectified face's own grid, and is empty where no picture was asked for; ``trace`` is the open
    fraction of the measured band along u and its 2 mm moving mean, outside the grooves.
    """

    metrics: dict[str, Estimate]
    flags: tuple[Flag, ...]
    trace: Trace
    open_mask: NDArray[np.bool_]


def measure_gaps(
    face: RectifiedFace,
    *,
    motion: Motion,
    blur_mm: float,
    layer_height_mm: float | None,
    grooves: GrooveFit = UNSEEN,
    lamp_rise: float | None = None,
    lean: float = 0.0,
    picture: bool = True,
) -> GapMeasurement:
    """Measure the open gaps of a rectified flow face.

    ``blur_mm`` is the standard deviation of the photo's line spread on the face;
    ``layer_height_mm`` the stated layer height, ``None`` where unknown: then it is read from the
    photo; ``grooves`` set u, where ``UNSEEN`` the outline does, which ``outline-unsure`` tells;
    ``lamp_rise`` is the rise of the lamp's light over its run across the layers, ``None`` where
    unknown; ``lean`` how far the camera's sight moves across the layers for each mm down. Without
    ``picture`` the mask stays empty.

    Time is counted from u = 50 mm, where the nozzle is taken to leave at the corner speed of
    ``motion``. With no gap found, every number is 0, the flag says so, and the upper bound of the
    fraction is what could have gone unseen. Raises :class:`WrongFaceError` for a ring-down face,
    :class:`LampError` where the lamp is so low that layers shade each other,
    :class:`PhotoClippedError` for a face that is mostly white or black, and
    :class:`CouponNotFoundError` where neither layers nor grooves are seen.
    """
    if face.face is not FaceName.FLOW:
        raise WrongFaceError(
            f"Gaps are measured on the flow face; this is the {FACE_WORDS[face.face]} face. Turn "
            "the coupon over."
        )
    if lamp_rise is not None and lamp_rise < LEAST_RISE:
        angle_deg = np.degrees(np.arctan(lamp_rise))
        raise LampError(
            f"The lamp stands {angle_deg:.0f} degrees or less over the card: "
            "layers shade each other, and gaps cannot be told from shadows. Raise it to 30 to 40 "
            "degrees, on the side of the face's upper edge."
        )
    columns = average_columns(face, grooves)
    _refuse_clipped(columns)
    lines = find_layer_lines(columns, layer_height_mm=layer_height_mm)
    if not (lines.found or grooves.edges):
        raise CouponNotFoundError(
            "Neither layers nor grooves are seen on the face: it is no printed coupon's flow face, "
            "or far out of focus. Lay the coupon in the bay, flow face up, and rake the lamp."
        )
    boundaries = place_boundaries(columns, lines)
    light, least, evidence = _look_for_dark(columns, boundaries)
    lift_pitch = find_lift(evidence, boundaries, columns) if lines.found else LIFT_PITCH
    if lift_pitch != LIFT_PITCH:
        boundaries = place_boundaries(columns, lines, lift_pitch=lift_pitch)
        light, least, evidence = _look_for_dark(columns, boundaries)
    stretches = find_dark(evidence, columns)
    marked = choose_open(stretches, evidence, columns) > 0
    closed = cv2.dilate(marked.astype(np.uint8), BESIDE) == 0
    settled = find_darkness(light, columns, closed=closed)
    openness = measure_openness(settled, columns, blur_pitch=blur_mm / lines.pitch_mm)
    open_mm = openness.share * lines.pitch_mm
    gain = compare_with_depth(
        foretell_gain(
            level=settled.level,
            shift=evidence.shift,
            spill_down=openness.spill_down,
            clipped_share=columns.clipped_share,
            lamp_rise=lamp_rise,
            lean=lean,
        ),
        open_mm,
        find_darkness(least, columns, closed=closed).share,
        marked,
        columns,
        blur_mm=blur_mm,
        pitch_mm=lines.pitch_mm,
        aligned=lines.found,
    )
    numbers = estimate_numbers(
        open_mm / gain.value,
        stretches,
        evidence,
        boundaries,
        columns,
        spread=settled.sd,
        sd_log_gain=gain.sd_log,
        lamp_rise=lamp_rise or USUAL_RISE,
        sd_u_mm=grooves.sd_shift_mm,
    )
    metrics = dict(numbers.metrics)
    metrics["recovery_s"] = time_recovery(metrics["recovery_mm"], motion)
    modulation = compare_layer_lines(columns, lines)
    if modulation is not None:
        metrics["layer_modulation"] = modulation
    flags = []
    if not grooves.sure:
        flags.append(Flag.OUTLINE_UNSURE)
    if lamp_rise is not None and lamp_rise < LOW_RISE:
        flags.append(Flag.LAMP_LOW)
    if columns.clipped_share > MANY_CLIPPED:
        flags.append(Flag.CLIPPED)
    if evidence.shift > FLAGGED_SHIFT or openness.spill_down < FLAGGED_SPILL:
        flags.append(Flag.GLOSSY)
    if not numbers.metrics["gap_count"].value:
        flags.append(Flag.NO_GAPS_FOUND)
    if numbers.unsure:
        flags.append(Flag.SIZE_UNSURE)
    profile = numbers.profile
    return GapMeasurement(
        metrics={m.name: metrics[m.name] for m in metrics_of(FaceName.FLOW) if m.name in metrics},
        flags=tuple(flags),
        trace=Trace(
            unit="open fraction",
            u_mm=tuple(profile.u_mm.tolist()),
            measured=tuple(profile.share.tolist()),
            fitted=tuple(profile.moving.tolist()),
        ),
        open_mask=(
            draw_mask(face, numbers.gaps, boundaries, columns, grooves)
            if picture
            else np.zeros((0, 0), np.bool_)
        ),
    )


def _look_for_dark(
    columns: Columns, boundaries: Boundaries
) -> tuple[NDArray[np.float64], NDArray[np.float64], Evidence]:
    """Mean and least light about each boundary, (K, C), and what both say of gaps.

    Gaps are found by how dark they are, measured by how much light they take.
    """
    light, least = mean_light(columns, boundaries), least_light(columns, boundaries)
    dark = combine(find_darkness(light, columns), find_darkness(least, columns))
    return light, least, weigh_evidence(dark, columns)


def _refuse_clipped(columns: Columns) -> None:
    light = median(columns.light)
    if columns.clipped_share > MOST_CLIPPED:
        raise PhotoClippedError(
            f"{columns.clipped_share:.0%} of the flow face is at full scale, where no gap can be "
            "told from its surroundings. Expose less: tap the coupon and pull the brightness down."
        )
    if light < DARKEST_LIGHT:
        raise PhotoClippedError(
            f"The flow face is nearly black ({light:.2%} of full scale). Expose more: bring the "
            "lamp closer, or tap the coupon and push the brightness up."
        )
