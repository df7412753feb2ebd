"""How strongly the layer lines show on the ring-down face: what tells how steep its beads are."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.photo.opencv import cv2
from scoring.registration.face import RectifiedFace
from scoring.shading.tone import with_luma

PITCH_RANGE_MM = (0.09, 0.42)
"""Of layers, on either face."""

BLOCK_MM = 3.0
"""Along u: long enough to average texture, short against the way over which lines wander."""

TREND_DEGREE, PADDING = 6, 4
LEAST_AMPLITUDE, LEAST_OVER_FLOOR, LEAST_PASSED = 0.003, 20.0, 0.1
"""Fainter lines, or ones that stand out less from the spectrum about them, tell nothing: layers too
fine for the lens leave others, of several layers together, that are no bead's."""


@dataclass(frozen=True)
class LayerLine:
    """The light's wave across the layers: ``amplitude`` over the mean light, as the lens shows it.

    ``passed`` is the share that the lens lets through at this pitch.
    """

    amplitude: float
    pitch_mm: float
    passed: float


def measure_layer_line(face: RectifiedFace, *, blur_mm: float) -> LayerLine | None:
    """The layer line over the ring-down zone of ``face``, ``None`` where none stands out.

    ``blur_mm`` is the standard deviation of the line spread, reading between pixels included. The
    median power over blocks along u of a spectrum along w; its highest place is the layers' own.
    """
    u, w = face.u_mm(), face.w_mm()
    columns = np.flatnonzero((u >= BLADE.ringdown_zone_u_mm[0]) & (u < BLADE.ringdown_zone_u_mm[1]))
    low, high = BLADE.measured_band_w_mm
    # Rows stand right on these bounds: rounding must not decide.
    beside = 0.1 / face.px_per_mm
    rows = np.flatnonzero((w > low - beside) & (w < high + beside))
    part = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    size = max(1, round(columns.size / face.px_per_mm / BLOCK_MM)), rows.size
    picture = face.linear if face.luma is None else face.luma
    blocks = cv2.resize(picture[part], size, interpolation=cv2.INTER_AREA).astype(np.float64)
    light = with_luma(blocks)[..., 3] if face.luma is None else blocks
    relative = light / np.maximum(light.mean(axis=0), 1e-6)
    trend = np.polynomial.legendre.legvander(np.linspace(-1, 1, rows.size), TREND_DEGREE)
    relative -= trend @ np.linalg.lstsq(trend, relative, rcond=None)[0]
    window = np.hanning(rows.size)
    spectrum = np.fft.rfft(relative * window[:, None], PADDING * rows.size, axis=0)
    power = np.median(np.abs(spectrum * 2 / window.sum()) ** 2, axis=1)
    frequency = np.fft.rfftfreq(PADDING * rows.size, 1 / face.px_per_mm)
    fine, coarse = PITCH_RANGE_MM
    inside = np.flatnonzero((frequency > 1 / coarse) & (frequency < 1 / fine))
    at = inside[np.argmax(power[inside])]
    amplitude = float(np.sqrt(power[at]))
    floor = float(np.sqrt(np.median(power[inside])))
    passed = float(np.exp(-2 * (np.pi * blur_mm * frequency[at]) ** 2))
    if amplitude < max(LEAST_AMPLITUDE, LEAST_OVER_FLOOR * floor) or passed < LEAST_PASSED:
        return None
    return LayerLine(amplitude, float(1 / frequency[at]), passed)


def first_harmonic(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Amplitude (...) over the mean of ``values`` (..., P), a period at the middles of P parts."""
    phase = 2j * np.pi * (np.arange(values.shape[-1]) + 0.5) / values.shape[-1]
    return np.asarray(2 * np.abs(values @ np.exp(phase)) / values.sum(axis=-1))
