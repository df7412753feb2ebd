"""Where the layer lines run: their pitch, and their slow wander over the face."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from scoring.gaps.columns import Columns, split
from scoring.geometry import BLADE
from scoring.least_squares import fit_reweighted
from scoring.medians import medians
from scoring.shading.layer_line import PITCH_RANGE_MM

STATED_PITCH_SHARE = 0.04
"""How far the printed pitch may stray from the stated layer height: 24 mm in whole layers."""

BLOCK_MM, STRIP_MM = 2.0, 3.0
DETREND_MM = 1.0
PADDING = 4
MIN_CLARITY, MIN_CLARITY_UNSTATED = 4.0, 12.0
"""A spectral peak less than this many times its surroundings is no layer line; a line elsewhere
than stated must stand out more."""

MISSTATED_POWER = 30.0
"""A line elsewhere this many times as strong as anything near the stated height overrules it."""

SURROUNDINGS_PER_MM = 1.2


@dataclass(frozen=True)
class LayerLines:
    """The lattice of layer boundaries.

    Boundary j at u lies at w = ``pitch_mm`` * (j + wander), where the wander in layers is the
    polynomial ``wander`` in (1, u', u'^2, u'^3, w', u' w'), u' and w' being the distances from the
    face's middle over half its length and height. ``found`` is false where no layer line stood out
    and the lattice is only assumed.
    """

    pitch_mm: float
    wander: NDArray[np.float64]
    found: bool

    def boundaries_mm(
        self, numbers: NDArray[np.float64] | NDArray[np.intp], u_mm: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """The w of each boundary in ``numbers`` (K,) at each ``u_mm`` (C,): (K, C)."""
        rough = ((numbers + self.wander[0]) * self.pitch_mm)[:, None]
        return np.asarray((numbers[:, None] + self._wander_at(rough, u_mm)) * self.pitch_mm)

    def phase(self, w_mm: NDArray[np.float64], u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Layers counted from the plate at each place, any shape: whole numbers at boundaries."""
        return np.asarray(w_mm / self.pitch_mm - self._wander_at(w_mm, u_mm))

    def _wander_at(
        self, w_mm: NDArray[np.float64], u_mm: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        a, b, c, d, e, f = self.wander
        u, w = _from_middle(u_mm, BLADE.length_mm), _from_middle(w_mm, BLADE.height_mm)
        return np.asarray(a + u * (b + u * (c + u * d)) + w * (e + u * f))


def find_layer_lines(columns: Columns, *, layer_height_mm: float | None) -> LayerLines:
    """Find pitch and course of the layer lines outside the grooves.

    The spectrum along w gives the pitch: near the stated height, or, with none there, the
    strongest line. Demodulated in blocks, its phase tells how boundaries run along u: what is left
    of lens and pose bends them by a few hundredths of a millimetre. The zero of the phase is where
    light falls, going up from a bead's lit upper half to the next one's shaded lower half.
    """
    w = columns.w_mm()
    relief, u = _relief(columns)
    pitch = _find_pitch(relief, columns.px_per_mm, layer_height_mm)
    if pitch is None:
        assumed = layer_height_mm or BLADE.nominal_layer_mm
        return LayerLines(assumed, np.zeros(6), found=False)
    turn = np.exp(-2j * np.pi * w / pitch)
    strips = np.array_split(np.arange(w.size), max(1, round((w[0] - w[-1]) / STRIP_MM)))
    wave = np.stack([(relief[s] * turn[s, None]).mean(axis=0) for s in strips])
    at_w = np.array([w[s].mean() for s in strips])
    # Along u first, all strips together: the phase creeps, so it unwraps safely from block to
    # block; then strip by strip against that.
    along = np.unwrap(np.angle(_smooth_along(wave.sum(axis=0))))
    ahead = np.angle(wave * np.exp(-1j * along))
    off = np.angle(np.exp(1j * ahead).sum())
    phase = along + off + np.angle(np.exp(1j * (ahead - off)))
    terms = _terms(u[None, :], at_w[:, None]).reshape(-1, 6)
    fit, _ = fit_reweighted(terms, phase.ravel() / (2 * np.pi), _trust, weight=np.abs(wave).ravel())
    # The wave is -sin(2 pi (w / pitch - wander)) where light falls upward through a boundary.
    fit = -fit
    fit[0] += 0.25
    return LayerLines(pitch, fit, found=True)


def _relief(columns: Columns) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Light over its local mean along w, less 1, in blocks along u: (M, B) and their u (B,)."""
    per_block = max(1, round(BLOCK_MM / columns.width_mm))
    blocks = [
        b
        for part in columns.segments
        for b in split(part, max(1, (part.stop - part.start) // per_block))
    ]
    mean_light, u_mm = columns.average(blocks)
    light = mean_light.astype(np.float64)
    size = 2 * round(DETREND_MM * columns.px_per_mm / 2) + 1
    padded = np.pad(light, ((size // 2 + 1, size // 2), (0, 0)), mode="reflect")
    total = np.cumsum(padded, axis=0)
    mean = (total[size:] - total[:-size]) / size
    relief = light / np.maximum(mean, 1e-6) - 1
    return relief, u_mm


def _find_pitch(
    relief: NDArray[np.float64], px_per_mm: float, layer_height_mm: float | None
) -> float | None:
    """Pitch in mm, ``None`` where no line stands out near the stated height, or at all."""
    rows = relief.shape[0]
    size = PADDING * rows
    # The median block: gaps add strong false lines, but only to blocks near the details.
    spectra = np.fft.rfft(relief * np.hanning(rows)[:, None], size, axis=0)
    power = medians(spectra.real**2 + spectra.imag**2)
    frequency = np.fft.rfftfreq(size, 1 / px_per_mm)
    around = 2 * int(SURROUNDINGS_PER_MM / frequency[1] / 2) + 1
    clarity = power / (ndimage.median_filter(power, around, mode="nearest") + 1e-30)
    wanted = (frequency > 1 / PITCH_RANGE_MM[1]) & (frequency < 1 / PITCH_RANGE_MM[0])
    wanted[-1] = False
    i = int(np.argmax(np.where(wanted, power, 0.0)))
    clear = bool(clarity[i] >= MIN_CLARITY_UNSTATED)
    if layer_height_mm is not None:
        wanted &= np.abs(frequency * layer_height_mm - 1) < STATED_PITCH_SHARE
        near = int(np.argmax(np.where(wanted, power, 0.0)))
        if wanted[near] and not (clear and power[i] > MISSTATED_POWER * power[near]):
            i, clear = near, bool(clarity[near] >= MIN_CLARITY)
    if not clear:
        return None
    left, top, right = np.log(power[i - 1 : i + 2] + 1e-30)
    bend = left - 2 * top + right
    step = float(np.clip((left - right) / (2 * bend), -0.5, 0.5)) if bend < 0 else 0.0
    return float(1 / (frequency[i] + step * frequency[1]))


def _smooth_along(wave: NDArray[np.complex128]) -> NDArray[np.complex128]:
    if wave.size < 3:
        return wave
    padded = np.pad(wave, 1, mode="edge")
    return np.asarray((padded[:-2] + 2 * wave + padded[2:]) / 4)


def _from_middle(at_mm: NDArray[np.float64], length_mm: float) -> NDArray[np.float64]:
    return at_mm / (length_mm / 2) - 1


def _terms(u_mm: NDArray[np.float64], w_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The wander's terms at each place, (..., 6)."""
    u, w = np.broadcast_arrays(
        _from_middle(u_mm, BLADE.length_mm), _from_middle(w_mm, BLADE.height_mm)
    )
    return np.stack([np.ones_like(u), u, u**2, u**3, w, u * w], axis=-1)


def _trust(off: NDArray[np.float64]) -> NDArray[np.float64]:
    """Blocks far off the rest weighed down (Huber's way)."""
    far = np.abs(off)
    scale = 1.5 * max(float(np.median(far)), 1e-6)
    return np.asarray(np.minimum(1.0, scale / np.maximum(far, 1e-12)))
