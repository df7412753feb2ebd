"""Every metric, each defined once: name, unit, face, and what it says."""

from dataclasses import dataclass
from enum import StrEnum


class FaceName(StrEnum):
    """The two measured faces of the blade coupon."""

    RINGDOWN = "ringdown"
    FLOW = "flow"


FACE_WORDS = {FaceName.RINGDOWN: "ring-down", FaceName.FLOW: "flow"}
"""The faces' names as people read them."""


@dataclass(frozen=True)
class Metric:
    """What a number means. ``better`` is "lower" or "none" (not a matter of good or bad)."""

    name: str
    unit: str
    face: FaceName
    better: str
    sentence: str


_R, _F = FaceName.RINGDOWN, FaceName.FLOW

METRICS: tuple[Metric, ...] = (
    Metric("ripple_peak_um", "µm", _R, "lower", "Largest |y| of the fitted ring-down in the zone."),
    Metric("ripple_rms_um", "µm", _R, "lower", "RMS of the fitted ring-down over the zone."),
    Metric("steady_ripple_um", "µm", _R, "lower", "Amplitude of the ripple that does not decay."),
    Metric("steady_period_mm", "mm", _R, "none", "Length of one period of that steady ripple."),
    Metric("gap_fraction", "1", _F, "lower", "Open area over the recovery zone's area."),
    Metric("gap_longest_mm", "mm", _F, "lower", "Length of the longest open gap."),
    Metric("gap_count", "1", _F, "lower", "Number of open gaps in the recovery zone."),
    Metric("recovery_mm", "mm", _F, "lower", "From u = 50 mm to where gaps have died away."),
    Metric("recovery_s", "s", _F, "lower", "The same distance as time, from the corner speed on."),
    Metric("steady_gap_fraction", "1", _F, "lower", "Open area over the steady zone's area."),
    Metric("layer_modulation", "1", _F, "none", "Layer-line contrast, recovery over steady zone."),
)

MODE_METRICS: tuple[Metric, ...] = (
    Metric("envelope_um", "µm", _R, "lower", "Envelope of the mode at the zone's start, u = 4 mm."),
    Metric("frequency_hz", "Hz", _R, "none", "Undamped natural frequency, w / 2 pi."),
    Metric("damping_ratio", "1", _R, "none", "Damping ratio of the mode."),
    Metric("wavelength_mm", "mm", _R, "none", "Cruise speed over that frequency."),
)


def metrics_of(face: FaceName) -> tuple[Metric, ...]:
    """The metrics reported for ``face``, in order."""
    return tuple(m for m in METRICS if m.face is face)
