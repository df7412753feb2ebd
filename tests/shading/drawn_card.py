"""A bare card's photo from straight above: paper under a lamp of known place, coded as sRGB."""

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.metrics import FaceName
from scoring.photo.photo import Photo
from scoring.photo.srgb import srgb_code, srgb_curve
from scoring.registration.coupon import CouponFit
from scoring.registration.markers import MarkerCorners
from scoring.registration.place import PlacedCoupon
from scoring.registration.rectify import Placement
from tests.shading.drawn_shading import paper_irradiance
from tests.straight_above import stand_above

PX_PER_MM = 6.0
POSE, SHAPE = stand_above(px_per_mm=PX_PER_MM, height_mm=330.0)


def card_places_mm() -> NDArray[np.float64]:
    """Card millimetres (M, N, 2) of every pixel."""
    x, y = np.meshgrid(np.arange(SHAPE[1]) / PX_PER_MM, np.arange(SHAPE[0]) / PX_PER_MM)
    return np.stack([x, y], axis=-1)


def draw_light(lamp_mm: NDArray[np.float64], *, level: float) -> NDArray[np.float64]:
    """Linear light (M, N) of bare paper, ``level`` at the bay's centre."""
    return level * paper_irradiance(lamp_mm, card_places_mm())


def _markers() -> Iterator[tuple[tuple[slice, slice], NDArray[np.float64]]]:
    """Where each marker lies in the drawn picture, and which of its pixels are black."""
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, CARD.marker_dictionary))
    side = round(CARD.marker_side_mm * PX_PER_MM)
    for i, (x, y) in enumerate(CARD.marker_centre_mm):
        left, top = (round(c * PX_PER_MM - side / 2) for c in (x, y))
        picture = cv2.aruco.generateImageMarker(dictionary, i, side)
        yield (slice(top, top + side), slice(left, left + side)), picture == 0


def draw_inked_card(
    lamp_mm: NDArray[np.float64], albedo: float, *, level: float
) -> NDArray[np.float64]:
    """As :func:`draw_light`, with markers that return ``albedo`` of what paper does."""
    light = draw_light(lamp_mm, level=level)
    for place, black in _markers():
        light[place] *= np.where(black, albedo, 1.0)
    return light


def photograph(light: NDArray[np.float64], tint: tuple[float, float, float] = (1, 1, 1)) -> Photo:
    """The 8-bit photo of linear light (M, N), each channel times its ``tint``."""
    codes = np.clip(255 * srgb_code(light[..., None] * np.array(tint)) + 0.5, 0, 255)
    table = np.repeat(srgb_curve(np.arange(256) / 255)[:, None], 3, axis=1).astype(np.float32)
    return Photo("drawn.png", "PNG", codes.astype(np.uint8), table, 255, None)


def place_drawn(photo: Photo, placement: Placement, *, blur_px: float = 0.0) -> PlacedCoupon:
    """``photo`` as if the coupon had been found at ``placement``."""
    none = np.empty((0, 4, 2))
    markers = MarkerCorners(np.empty(0, np.int64), none, none, np.empty((0, 4), bool), blur_px)
    coupon = CouponFit(placement, sure=True)
    return PlacedCoupon(photo, markers, POSE, coupon, FaceName.RINGDOWN, placement, PX_PER_MM)
