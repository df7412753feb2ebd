"""The coupon's own shadow on the card: how low the lamp stands, and how dark its shade is."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.photo.photo import Photo
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample

LINES_W_MM = np.linspace(0.5, 17.5, 35)
STEP_MM = 0.25
REACH_MM = 75.0
"""The shadow's tip is looked for up to here: a lamp 9 degrees up throws it so far."""

ROUNDING_MM = 0.35
"""The printed edge is rounded, so the ray that grazes it passes lower; taken from common practice,
no source. It shortens the shadow by about this."""

MIN_LINES = 4
SD_FLOOR = 0.02


@dataclass(frozen=True)
class Shadow:
    """Cotangent of the lamp's elevation at the coupon's far end, and the shade's darkness.

    ``sd`` is the cotangent's standard deviation; ``shade`` the green light inside the shadow over
    that of the lit paper beyond its tip.
    """

    cotangent: float
    sd: float
    shade: float


def find_shadow(
    photo: Photo,
    pose: Pose,
    placement: Placement,
    azimuth_rad: float,
    paper: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> Shadow | None:
    """Measure the shadow of the face's u = 100 mm edge on the card.

    ``azimuth_rad`` is the lamp's direction from the coupon on the card (x right, y down);
    ``paper`` gives the green light that unshaded paper would have at card places (..., 2). The
    tip, where half the lamp is seen, lies at thickness x cot(elevation) from the edge: geometry
    alone, whatever the tone curve. Lines that meet a marker or leave the card are not used.
    ``None`` where fewer than four lines show a clear tip, as with a lamp from another side.
    """
    away = -np.array([np.cos(azimuth_rad), np.sin(azimuth_rad)])
    distance = np.arange(1.0, REACH_MM, STEP_MM)
    foot = placement.card_mm(np.full_like(LINES_W_MM, BLADE.length_mm), LINES_W_MM)[:, :2]
    points = foot[:, None] + distance[None, :, None] * away
    flat = np.concatenate([points, np.zeros((*points.shape[:2], 1))], axis=2)
    px = pose.project(flat).astype(np.float32)
    codes = np.asarray(sample(np.ascontiguousarray(photo.pixels[..., 1]), px))
    level = photo.to_linear[:, 1][codes] / paper(points)
    bare = _bare(points)
    tips, shades = [], []
    for line, clear in zip(level, bare, strict=True):
        end = int(np.argmin(clear)) if not clear.all() else clear.size
        found = _tip(line[:end], distance[:end])
        if found is not None:
            tips.append(found[0])
            shades.append(found[1])
    if len(tips) < MIN_LINES:
        return None
    tip = float(np.median(tips))
    scatter = 1.4826 * float(np.median(np.abs(np.array(tips) - tip)))
    if scatter > 0.1 * tip:
        return None
    cotangent = (tip + ROUNDING_MM) / BLADE.thickness_mm
    sd = np.hypot(scatter / np.sqrt(len(tips)) + 0.2, SD_FLOOR * tip) / BLADE.thickness_mm
    return Shadow(cotangent, float(sd), float(np.median(shades)))


def _tip(line: NDArray[np.float64], distance: NDArray[np.float64]) -> tuple[float, float] | None:
    """Where a line leaves the shade, and the shade's level; ``None`` where no clear tip is seen."""
    width = int(3 / STEP_MM)
    if line.size < 4 * width:
        return None
    total = np.concatenate([[0.0], np.cumsum(line)])
    mean = (total[width:] - total[:-width]) / width
    darkest = int(np.argmin(mean))
    shade = float(mean[darkest])
    half = (1 + shade) / 2
    above = np.flatnonzero(mean[darkest:] > half)
    if shade > 0.45 or above.size == 0 or above[0] == 0 or mean[darkest:].max() < 0.8:
        return None
    j = darkest + int(above[0])
    low, high = mean[j - 1], mean[j]
    at = distance[j - 1] + (width - 1) / 2 * STEP_MM
    return float(at + (half - low) / (high - low) * STEP_MM), shade


def _bare(points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which card places (..., 2) lie on the card and clear of every marker, (...) bool."""
    half = CARD.marker_side_mm / 2 + 0.8
    bare = np.all((points > 2.0) & (points < np.array(CARD.size_mm) - 2.0), axis=-1)
    for centre in CARD.marker_centre_mm:
        bare &= np.abs(points - np.array(centre)).max(axis=-1) > half
    return np.asarray(bare)
