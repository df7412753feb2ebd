"""Open slots of the flow face: drawn until they open the share asked for, and their exact truth."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.conditions import GapPlan
from reference_images.standard import (
    BAND_W_MM,
    LENGTH_MM,
    RECOVERY_ZONE_U_MM,
    STEADY_ZONE_U_MM,
)

Array = NDArray[np.float64]
STEP_MM = 0.005
"""Slots are known, and their truth taken, at points this far apart along u."""

APART_MM, HIGHEST_MM, HIGHEST_SHARE = 0.4, 0.12, 0.6
"""Slots of one line of layers keep apart; none is higher than this, or this share of a layer."""

OPEN_MM, WINDOW_MM, TRIES = 0.01, 2.0, 4000


@dataclass(frozen=True)
class Slots:
    """Slots by the line between two layers that they lie on: line k is at w = k layer heights.

    ``open_mm`` (L, F) is their height at ``fine_u_mm`` (F,), ``height_mm`` (L, U) the same at the
    relief's columns, ``depth_mm`` (L, U) how deep they are there. ``listed`` is each as told.
    """

    fine_u_mm: Array
    open_mm: NDArray[np.float32]
    height_mm: Array
    depth_mm: Array
    listed: list[dict[str, float]]


@dataclass
class _Bench:
    """Slots in the making, on one face."""

    rng: np.random.Generator
    plan: GapPlan
    layer_mm: float
    u_mm: Array
    fine_u_mm: Array
    open_mm: NDArray[np.float32]
    depth_mm: Array
    listed: list[dict[str, float]] = field(default_factory=list)
    taken: dict[int, list[tuple[float, float]]] = field(default_factory=dict)

    @property
    def highest_mm(self) -> float:
        """No slot is higher."""
        return min(HIGHEST_MM, HIGHEST_SHARE * self.layer_mm)

    def draw_size(self) -> tuple[float, float, float]:
        """Length, height and depth of a slot, mm."""
        rng, plan = self.rng, self.plan
        length = np.clip(plan.length_mm * np.exp(0.6 * rng.standard_normal()), 0.5, 10)
        height = np.clip(
            plan.height_mm * np.exp(0.35 * rng.standard_normal()), 0.02, self.highest_mm
        )
        return float(length), float(height), rng.uniform(0.3, 0.8)

    def cut(self, line: int, start: float, end: float, *, height: float, depth: float) -> float:
        """Cut a slot where none is near; the open area (mm^2) that counts in the recovery zone."""
        taken = self.taken.setdefault(line, [])
        if any(start < b + APART_MM and end > a - APART_MM for a, b in taken):
            return 0.0
        taken.append((start, end))
        rng, u = self.rng, self.fine_u_mm
        taper = min((end - start) * 0.45, self.plan.taper_mm * (0.6 + 0.8 * rng.random()))
        turn = 2 * np.pi * (u - start) / (0.7 + 2 * rng.random()) + 6.28 * rng.random()
        wobble = 1 + 0.15 * np.sin(turn)
        share = np.clip(np.minimum(u - start, end - u) / taper, 0, 1)
        if self.plan.end == "round":
            share = np.sqrt(share * (2 - share))
        opening = np.minimum(height * share * wobble, self.highest_mm)
        opening[(u < start) | (u > end)] = 0
        self.open_mm[line] += opening
        self.depth_mm[line][(self.u_mm >= start - 0.05) & (self.u_mm <= end + 0.05)] = depth
        w = line * self.layer_mm
        told = {"u0_mm": start, "u1_mm": end, "w_mm": w, "height_mm": float(opening.max())}
        self.listed.append({k: round(v, 4) for k, v in told.items()})
        in_zone = (u > RECOVERY_ZONE_U_MM[0]) & (u < RECOVERY_ZONE_U_MM[1])
        in_band = BAND_W_MM[0] < w < BAND_W_MM[1]
        return float(opening[in_zone].sum() * STEP_MM) if in_band else 0.0


def draw_slots(
    rng: np.random.Generator, plan: GapPlan, u_mm: Array, *, layer_mm: float, layers: int
) -> Slots:
    """Slots between the ``layers`` of a face with relief columns at ``u_mm`` (U,).

    They crowd after the details and thin out from there; a few low ones may lie in the steady zone.
    """
    fine = np.arange(0, LENGTH_MM, STEP_MM) + STEP_MM / 2
    bench = _Bench(
        rng,
        plan,
        layer_mm,
        u_mm,
        fine,
        open_mm=np.zeros((layers + 1, fine.size), np.float32),
        depth_mm=np.zeros((layers + 1, u_mm.size)),
    )
    _fill_recovery(bench, layers)
    if plan.share > 0:
        _add_steady(bench)
    bench.listed.sort(key=lambda slot: slot["u0_mm"])
    height = np.array([np.interp(u_mm, fine, line) for line in bench.open_mm])
    return Slots(fine, bench.open_mm, height, bench.depth_mm, bench.listed)


def find_gap_truth(slots: Slots, layer_mm: float) -> dict[str, Any]:
    """Gap numbers as the standard defines them, for the measured band, and every slot."""
    u, w = slots.fine_u_mm, np.arange(len(slots.open_mm)) * layer_mm
    in_band = (w > BAND_W_MM[0]) & (w < BAND_W_MM[1])
    recovery = (u > RECOVERY_ZONE_U_MM[0]) & (u < RECOVERY_ZONE_U_MM[1])
    steady = (u > STEADY_ZONE_U_MM[0]) & (u < STEADY_ZONE_U_MM[1])
    share = slots.open_mm[in_band].sum(0) / (BAND_W_MM[1] - BAND_W_MM[0])
    lengths = [_find_runs(line[recovery]) for line in slots.open_mm[in_band]]
    return {
        "gap_fraction": float(share[recovery].mean()),
        "steady_gap_fraction": float(share[steady].mean()),
        "gap_longest_mm": float(max((run.max() for run in lengths if run.size), default=0.0)),
        "gap_count": sum(run.size for run in lengths),
        "recovery_mm": _find_recovery(share[recovery]),
        "gaps": slots.listed,
    }


def _fill_recovery(bench: _Bench, layers: int) -> None:
    """Cut slots at random until the share asked for is open, or no room is left."""
    rng, layer = bench.rng, bench.layer_mm
    start, end = RECOVERY_ZONE_U_MM
    wanted = bench.plan.share * (end - start) * (BAND_W_MM[1] - BAND_W_MM[0])
    lines = np.arange(2, layers - 1)
    area, tried = 0.0, 0
    while area < wanted and tried < TRIES:
        tried += 1
        line = int(rng.choice(lines))
        if not 1.5 < line * layer < 22.5:
            continue
        length, height, depth = bench.draw_size()
        at = start + 0.1 + rng.exponential(bench.plan.decay_mm) + rng.uniform(0, 0.6)
        if at + length <= end - 0.1:
            area += bench.cut(line, at, at + length, height=height, depth=depth)


def _add_steady(bench: _Bench) -> None:
    rng, layer = bench.rng, bench.layer_mm
    for _ in range(bench.plan.steady_count):
        length, height, depth = bench.draw_size()
        length = min(length, 3.0)
        at = rng.uniform(STEADY_ZONE_U_MM[0] + 0.5, STEADY_ZONE_U_MM[1] - 0.5 - length)
        line = int(rng.integers(int(3.5 / layer), int(20.5 / layer)))
        bench.cut(line, at, at + length, height=min(height, 0.06), depth=depth)


def _find_runs(open_mm: NDArray[np.float32]) -> Array:
    """Lengths of the open runs along one line, mm."""
    edges = np.diff(np.concatenate([[0], (open_mm >= OPEN_MM).astype(int), [0]]))
    counts = np.nonzero(edges < 0)[0] - np.nonzero(edges > 0)[0]
    return np.asarray(counts * STEP_MM, float)


def _find_recovery(share: NDArray[np.floating[Any]]) -> float:
    """From the zone's start to the middle of its last window above a tenth of the fullest, mm."""
    count = round(WINDOW_MM / STEP_MM)
    total = np.concatenate([[0], np.cumsum(share)])
    means = (total[count:] - total[:-count]) / count
    if means.max() <= 0:
        return 0.0
    start = RECOVERY_ZONE_U_MM[0]
    middles = start + (np.arange(means.size) + count / 2) * STEP_MM
    return float(middles[np.nonzero(means > 0.1 * means.max())[0][-1]] - start)
