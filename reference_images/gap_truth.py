"""Open slots between layers on the flow face, and their true numbers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.scene import Starvation
from reference_images.standard import (
    BAND_W_MM,
    HEIGHT_MM,
    RECOVERY_ZONE_U_MM,
    STEADY_ZONE_U_MM,
)

Array = NDArray[np.float64]
WINDOW_MM = 2.0
OPEN_MM = 0.01  # a slot lower than this is a closed seam, not a gap
TAPER_MM = 0.6


@dataclass(frozen=True)
class Gap:
    """One open slot: its extent along u, its place, its largest height."""

    u0_mm: float
    u1_mm: float
    w_mm: float
    height_mm: float


@dataclass(frozen=True)
class GapTruth:
    """The flow face's numbers, as design defines them, and the slots in the measured band."""

    gap_fraction: float
    gap_longest_mm: float
    gap_count: int
    recovery_mm: float
    steady_gap_fraction: float
    gaps: tuple[Gap, ...]


def deficit(starvation: Starvation, u_mm: Array) -> Array:
    """How starved the nozzle is at each u: 0 before the details end, then 1 falling to 0."""
    past = u_mm - RECOVERY_ZONE_U_MM[0]
    return np.where(past < 0, 0.0, np.exp(-np.maximum(past, 0.0) / starvation.decay_mm))


def _slot(u_mm: Array, u0: float, length: float, height: float) -> Array:
    """Height of one slot along u: flat, with rounded ends over the taper's length."""
    taper = min(TAPER_MM, length / 2)
    inside = np.minimum(u_mm - u0, u0 + length - u_mm) / taper
    return np.asarray(height * np.sqrt(np.clip(inside, 0.0, 1.0)))


def draw_slots(starvation: Starvation, u_mm: Array, layers: int, rng: np.random.Generator) -> Array:
    """Slot heights in mm, (layers + 1, N): one row a boundary between layers, foot and rim 0.

    Numbers, lengths and heights fall with the deficit. Slots are at most 0.6 layers high, so that
    two neighbouring ones leave a bead between them.
    """
    slots = np.zeros((layers + 1, u_mm.size))
    start = RECOVERY_ZONE_U_MM[0]
    limit = 0.6 * HEIGHT_MM / layers
    for k in range(2, layers - 1):
        for _ in range(rng.poisson(starvation.gaps_per_layer)):
            u0 = start + 0.3 + rng.exponential(starvation.decay_mm)
            left = float(np.exp(-(u0 - start) / starvation.decay_mm))
            length = starvation.longest_mm * rng.uniform(0.15, 1.0) * (0.25 + 0.75 * left)
            height = starvation.largest_height_mm * rng.uniform(0.3, 1.0) * (0.3 + 0.7 * left)
            if u0 + length > RECOVERY_ZONE_U_MM[1] or length < 0.8:
                continue
            slots[k] = np.maximum(slots[k], _slot(u_mm, u0, length, min(height, limit)))
    for _ in range(starvation.steady_gaps):
        k = int(rng.integers(20, layers - 20))
        u0, length = rng.uniform(9.0, 26.0), rng.uniform(1.0, 3.5)
        slots[k] = np.maximum(slots[k], _slot(u_mm, u0, length, rng.uniform(0.03, 0.06)))
    return slots


def _runs(open_: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], open_.astype(np.int8), [0]))))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def find_gap_truth(slots_mm: Array, u_mm: Array) -> GapTruth:
    """The true numbers of slot heights (layers + 1, N) over a regular grid ``u_mm`` (N,).

    No slot at all: every number is 0. The recovery is the far edge's centre of the moving window.
    """
    w = np.linspace(0.0, HEIGHT_MM, slots_mm.shape[0])
    band = (w >= BAND_W_MM[0]) & (w <= BAND_W_MM[1])
    high = BAND_W_MM[1] - BAND_W_MM[0]
    open_mm = np.where(slots_mm >= OPEN_MM, slots_mm, 0.0)[band]
    column = open_mm.sum(axis=0) / high

    def mean_over(zone: tuple[float, float]) -> float:
        fine = np.linspace(*zone, 20001)
        return float(np.mean(np.interp(fine, u_mm, column)))

    zone = RECOVERY_ZONE_U_MM
    total = np.concatenate(([0.0], np.cumsum((column[1:] + column[:-1]) / 2 * np.diff(u_mm))))
    centres = np.linspace(zone[0] + WINDOW_MM / 2, zone[1] - WINDOW_MM / 2, 8401)
    upper = np.interp(centres + WINDOW_MM / 2, u_mm, total)
    moving = (upper - np.interp(centres - WINDOW_MM / 2, u_mm, total)) / WINDOW_MM
    starved = np.flatnonzero(moving > 0.1 * moving.max())  # empty where there is no gap
    recovery = float(centres[starved[-1]] - zone[0]) if starved.size else 0.0

    gaps = []
    for row, w_mm in zip(open_mm, w[band], strict=True):
        for a, b in _runs(row > 0):
            gaps.append(
                Gap(float(u_mm[a]), float(u_mm[b]), float(w_mm), float(row[a : b + 1].max()))
            )
    inside = [g for g in gaps if g.u1_mm > zone[0] and g.u0_mm < zone[1]]
    lengths = [min(g.u1_mm, zone[1]) - max(g.u0_mm, zone[0]) for g in inside]
    return GapTruth(
        gap_fraction=mean_over(zone),
        gap_longest_mm=max(lengths, default=0.0),
        gap_count=len(inside),
        recovery_mm=recovery,
        steady_gap_fraction=mean_over(STEADY_ZONE_U_MM),
        gaps=tuple(gaps),
    )
