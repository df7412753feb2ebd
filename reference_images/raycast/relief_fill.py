"""Filling the height field cell by cell: beads, layers' own lines, slots and ends (numba)."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
Heights = NDArray[np.float32]
Codes = NDArray[np.uint8]
OFF_FACE = 255
CODE_MM = 0.005
"""A slot's depth is told in steps of this, up to 254 of them."""


@njit
def fill_relief(
    heights: Heights,
    codes: Codes,
    open_um: Codes,
    step_u: float,
    step_w: float,
    layer_mm: float,
    layers: int,
    profile: Array,
    bead_mm: Array,
    offset_mm: Array,
    layer_line_mm: Heights,
    slot_mm: Array,
    slot_depth_mm: Array,
    start_mm: Array,
    end_mm: Array,
    corner_mm: float,
    common_mm: Array,
    foot_width_mm: float,
    foot_mm: float,
) -> None:
    """Add everything to ``heights`` (W, U), which hold the texture; write codes and slots' heights.

    For each layer: its place ``offset_mm``, its line along u (layers, U), its ends; for each line
    between two layers: how deep the valley is (layers + 1,), and its slots (layers + 1, U). A bead
    next to a slot is as much lower. ``profile`` (401,) is a bead's; ``corner_mm`` a radius.
    """
    rows, columns = heights.shape
    steps = profile.shape[0] - 1
    for i in range(rows):
        w = (i + 0.5) * step_w
        layer = min(int(w / layer_mm), layers - 1)
        for j in range(columns):
            u = (j + 0.5) * step_u
            if u < start_mm[layer] or u > end_mm[layer]:
                codes[i, j] = OFF_FACE
                heights[i, j] = -corner_mm
                continue
            low = layer * layer_mm + 0.5 * slot_mm[layer, j]
            high = (layer + 1) * layer_mm - 0.5 * slot_mm[layer + 1, j]
            if w < low or w > high:
                line = layer if w < low else layer + 1
                codes[i, j] = min(OFF_FACE - 1, int(slot_depth_mm[line, j] / CODE_MM + 0.5))
                open_um[i, j] = min(255, int(slot_mm[line, j] * 1000 + 0.5))
                across = 0.0
            else:
                across = (w - low) / (high - low)
            x = across * steps
            m = min(int(x), steps - 1)
            fall = profile[m] + (x - m) * (profile[m + 1] - profile[m])
            line = layer if across < 0.5 else layer + 1
            y = -fall * bead_mm[line] + offset_mm[layer] + layer_line_mm[layer, j] + common_mm[j]
            inside = min(u - start_mm[layer], end_mm[layer] - u)
            if inside < corner_mm:
                left = corner_mm - inside
                y -= corner_mm - np.sqrt(max(0.0, corner_mm * corner_mm - left * left))
            if w < foot_width_mm:
                y += foot_mm * (1 - w / foot_width_mm)
            heights[i, j] += y
