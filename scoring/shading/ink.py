"""The black ink of the card's markers: one dark colour at many places under the same lamp."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.photo.photo import Photo
from scoring.registration.pose import Pose
from scoring.registration.rectify import sample
from scoring.shading.paper import (
    NEIGHBOUR_MM,
    NEIGHBOUR_SHARE,
    Paper,
    light_with_luma,
    project_card,
)

CELLS = 6
"""A marker is so many cells wide, and the outermost are black (the dictionary's layout)."""

MARGIN_MM, STEP_MM = 0.6, 0.4
BESIDE_MM, EVEN_SHARE = 1.5, 0.75
"""Where a marker's white margin is read, and how alike its four sides are at least: the falloff of
a lamp 250 mm off makes 0.82, a shadow across one side less than half."""


@dataclass(frozen=True)
class Ink:
    """Nominal linear ``light`` (K, 4), red, green, blue and luma, of ink at ``card_mm`` (K, 2)."""

    card_mm: NDArray[np.float64]
    light: NDArray[np.float64]


NO_INK = Ink(np.empty((0, 2)), np.empty((0, 4)))


def read_ink(photo: Photo, pose: Pose, ids: NDArray[np.int64], paper: Paper) -> Ink:
    """The mean light of the black border of the markers ``ids``, where all of it is seen and lit.

    Empty without any. Where bare ``paper`` lies near it says how bright the marker's margin is to
    be; over burnt-out paper the ink has its light still.
    """
    centre = np.array(CARD.marker_centre_mm)[ids]
    if centre.size:
        centre = centre[_is_lit(photo, pose, centre, paper)]
    if not centre.size:
        return NO_INK
    px = project_card(pose, centre[:, None] + _border())
    codes = np.asarray(sample(photo.codes8, px, between=False), np.uint8)
    return Ink(centre, light_with_luma(photo, codes).mean(axis=1) + 1e-6)


def _is_lit(
    photo: Photo, pose: Pose, centre: NDArray[np.float64], paper: Paper
) -> NDArray[np.bool_]:
    """Which markers at ``centre`` (K, 2) lie in the picture and in no shadow, (K,).

    All four sides of the margin are about alike, and no darker than the brightest bare paper near;
    over burnt-out paper a marker that lies wholly in shadow passes. Outside the picture it is dark.
    """
    px = project_card(pose, centre[:, None] + _beside())
    codes = np.asarray(sample(photo.codes8, px, between=False), np.uint8)
    white = photo.light_of_codes8(codes[..., 1], 1).reshape(len(centre), 4, -1)
    sides = np.median(white, axis=2)
    away = np.linalg.norm(centre[:, None] - paper.card_mm, axis=2)
    near = np.where(away < NEIGHBOUR_MM, paper.light[:, 1], 0.0).max(axis=1, initial=0.0)
    lowest = sides.min(axis=1)
    return np.asarray((lowest > EVEN_SHARE * sides.max(axis=1)) & (lowest > NEIGHBOUR_SHARE * near))


@cache
def _beside() -> NDArray[np.float64]:
    """Places (4 S, 2) on the white margin along a marker's four sides."""
    off = CARD.marker_side_mm / 2 + BESIDE_MM
    t = np.arange(-off, off, STEP_MM)
    edge = np.full_like(t, off)
    return np.concatenate(
        [np.stack(p, axis=-1) for p in ((t, edge), (t, -edge), (edge, t), (-edge, t))]
    )


@cache
def _border() -> NDArray[np.float64]:
    """Places (S, 2) within a marker's black border, clear of its edges' blur and coding."""
    half, cell = CARD.marker_side_mm / 2, CARD.marker_side_mm / CELLS
    axis = np.arange(-half + MARGIN_MM, half - MARGIN_MM + 1e-9, STEP_MM)
    places = np.stack(np.meshgrid(axis, axis), axis=-1).reshape(-1, 2)
    return np.asarray(places[np.abs(places).max(axis=1) > half - cell + MARGIN_MM])
