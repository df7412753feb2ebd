"""The card's bare white paper: a flat matt target of known place under the same lamp."""

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.least_squares import fit_reweighted
from scoring.medians import median
from scoring.photo.photo import Photo, luma_codes
from scoring.registration.pose import Pose
from scoring.registration.rectify import sample
from scoring.shading.tone import with_luma

CELL_MM, STEP_MM = 10.0, 2.0
"""Paper is read in cells of 25 samples: JPEG leaves even paper in whole codes, each a
percent of light, and only over some slope of the light does their mean tell what lies between."""

STRANGE_SHARE, MIN_SAMPLES = 0.06, 5
FULL_CODE = 248
MIN_PLACES = 40
NEIGHBOUR_MM, NEIGHBOUR_SHARE = 32.0, 0.62
"""Paper is no darker than this share of the brightest place so near, even under a near lamp."""


@dataclass(frozen=True)
class Paper:
    """Bare, unclipped paper: card places ``card_mm`` (P, 2) and nominal linear ``light`` (P, 4).

    The light is of red, green, blue and luma.
    """

    card_mm: NDArray[np.float64]
    light: NDArray[np.float64]

    @property
    def enough(self) -> bool:
        """Whether there is enough of it to say anything about the lamp."""
        return len(self.card_mm) >= MIN_PLACES

    def falloff(self) -> NDArray[np.float64]:
        """Quadratic (6,) of log green light over the card, in :func:`quadratic`'s terms."""
        return _fit_falloff(self.card_mm, self.light)[0]

    @cached_property
    def lamp_azimuth_rad(self) -> float:
        """Direction in which the paper brightens: toward the lamp, x right, y down.

        From a plane, not :meth:`falloff`: where much paper is clipped, a bend cannot be told.
        """
        plane = quadratic(self.card_mm)[:, :3]
        fit = fit_reweighted(plane, np.log(self.light[:, 1]), _trust)[0]
        return float(np.arctan2(fit[2], fit[1]))


NO_PAPER = Paper(np.empty((0, 2)), np.empty((0, 4)))
"""Where there is no card."""


def quadratic(card_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Terms 1, x, y, x^2, xy, y^2 about the bay's centre in units of 100 mm, (..., 6)."""
    x, y = np.moveaxis((card_mm - bay_centre_mm()) / 100, -1, 0)
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def bay_centre_mm() -> NDArray[np.float64]:
    """The centre of the card's bay, (2,)."""
    return np.array(CARD.bay_origin_mm) + np.array(CARD.bay_size_mm) / 2


def read_paper(photo: Photo, pose: Pose) -> Paper:
    """Sample the card where it is bare: clear of markers, label, wedge, ruler, coupon and shadow.

    Each place is the mean of a cell, without what differs from the cell's median, as thin print
    does; cells that touch full scale are left out. Comes back empty where all is clipped or hidden.
    """
    points, bare = _cells()
    px = project_card(pose, points)
    bare = bare & is_inside(photo, px)
    some = bare.sum(axis=1) >= MIN_SAMPLES
    points, px, bare = points[some], px[some], bare[some]
    codes = np.asarray(sample(photo.codes8, px, between=False), np.uint8)
    clipped = np.where(bare[..., None], codes, 0).max(axis=(1, 2)) >= FULL_CODE
    light = light_with_luma(photo, codes)
    green = np.where(bare, light[..., 1], np.inf)
    middle = (bare.sum(axis=1, keepdims=True) - 1) // 2
    usual = np.take_along_axis(np.sort(green, axis=1), middle, axis=1)
    kept = np.abs(green - usual) < STRANGE_SHARE * usual
    count = np.maximum(kept.sum(axis=1), 1)[:, None]
    places = (points * kept[..., None]).sum(axis=1) / count
    mean = (light * kept[..., None]).sum(axis=1, dtype=np.float64) / count + 1e-6
    # Clipped paper tells what lies dark beside it, though nothing of the lamp.
    even = (count[:, 0] >= MIN_SAMPLES) & _is_lit(places, mean[:, 1]) & ~clipped
    return _drop_strangers(places[even], mean[even])


def light_with_luma(photo: Photo, codes: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Light (P, S, 4) of codes (P, S, 3) that ``photo`` holds, their luma last."""
    rgb = [photo.light_of_codes8(codes[..., k], k) for k in range(3)]
    light = np.stack(rgb, axis=-1).astype(np.float64)
    if not photo.keeps_luma:
        return with_luma(light)
    own = photo.light_of_codes8(luma_codes(codes), 1)
    return np.concatenate([light, own[..., None]], axis=-1)


def _is_lit(places: NDArray[np.float64], green: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which ``places`` (P, 2) are about as bright as the brightest near them, (P,)."""
    x, y = places.T
    near = (x[:, None] - x) ** 2 + (y[:, None] - y) ** 2 < NEIGHBOUR_MM**2
    brightest = np.where(near, green, 0.0).max(axis=1, initial=0.0)
    return np.asarray(green > NEIGHBOUR_SHARE * brightest)


def _drop_strangers(places: NDArray[np.float64], light: NDArray[np.float64]) -> Paper:
    """Leave out what does not lie on one falloff: things on the card, their shadows, print."""
    if len(places) < MIN_PLACES:
        return Paper(places, light)
    off = np.abs(_fit_falloff(places, light)[1])
    keep = off < max(0.03, 4 * median(off))
    return Paper(places[keep], light[keep])


def _fit_falloff(
    places: NDArray[np.float64], light: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Coefficients (6,) and residuals (P,) of a robust quadratic of log green light."""
    return fit_reweighted(quadratic(places), np.log(light[:, 1]), _trust)


def _trust(off: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cauchy weights about twice the median residual."""
    return np.asarray(1 / (1 + (off / max(2 * median(np.abs(off)), 1e-4)) ** 2))


def project_card(pose: Pose, card_mm: NDArray[np.float64]) -> NDArray[np.float32]:
    """Photo pixels (..., 2) of places (..., 2) on the card's own plane."""
    level = np.concatenate([card_mm, np.zeros((*card_mm.shape[:-1], 1))], axis=-1)
    return pose.project(level).astype(np.float32)


def is_inside(photo: Photo, px: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Which pixel places (..., 2) lie in the picture, clear of its border, (...)."""
    limit = np.array(photo.pixels.shape[1::-1]) - 2
    return np.asarray(np.all((px > 1) & (px < limit), axis=-1))


def clear_of_markers(card_mm: NDArray[np.float64], margin_mm: float) -> NDArray[np.bool_]:
    """Which card places (..., 2) lie farther than ``margin_mm`` from every marker, (...)."""
    half = CARD.marker_side_mm / 2 + margin_mm
    clear = np.ones(card_mm.shape[:-1], dtype=bool)
    x, y = card_mm[..., 0], card_mm[..., 1]
    for centre_x, centre_y in CARD.marker_centre_mm:
        clear &= (np.abs(x - centre_x) > half) | (np.abs(y - centre_y) > half)
    return np.asarray(clear)


@cache
def _cells() -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Sample points (C, S, 2) of the cells that have bare ones enough, and which those are."""
    starts = (np.arange(1.0, size - CELL_MM, CELL_MM) for size in CARD.size_mm)
    corner = np.stack(np.meshgrid(*starts), axis=-1).reshape(-1, 1, 2)
    within = np.arange(STEP_MM / 2, CELL_MM, STEP_MM)
    points = corner + np.stack(np.meshgrid(within, within), axis=-1).reshape(-1, 2)
    bare = _bare(points)
    some = bare.sum(axis=1) >= MIN_SAMPLES
    return points[some], bare[some]


def _bare(places: NDArray[np.float64]) -> NDArray[np.bool_]:
    wedge_mm = (CARD.wedge_patch_mm[0] * CARD.wedge_patches, CARD.wedge_patch_mm[1])
    boxes: tuple[tuple[tuple[float, float], tuple[float, float], float], ...] = (
        (CARD.bay_origin_mm, CARD.bay_size_mm, 9.0),
        (CARD.label_origin_mm, CARD.label_size_mm, 3.0),
        (CARD.wedge_origin_mm, wedge_mm, 2.0),
        (CARD.ruler_origin_mm, (CARD.ruler_length_mm, 6.0), 4.0),
    )
    boxes += tuple(((x, y), (wide, high), 0.5) for x, y, wide, high in CARD.words_mm)
    bare = clear_of_markers(places, 1.5)
    for origin, size, margin in boxes:
        low = np.array(origin) - margin
        high = np.array(origin) + np.array(size) + margin
        bare &= ~np.all((places > low) & (places < high), axis=-1)
    # The shadow of a coupon lit from the label's side reaches the card's right edge.
    right = places[..., 0] > CARD.bay_origin_mm[0] + CARD.bay_size_mm[0]
    return np.asarray(bare & ~(right & (np.abs(places[..., 1] - bay_centre_mm()[1]) < 26)))
