"""Open slots in the tops of layers of the flow face, and their true numbers."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.standard import (
    BAND_W_MM,
    HEIGHT_MM,
    RECOVERY_ZONE_U_MM,
    STEADY_ZONE_U_MM,
)

Array = NDArray[np.float64]
DECAY_SHARE = 2.3
"""A tenth of the slots lie beyond the recovery length."""

APART_MM, LAST_MM, LOWEST_MM = 0.4, 97.0, 0.02
STEP_MM, WINDOW_MM, SHORTEST_MM = 0.01, 2.0, 0.1
TRIES = 20000


@dataclass(frozen=True)
class Slot:
    """One slot: where it begins, how long it is, which layer lacks how much of its top."""

    u0_mm: float
    length_mm: float
    layer: int
    height_mm: float
    depth_mm: float
    wobbles_rad_mm: float
    phase_rad: float


@dataclass(frozen=True)
class Starvation:
    """What the slots of one photo are drawn from."""

    recovery_mm: float
    open_share: float
    steady_slots: int
    deeper_beads: float


def draw_starvation(rng: np.random.Generator, seed: int) -> Starvation:
    """One seed in seven has no slots after the details."""
    return Starvation(
        recovery_mm=float(rng.uniform(3, 25)),
        open_share=0.0 if seed % 7 == 6 else float(rng.uniform(0.003, 0.05)),
        steady_slots=int(rng.choice([0, 0, 3, 6])),
        deeper_beads=float(rng.uniform(0, 0.5)),
    )


def draw_slots(rng: np.random.Generator, layer_mm: float, starved: Starvation) -> list[Slot]:
    """Slots that are most, longest and highest just behind the details."""
    layers = round(HEIGHT_MM / layer_mm)
    scale_mm = starved.recovery_mm / DECAY_SHARE
    high = BAND_W_MM[1] - BAND_W_MM[0]
    start, end = RECOVERY_ZONE_U_MM
    wanted_mm2 = min(starved.open_share, 0.0032 * starved.recovery_mm) * (end - start) * high
    slots: list[Slot] = []
    used: dict[int, list[tuple[float, float]]] = {}

    def add(u0_mm: float, length_mm: float, layer: int, height_mm: float) -> float:
        """The open area that is added, about; 0 where there is no room."""
        length_mm = max(length_mm, 4 * height_mm)
        if u0_mm + length_mm > LAST_MM or layer >= layers - 1:
            return 0.0
        for a, b in used.get(layer, []):
            if u0_mm < b + APART_MM and a < u0_mm + length_mm + APART_MM:
                return 0.0
        used.setdefault(layer, []).append((u0_mm, u0_mm + length_mm))
        depth, wobbles, phase = rng.uniform(0.3, 0.8), rng.uniform(1.5, 5), rng.uniform(0, 6)
        slots.append(
            Slot(u0_mm, length_mm, layer, height_mm, float(depth), float(wobbles), float(phase))
        )
        return 0.9 * length_mm * height_mm

    area = 0.0
    for _ in range(TRIES):
        if area >= wanted_mm2:
            break
        away = float(rng.exponential(scale_mm))
        fade = math.exp(-away / (2 * scale_mm))
        layer = int(rng.integers(1, layers - 1))
        height = layer_mm * float(rng.uniform(0.35, 0.85)) * (0.5 + 0.5 * fade)
        length = float(rng.lognormal(math.log(1 + 1.6 * fade), 0.5))
        length = float(np.clip(length, 0.5, 1.5 + 0.5 * starved.recovery_mm))
        added = add(start + 0.2 + away, length, layer, height)
        area += added if BAND_W_MM[0] <= layer * layer_mm <= BAND_W_MM[1] - layer_mm else 0.0
    for _ in range(starved.steady_slots):
        u0, length = float(rng.uniform(8, 28)), float(rng.uniform(0.6, 2))
        layer = int(rng.integers(1, layers - 1))
        add(u0, length, layer, layer_mm * float(rng.uniform(0.3, 0.6)))
    return slots


def carve(slots: list[Slot], u_mm: Array, layers: int) -> tuple[Array, Array]:
    """Open height and depth of each layer's top along ``u_mm`` (N,): two of (``layers``, N)."""
    height, depth = np.zeros((2, layers, u_mm.size))
    for slot in slots:
        x = (u_mm - slot.u0_mm) / (slot.length_mm / 2) - 1
        shape = slot.height_mm * np.sqrt(np.clip(1 - np.abs(x) ** 4, 0, 1)) * (np.abs(x) < 1)
        shape *= 1 + 0.12 * np.sin(u_mm * slot.wobbles_rad_mm + slot.phase_rad)
        hit = shape > 0
        height[slot.layer, hit] = shape[hit]
        depth[slot.layer, hit] = slot.depth_mm
    height[height < LOWEST_MM] = 0.0
    return height, depth


def find_gap_truth(height_mm: Array, u_mm: Array, layer_mm: float) -> dict[str, object]:
    """The true numbers of ``height_mm`` (layers, N) over ``u_mm`` (N,), the band's part of it.

    Without a slot every number is 0.
    """
    low, high = BAND_W_MM
    zone, steady = RECOVERY_ZONE_U_MM, STEADY_ZONE_U_MM
    fine = np.arange(zone[0], zone[1] + 1e-9, STEP_MM)
    calm = np.arange(steady[0], steady[1], STEP_MM)
    open_mm, calm_mm, runs = np.zeros(fine.size), 0.0, []
    for layer, row in enumerate(height_mm):
        top = (layer + 1) * layer_mm
        tall = np.interp(fine, u_mm, row)
        tall = np.clip(np.minimum(top, high) - np.maximum(top - tall, low), 0, None)
        open_mm += tall
        edges = np.diff(np.concatenate([[0], (tall > 0).astype(int), [0]]))
        lengths = (np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1)) * STEP_MM
        runs += [float(n) for n in lengths if n >= SHORTEST_MM]
        if low <= layer * layer_mm <= high - layer_mm:
            calm_mm += float(np.interp(calm, u_mm, row).sum())
    share = open_mm / (high - low)
    window = np.ones(round(WINDOW_MM / STEP_MM)) / round(WINDOW_MM / STEP_MM)
    moving = np.convolve(share, window, "same") / np.convolve(np.ones(fine.size), window, "same")
    starved = np.flatnonzero(moving > 0.1 * moving.max())  # empty where there is no slot
    return {
        "gap_fraction": float(share.mean()),
        "gap_longest_mm": max(runs, default=0.0),
        "gap_count": len(runs),
        "recovery_mm": float(fine[starved[-1]] - zone[0]) if starved.size else 0.0,
        "steady_gap_fraction": calm_mm * STEP_MM / ((steady[1] - steady[0]) * (high - low)),
    }
