"""The coupon's own shadow on the card: how low the lamp stands."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.least_squares import MAD_TO_SD
from scoring.photo.photo import Photo
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample
from scoring.shading.paper import Paper, clear_of_markers, project_card, quadratic

LINES_W_MM = np.linspace(0.25, 23.75, 48)
STEP_MM = 0.25
REACH_MM = 75.0
"""The shadow's tip is looked for up to here: a lamp 9 degrees up throws it so far."""

ROUNDING_MM = 0.35
"""The printed edge is rounded, so the ray that grazes it passes lower; taken from common practice,
no source. It shortens the shadow by about this."""

LABEL_RIM_MM = 2.0
"""So much of a label round its code is white paper too."""

MIN_LINES = 3
SD_FLOOR = 0.02
EVEN_SHARE = 0.5
"""Shaded paper is even; a stretch darker than this share of it is something lying there."""


@dataclass(frozen=True)
class Shadow:
    """Cotangent of the lamp's elevation at the coupon's far end, and its standard deviation.

    ``edge_u_mm`` is the face's end that is farther from the lamp.
    """

    cotangent: float
    sd: float
    edge_u_mm: float


def find_shadow(photo: Photo, pose: Pose, placement: Placement, paper: Paper) -> Shadow | None:
    """Measure the shadow of the face's far edge on the card: u = 100 mm for a lamp on the left.

    The tip, where half the lamp is seen, lies at thickness x cot(elevation) from the edge, away
    from the lamp: geometry alone, whatever the tone curve. ``paper`` tells the lamp's direction and
    how bright the card would be unshaded. Lines that meet a marker, the label's code or the card's
    edge end there. ``None`` where fewer than three lines show a clear tip, as with a lamp from
    another side.
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
    codes = np.asarray(sample(photo.codes8, px))[..., 1]
    unshaded = np.exp(quadratic(points) @ paper.falloff())
    level = photo.light_of_codes8(codes, 1) / unshaded
    size = np.array(CARD.size_mm)
    bare = clear_of_markers(points, 0.8) & np.all((points > 2) & (points < size - 2), axis=-1)
    label = np.array([CARD.label_origin_mm, CARD.label_size_mm])
    inside = np.abs(points - label[0] - label[1] / 2) < label[1] / 2 - LABEL_RIM_MM
    bare &= ~inside.all(axis=-1)
    tips = []
    for line, clear in zip(level, bare, strict=True):
        end = int(np.argmin(clear)) if not clear.all() else clear.size
        found = _tip_mm(line[:end], distance[:end])
        if found is not None:
            tips.append(found)
    if len(tips) < MIN_LINES:
        return None
    tip = float(np.median(tips))
    scatter = MAD_TO_SD * float(np.median(np.abs(np.array(tips) - tip)))
    if scatter > 0.1 * tip:
        return None
    cotangent = (tip + ROUNDING_MM) / BLADE.thickness_mm
    sd = np.hypot(scatter / np.sqrt(len(tips)) + 0.2, SD_FLOOR * tip) / BLADE.thickness_mm
    return Shadow(cotangent, float(sd), edge_u)


def _tip_mm(line: NDArray[np.float64], distance_mm: NDArray[np.float64]) -> float | None:
    """Where a line leaves the shade; ``None`` where no clear tip is seen."""
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
    if shade < EVEN_SHARE * float(np.median(mean[:j])):
        return None
    low, high = mean[j - 1], mean[j]
    at = distance_mm[j - 1] + (width - 1) / 2 * STEP_MM
    return float(at + (half - low) / (high - low) * STEP_MM)
