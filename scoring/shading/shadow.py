"""The coupon's own shadow on the card: how low the lamp stands, and how much light strays in."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.least_squares import MAD_TO_SD
from scoring.photo.photo import Photo
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample
from scoring.shading.paper import (
    Paper,
    clear_of_markers,
    is_inside,
    project_card,
    quadratic,
)

LINES_W_MM = np.linspace(0.25, 23.75, 48)
STEP_MM = 0.25
REACH_MM = 75.0
"""The shadow's tip is looked for up to here: a lamp 9 degrees up throws it so far."""

ROUNDING_MM = 0.35
"""The printed edge is rounded, so the ray that grazes it passes lower; taken from common practice,
no source. It shortens the shadow by about this."""

LABEL_RIM_MM = 2.0
"""So much of a label round its code is white paper too."""

WINDOW = int(3 / STEP_MM)
MIN_LINES = 3
SD_FLOOR = 0.02
DARK, LIT = 0.45, 0.8
"""Shaded and lit paper, as shares of what would be there without the coupon."""

EVEN_SHARE, MAX_COVERED = 0.5, 0.25
"""Shaded paper is even; a stretch darker than this share of it is something lying there. Where it
lies across more than such a share of the lines, its edge may pass for the tip."""

SHADE_MM, SHADE_SIDE_MM, MIN_SHADED = (10.0, 15.0), 5.0, 40
"""Where paper is read in the shade: so far from the coupon's wall, which hides stray light and
sends some, not so far that a lamp 28 degrees up reaches it, and inside the shadow's soft sides. The
tip is sought from the first on, and lies beyond the second."""


@dataclass(frozen=True)
class Shadow:
    """Cotangent of the lamp's elevation at the coupon's far end, and its standard deviation.

    ``edge_u_mm`` is the face's end that is farther from the lamp.
    """

    cotangent: float
    sd: float
    edge_u_mm: float


@dataclass(frozen=True)
class Shade:
    """Paper that the lamp does not light: nominal linear ``light`` (3,), and where it lies (2,)."""

    light: NDArray[np.float64]
    card_mm: NDArray[np.float64]


@dataclass(frozen=True)
class ShadowLines:
    """L lines from the coupon's far end away from the lamp, read at N distances.

    They start from the face's end ``edge_u_mm`` at ``w_mm`` (L,) and are read ``distance_mm`` (N,)
    away from there, at ``points_mm`` (L, N, 2) on the card: ``codes`` (L, N, 3), ``level`` (L, N)
    green light over that of unshaded paper; ``bare`` (L, N) is false from the first print or edge
    of card or picture on.
    """

    edge_u_mm: float
    w_mm: NDArray[np.float64]
    distance_mm: NDArray[np.float64]
    points_mm: NDArray[np.float64]
    codes: NDArray[np.generic]
    level: NDArray[np.float64]
    bare: NDArray[np.bool_]

    @property
    def shaded(self) -> NDArray[np.bool_]:
        """Where bare paper near the coupon lies in its shade, (L, N)."""
        w, d = self.w_mm, self.distance_mm
        inner = (w > w[0] + SHADE_SIDE_MM) & (w < w[-1] - SHADE_SIDE_MM)
        near = (d > SHADE_MM[0]) & (d < SHADE_MM[1])
        return np.asarray(self.bare & inner[:, None] & near)


def read_shadow_lines(
    photo: Photo, pose: Pose, placement: Placement, paper: Paper
) -> ShadowLines | None:
    """Read the card where the coupon's shadow falls; ``None`` without paper to tell where that is.

    ``paper`` tells the lamp's direction and how bright the card would be unshaded. Lines end at a
    marker, the label's code, the card's edge or the picture's.
    """
    if not paper.enough:
        return None
    azimuth = paper.lamp_azimuth_rad
    away = -np.array([np.cos(azimuth), np.sin(azimuth)])
    distance = np.arange(1.0, REACH_MM, STEP_MM)
    along_u = np.array([np.cos(placement.turn_rad), np.sin(placement.turn_rad)])
    edge_u = BLADE.length_mm if away @ along_u > 0 else 0.0
    rim = BLADE.height_mm - (BLADE.chamfer_leg_mm if edge_u else 0.0)
    lines_w = LINES_W_MM[rim > LINES_W_MM]
    foot = placement.card_mm(np.full_like(lines_w, edge_u), lines_w)[:, :2]
    points = foot[:, None] + distance[None, :, None] * away
    px = project_card(pose, points)
    codes = np.asarray(sample(photo.codes8, px))
    unshaded = np.exp(quadratic(points) @ paper.falloff())
    size = np.array(CARD.size_mm)
    bare = clear_of_markers(points, 0.8) & np.all((points > 2) & (points < size - 2), axis=-1)
    label = np.array([CARD.label_origin_mm, CARD.label_size_mm])
    inside = np.abs(points - label[0] - label[1] / 2) < label[1] / 2 - LABEL_RIM_MM
    bare &= ~inside.all(axis=-1) & is_inside(photo, px)
    bare = np.logical_and.accumulate(bare, axis=1)
    level = photo.light_of_codes8(codes[..., 1], 1) / unshaded
    return ShadowLines(edge_u, lines_w, distance, points, codes, level, bare)


def find_shadow(lines: ShadowLines) -> Shadow | None:
    """Measure the shadow of the face's far edge on the card: u = 100 mm for a lamp on the left.

    The tip, where half the lamp is seen, lies at thickness x cot(elevation) from the edge, away
    from the lamp: geometry alone, whatever the tone curve. ``None`` where fewer than three lines
    show a clear tip, as with a lamp from another side, or where something lies in the shadow.
    """
    darkest, tips = _find_tips(lines)
    if len(tips) < MIN_LINES:
        return None
    shade = lines.level[lines.shaded]
    least = EVEN_SHARE * float(np.median(shade)) if shade.size else 0.0
    tip = float(np.median(tips))
    scatter = MAD_TO_SD * float(np.median(np.abs(tips - tip)))
    if scatter > 0.1 * tip or np.mean(darkest < least) > MAX_COVERED:
        return None
    cotangent = (tip + ROUNDING_MM) / BLADE.thickness_mm
    sd = np.hypot(scatter / np.sqrt(len(tips)) + 0.2, SD_FLOOR * tip) / BLADE.thickness_mm
    return Shadow(cotangent, float(sd), lines.edge_u_mm)


def find_shade(photo: Photo, lines: ShadowLines) -> Shade | None:
    """Read the paper in the shade near the coupon: light that strays in from elsewhere.

    ``None`` where print, a thing or the lamp's own light leaves too little of it.
    """
    shaded = lines.shaded
    level = lines.level[shaded]
    if level.size < MIN_SHADED or np.median(level) > DARK:
        return None
    codes = lines.codes[shaded]
    light = [np.median(photo.light_of_codes8(codes[:, k], k)) for k in range(3)]
    return Shade(np.maximum(light, 1e-5), lines.points_mm[shaded].mean(axis=0))


def _find_tips(lines: ShadowLines) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The darkest light of each line long enough, and in mm where lines leave the shade.

    By the running mean over ``WINDOW``, ``SHADE_MM`` from the wall on, as far as the lines are
    bare. A line without a clear tip has none.
    """
    count = lines.bare.sum(axis=1)
    # Nearer to it the wall hides stray light too: what is darker there is no thing.
    first = int(np.searchsorted(lines.distance_mm, SHADE_MM[0]))
    long = count >= first + WINDOW
    if not long.any():
        return np.empty(0), np.empty(0)
    total = np.cumsum(np.pad(lines.level[long], ((0, 0), (1, 0))), axis=1)
    mean = (total[:, WINDOW:] - total[:, :-WINDOW]) / WINDOW
    place = np.arange(mean.shape[1])
    mean[place > count[long, None] - WINDOW] = np.nan
    mean[:, :first] = np.nan
    at = np.nanargmin(mean, axis=1)[:, None]
    shade = np.take_along_axis(mean, at, axis=1)
    half = (1 + shade) / 2
    beyond = place > at
    above = beyond & (mean > half)
    clear = (shade[:, 0] <= DARK) & (beyond & (mean >= LIT)).any(axis=1)
    j = np.argmax(above[clear], axis=1)
    line = np.arange(j.size)
    low, high = mean[clear][line, j - 1], mean[clear][line, j]
    start = lines.distance_mm[j - 1] + (WINDOW - 1) / 2 * STEP_MM
    tips = start + (half[clear, 0] - low) / (high - low) * STEP_MM
    # Of a higher lamp even the darkest paper from there on lies in half light.
    return shade[:, 0], tips[tips > SHADE_MM[1]]
