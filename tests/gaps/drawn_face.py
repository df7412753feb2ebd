"""Flow faces drawn from known slots: beads lit from the rim's side, blur, noise, 8-bit codes.

No part of the measurement is used here. A bead is bright on its upper half and dark on its lower
one; an open slot takes its own height out of the beads beside it and returns little light.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from scoring.metrics import FaceName
from scoring.registration.face import RectifiedFace

Array = NDArray[np.float64]
HIGH_MM, MARGIN_MM = 24.0, 2.0
BAND_MM, STEADY_MM, RECOVERY_MM = (3.0, 21.0), (8.0, 30.0), (50.0, 94.0)
STEP_MM = 0.1
FINE = 8
GROOVES_MM = [31.6 + 3.2 * k for k in range(6)]


@dataclass(frozen=True)
class Slot:
    """One open slot at boundary ``layer``, ``height_mm`` high all along."""

    layer: int
    u0_mm: float
    u1_mm: float
    height_mm: float


@dataclass(frozen=True)
class Look:
    """How the face looks: layers, light, lens, sensor."""

    layer_mm: float = 0.2
    px_per_mm: int = 20
    colour: tuple[float, float, float] = (0.5, 0.4, 0.3)
    contrast: float = 0.25
    starved: float = 0.0
    falloff: float = 0.1
    banding: float = 0.01
    floor: float = 0.03
    blur_mm: float = 0.05
    noise: float = 0.02
    lift_mm: float = 0.0
    tilt_mm: float = 0.0
    from_above: float = 0.5
    """The share of a slot that the bead above it lacks; the bead below lacks the rest."""


@dataclass(frozen=True)
class DrawnFace:
    """The face, the slots and what is true of them."""

    face: RectifiedFace
    slots: tuple[Slot, ...]
    open_mm: Array
    u_mm: Array

    def fraction(self, zone_mm: tuple[float, float]) -> float:
        """Open area over the area of the zone's part in the measured band."""
        inside = (self.u_mm >= zone_mm[0]) & (self.u_mm <= zone_mm[1])
        return float(self.open_mm[:, inside].sum(axis=0).mean() / (BAND_MM[1] - BAND_MM[0]))


def draw_face(look: Look, slots: tuple[Slot, ...], rng: np.random.Generator) -> DrawnFace:
    """Draw ``slots`` into a face of the given look."""
    layers = round(HIGH_MM / look.layer_mm)
    pitch = HIGH_MM / layers
    u = np.arange(-MARGIN_MM, 100 + MARGIN_MM + STEP_MM / 2, STEP_MM)
    open_mm = np.zeros((layers + 1, u.size))
    for slot in slots:
        run = (u >= slot.u0_mm) & (u <= slot.u1_mm)
        open_mm[slot.layer, run] = np.maximum(open_mm[slot.layer, run], slot.height_mm)

    fine_mm = 1 / (look.px_per_mm * FINE)
    rows = round((HIGH_MM + 2 * MARGIN_MM) * look.px_per_mm) + 1
    w_px = HIGH_MM + MARGIN_MM - np.arange(rows) / look.px_per_mm
    w = (w_px[:, None] + (np.arange(FINE)[::-1] - (FINE - 1) / 2) * fine_mm).ravel()
    course = look.lift_mm + look.tilt_mm * (u - 50) / 50
    light = np.empty((w.size, u.size), np.float32)
    past = np.where(u > 50, np.exp(-np.maximum(u - 50, 0) / 8), 0.0)
    contrast = look.contrast * (1 + look.starved * past)
    band = 1 + look.banding * rng.standard_normal(layers)
    for j in range(u.size):
        at = w - course[j]
        layer = np.clip((at / pitch).astype(np.int64), 0, layers - 1)
        low = open_mm[layer, j] * look.from_above
        high = open_mm[layer + 1, j] * (1 - look.from_above)
        place = (at - layer * pitch - low) / (pitch - low - high) * 2 - 1
        lit = band[layer] * (1 + contrast[j] * place)
        # The share of each fine row that the bead fills: slots keep their height to the micrometre.
        inside = (1 - np.abs(place)) * (pitch - low - high) / 2 / fine_mm + 0.5
        filled = np.clip(inside, 0.0, 1.0)
        light[:, j] = filled * lit + (1 - filled) * np.where(low + high > 0, look.floor, lit)
        light[(at < 0) | (at > HIGH_MM), j] = 0.8
    light *= (1 - look.falloff * (u / 100 - 0.5)).astype(np.float32)
    for centre in GROOVES_MM:
        light[:, np.abs(u - centre) <= 0.6] *= 0.85
    light = ndimage.gaussian_filter1d(light, look.blur_mm / fine_mm, axis=0, truncate=3)
    light = light.reshape(rows, FINE, u.size).mean(axis=1)
    columns = round((100 + 2 * MARGIN_MM) * look.px_per_mm) + 1
    u_px = np.arange(columns) / look.px_per_mm - MARGIN_MM
    picked = light[:, np.clip(np.rint((u_px + MARGIN_MM) / STEP_MM).astype(int), 0, u.size - 1)]
    picked = ndimage.gaussian_filter1d(picked, look.blur_mm * look.px_per_mm, axis=1)
    linear = picked[..., None] * np.array(look.colour, np.float32)
    linear *= 1 + look.noise * rng.standard_normal(linear.shape, dtype=np.float32)
    codes = np.round(np.clip(linear, 0, 1) ** (1 / 2.2) * 255)
    linear = ((codes / 255) ** 2.2).astype(np.float32)
    face = RectifiedFace(
        FaceName.FLOW, linear, codes.max(axis=2) >= 255, float(look.px_per_mm), -MARGIN_MM, w_px[0]
    )
    k = np.arange(layers + 1) * pitch
    inside = (k >= BAND_MM[0] - 1e-9) & (k <= BAND_MM[1] + 1e-9)
    return DrawnFace(face, slots, np.where(inside[:, None], open_mm, 0.0), u)


def draw_slots(
    look: Look, rng: np.random.Generator, *, count: int, decay_mm: float = 8.0
) -> tuple[Slot, ...]:
    """Slots after the grooves, fewer and lower further on, none touching another of its layer."""
    layers = round(HIGH_MM / look.layer_mm)
    busy: dict[int, list[tuple[float, float]]] = {}
    slots: list[Slot] = []
    low, high = (int(np.ceil(b / look.layer_mm)) for b in BAND_MM)
    for _ in range(20 * count):
        if len(slots) == count:
            break
        begin = 50.5 + float(rng.exponential(decay_mm))
        length = float(rng.uniform(1.5, 10.0))
        layer = int(rng.integers(low + 1, min(high - 1, layers)))
        if begin + length > 93.5 or any(
            a - 1.5 < begin + length and begin < b + 1.5 for a, b in busy.get(layer, [])
        ):
            continue
        height = float(rng.uniform(0.15, 0.55)) * look.layer_mm
        busy.setdefault(layer, []).append((begin, begin + length))
        slots.append(Slot(layer, begin, begin + length, height))
    return tuple(slots)
