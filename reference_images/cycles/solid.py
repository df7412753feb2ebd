"""The coupon as a closed mesh: beads, facets or grooves, ripple or slots, rounded ends, chamfer."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from reference_images.cycles.conditions import Print
from reference_images.cycles.ripple import Mode, Motion, ease, fade_in, ripple_mm
from reference_images.cycles.slots import DECAY_SHARE, Slot, Starvation, carve
from reference_images.standard import (
    BLADE,
    CHAMFER_MM,
    HEIGHT_MM,
    LENGTH_MM,
    RECOVERY_ZONE_U_MM,
    THICKNESS_MM,
)

Array = NDArray[np.float64]
U_MM = np.linspace(0, LENGTH_MM, 2001)
ROW_MM, WALL_MM, GROOVE_WALL_MM = 0.036, 0.06, 0.1
RECESSED_MM, DEEP_VALLEY_MM, DEEP_VALLEY_SHARE = 0.015, 0.08, 0.35
"""A bead that a slot has thinned lies deeper, between deeper valleys."""


@dataclass(frozen=True)
class Solid:
    """``vertices`` (V, 3) in mm about the face's middle, z out of it; ``quads`` (Q, 4)."""

    vertices: NDArray[np.float32]
    quads: NDArray[np.int32]
    u_mm: Array
    open_mm: Array


def facets_mm(u_mm: Array) -> Array:
    """Height of the facets along u, any shape."""
    y = np.zeros_like(u_mm)
    for facet in BLADE["faces"]["ringdown"]["facets"]:
        low, high = facet["u_mm"]
        y += math.tan(math.radians(facet["slope_deg"])) * (np.clip(u_mm, low, high) - low)
    return y


def build_solid(
    rng: np.random.Generator,
    face: str,
    made: Print,
    *,
    motion: Motion,
    modes: tuple[Mode, ...],
    slots: list[Slot],
    starved: Starvation | None,
) -> Solid:
    """The coupon of ``face``; ``starved`` is the flow face's, ``None`` on the other."""
    radius = made.edge_radius_mm
    end = radius * (1 - np.cos(np.linspace(0, np.pi / 2, 9)))
    u = np.unique(np.concatenate([U_MM, end, LENGTH_MM - end]))
    layers = round(HEIGHT_MM / made.layer_mm)
    jitter = rng.standard_normal(layers) * made.jitter_um / 1000
    offset = rng.standard_normal(layers) * made.offset_mm
    size = 1 + rng.standard_normal(layers) * made.amplitude_scatter
    size /= size.mean()
    texture = rng.standard_normal((layers, u.size))
    texture = gaussian_filter1d(texture, made.texture_length_mm / 0.05, axis=1)
    texture *= made.texture_um / 1000 / texture.std()
    height, depth = carve(slots, u, layers)
    rows_w: list[Array] = []
    rows_y: list[Array] = []
    for i in range(layers):
        at = u + offset[i] * ease(u / 2) * ease((LENGTH_MM - u) / 2)
        base = jitter[i] + texture[i]
        if face == "ringdown":
            base = base + facets_mm(at)
            base = base + size[i] * ripple_mm(at, motion, modes) * fade_in(at)
        valley = np.full(u.size, made.bead_depth_um / 1000 * (1 + 0.1 * math.sin(1.7 * i)))
        thinned = np.clip(height[i] / (0.25 * made.layer_mm), 0, 1)
        if starved:
            past = np.maximum(u - RECOVERY_ZONE_U_MM[0], 0)
            fall = np.exp(-past * DECAY_SHARE / starved.recovery_mm) * (past > 0)
            valley = valley * (1 + starved.deeper_beads * fall)
            base = base - RECESSED_MM * thinned
        deep = min(DEEP_VALLEY_MM, DEEP_VALLEY_SHARE * made.layer_mm)
        valley = valley + thinned * (deep - valley)
        w, y = _bead(i, at, base, valley, height[i], face=face, made=made)
        rows_w += w
        rows_y += y
        if face == "flow" and i < layers - 1:
            floor = np.where(height[i] > 0, -depth[i], y[-1])
            rows_w += [w[-1], np.full(u.size, (i + 1) * made.layer_mm)]
            rows_y += [floor, floor]
    vertices, quads = _close(u, np.array(rows_w), np.array(rows_y), face, radius)
    return Solid(vertices, quads, u, height)


def _bead(
    layer: int, at_u: Array, base: Array, valley: Array, slot: Array, *, face: str, made: Print
) -> tuple[list[Array], list[Array]]:
    """Rows of w and y across one bead, what the face carries cut into it."""
    bottom = np.full(at_u.size, layer * made.layer_mm)
    top = (layer + 1) * made.layer_mm - slot
    steps = max(4, math.ceil(made.layer_mm / ROW_MM))
    rows_w, rows_y = [], []
    for share in np.linspace(0, 1, steps + 1):
        w = bottom + share * (top - bottom)
        y = base - valley * abs(2 * share - 1) ** made.bead_power
        if face == "ringdown":
            ticks = BLADE["faces"]["ringdown"]["ticks"]
            tall = (w > ticks["w_mm"][0]) & (w < ticks["w_mm"][1])
            for middle in ticks["u_mm"][: 1 if made.axis == "x" else 2]:
                y = y - ticks["depth_mm"] * _box(at_u, middle, ticks["width_mm"], WALL_MM) * tall
        else:
            grooves = BLADE["faces"]["flow"]["grooves"]
            for k in range(grooves["count"]):
                middle = grooves["first_u_mm"] + k * grooves["pitch_mm"]
                inside = _box(at_u, middle, grooves["width_mm"], GROOVE_WALL_MM)
                y = y - grooves["depth_mm"] * inside
        rows_w.append(w)
        rows_y.append(y)
    return rows_w, rows_y


def _close(
    u: Array, w: Array, y: Array, face: str, radius: float
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Cut the corner, round the ends, and add walls down to the card."""
    across = np.broadcast_to(u, w.shape)
    cut = w - (HEIGHT_MM - CHAMFER_MM)
    if face == "ringdown":
        low, high = np.zeros_like(w), np.minimum(LENGTH_MM, LENGTH_MM - cut)
    else:
        low, high = np.maximum(0, cut), np.full_like(w, LENGTH_MM)
    # Edge columns must land exactly on the cut: moved, not dropped.
    moved = np.clip(across, low, high)
    for away in (moved - low, high - moved):
        x = np.clip(away / radius, 0, 1)
        y = y - radius * (1 - np.sqrt(1 - (1 - x) ** 2))
    points = np.stack([moved - LENGTH_MM / 2, w - HEIGHT_MM / 2, y], axis=-1)
    points = np.pad(points, ((1, 1), (1, 1), (0, 0)), mode="edge")
    points[[0, -1], :, 2] = -THICKNESS_MM
    points[:, [0, -1], 2] = -THICKNESS_MM
    rows, columns = points.shape[:2]
    index = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)
    corners = (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1])
    quads = np.stack(corners, axis=-1).reshape(-1, 4)
    flat = points.reshape(-1, 3)

    def apart(a: int, b: int) -> Array:
        return np.asarray(np.linalg.norm(flat[quads[:, a]] - flat[quads[:, b]], axis=1))

    # Beyond the cut corner columns coincide: quads without area.
    wide, tall = apart(0, 1) + apart(2, 3), apart(0, 3) + apart(1, 2)
    return flat.astype(np.float32), quads[(wide > 1e-7) & (tall > 1e-7)]


def _box(x: Array, middle: float, width: float, wall: float) -> Array:
    """1 within ``width`` about ``middle``, falling to 0 over walls centred on its edges."""
    low, high = middle - width / 2, middle + width / 2
    rising = np.clip((x - low) / wall + 0.5, 0, 1)
    return np.asarray(rising * np.clip((high - x) / wall + 0.5, 0, 1))
