"""How steeply lamp and sight fall across the layers, by the coupon's shadow and the camera."""

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.photo.photo import Photo
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample
from scoring.shading.paper import clear_of_markers, is_inside, project_card
from scoring.shading.shadow import ROUNDING_MM

LINES_U_MM = np.concatenate([np.linspace(8, 15, 8), np.linspace(85, 92, 8)])
"""Clear of the grey wedge under the coupon's middle, and of where a slanting shadow ends."""

STEP_MM, SMOOTH = 0.25, 7
NEAREST_MM, FARTHEST_MM = 3.0, 27.0
BESIDE_RIM_MM = np.arange(6.0, 16.0, 0.5)
SURE_SHADE_MM = 7.0
LIT, CLEAR_CUT = 0.3, 2.0


def find_lamp_rise(photo: Photo, pose: Pose, placement: Placement) -> float | None:
    """Rise of the lamp's light over its run across the layers, from the shadow of the foot edge.

    The shadow's edge, where half the lamp is seen, lies thickness / rise from the face's w = 0
    edge, whatever the lamp's bearing. ``None`` where there is no clear shadow on that side; where
    it reaches past all the paper that is free, the rise that would reach so far.
    """
    ends = placement.card_mm(LINES_U_MM, np.zeros_like(LINES_U_MM))[:, :2]
    rims = placement.card_mm(LINES_U_MM, np.full_like(LINES_U_MM, BLADE.height_mm))[:, :2]
    down = (ends - rims) / BLADE.height_mm
    reach = np.arange(NEAREST_MM, FARTHEST_MM, STEP_MM)
    shaded = ends[:, None] + reach[:, None] * down[:, None]
    open_ = rims[:, None] - BESIDE_RIM_MM[:, None] * down[:, None]
    lit = np.median(_light(photo, project_card(pose, open_)))
    free = clear_of_markers(shaded, 0.8)
    free &= np.all((shaded > 2) & (shaded < np.array(CARD.size_mm) - 2), axis=-1)
    px = project_card(pose, shaded)
    free &= is_inside(photo, px)
    seen = free.sum(axis=0) >= len(ends) // 2
    if lit <= 0 or seen.sum() < 4 * SMOOTH:
        return None
    count = int(np.argmin(seen)) if not seen.all() else seen.size
    light = np.where(free, _light(photo, px), np.nan)[:, :count]
    profile = np.nanmedian(light, axis=0) / lit
    profile = np.convolve(profile, np.ones(SMOOTH) / SMOOTH, mode="valid")
    at = reach[:count][SMOOTH // 2 : -(SMOOTH // 2)]
    shade, bright = float(profile[at < SURE_SHADE_MM].min()), float(profile.max())
    if bright < CLEAR_CUT * shade or bright < LIT:
        return BLADE.thickness_mm / (float(at[-1]) + ROUNDING_MM) if shade < LIT else None
    half = (shade + bright) / 2
    k = int(np.argmax(profile >= half))
    if k == 0:
        return None
    tip = at[k] - STEP_MM * (profile[k] - half) / (profile[k] - profile[k - 1])
    return BLADE.thickness_mm / (float(tip) + ROUNDING_MM)


def find_lean(camera_mm: NDArray[np.float64], placement: Placement) -> float:
    """How far sight moves towards the foot for each mm it goes down, at the face's middle.

    ``camera_mm`` (3,) is the camera's place: x right, y down over the card, z up from it.
    """
    middle = np.array([BLADE.length_mm / 2]), np.array([BLADE.height_mm])
    rim, foot = (placement.card_mm(middle[0], w)[0, :2] for w in (middle[1], 0 * middle[1]))
    way = (rim + foot) / 2 - camera_mm[:2]
    return float(way @ (foot - rim)) / BLADE.height_mm / float(camera_mm[2] - BLADE.thickness_mm)


def _light(photo: Photo, px: NDArray[np.float32]) -> NDArray[np.float64]:
    codes = np.asarray(sample(photo.codes8, px))[..., 1]
    return np.asarray(photo.light_of_codes8(codes, 1), np.float64)
