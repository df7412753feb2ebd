"""The card and the table, lit, without the coupon: what the fast renderer lays it upon."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.camera import View, place_lamp
from reference_images.card_picture import PAPER, PX_PER_MM, draw_card
from reference_images.scene import Scene
from reference_images.shade import light_lamp
from reference_images.standard import CARD

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
SHADOW_PX_PER_MM = 8
AROUND_MM = 60  # how far beyond the card the shadow map reaches
TABLE = {"grey": (0.29, 0.29, 0.30), "wood": (0.28, 0.19, 0.10), "dark": (0.048, 0.048, 0.053)}


@dataclass(frozen=True)
class Box:
    """An upright prism on the card: its foot (V, 2) in world mm, convex, and its height."""

    foot: Array
    height_mm: float


def _lamp_points(scene: Scene, count: int = 48) -> Array:
    """Points (count, 3) over the disk that the lamp shows to the card, evenly spread."""
    centre = place_lamp(scene.lamp)
    k = np.arange(count) + 0.5
    radius, angle = scene.lamp.radius_mm * np.sqrt(k / count), np.pi * (1 + 5**0.5) * k
    azimuth, elevation = np.radians(scene.lamp.azimuth_deg), np.radians(scene.lamp.elevation_deg)
    side = np.array([-np.sin(azimuth), np.cos(azimuth), 0.0])
    up = np.array(
        [
            -np.sin(elevation) * np.cos(azimuth),
            -np.sin(elevation) * np.sin(azimuth),
            np.cos(elevation),
        ]
    )
    return np.asarray(
        centre + (radius * np.cos(angle))[:, None] * side + (radius * np.sin(angle))[:, None] * up
    )


def shadow_map(scene: Scene, box: Box) -> Picture:
    """Share of the lamp seen from the card's plane, 1 free to 0 hidden.

    From one point of the lamp the shadow of a convex prism is the hull of its foot and of its top
    edge thrown onto the plane; the mean over the lamp's points gives the soft edge.
    """
    wide, high = CARD["size_mm"]
    size = (
        round((high + 2 * AROUND_MM) * SHADOW_PX_PER_MM),
        round((wide + 2 * AROUND_MM) * SHADOW_PX_PER_MM),
    )
    seen = np.zeros(size, dtype=np.float32)
    points = _lamp_points(scene)
    for lamp in points:
        grown = lamp[2] / (lamp[2] - box.height_mm)
        thrown = lamp[:2] + (box.foot - lamp[:2]) * grown
        xy = np.concatenate([box.foot, thrown]) * np.array([1.0, -1.0]) + AROUND_MM
        hull = cv2.convexHull(np.round(xy * SHADOW_PX_PER_MM * 16 - 8).astype(np.int32))
        free = np.ones(size, dtype=np.uint8)
        cv2.fillConvexPoly(free, hull, 0, shift=4)
        seen += free
    return np.asarray(seen / len(points), dtype=np.float32)


def _plane_to_picture(view: View, margin: int) -> Array:
    """Homography from card mm (x right, y down) to the straight picture with its margin."""
    focal, (cx, cy) = view.focal_px, view.centre_px
    inner = np.array([[focal, 0, cx + margin], [0, focal, cy + margin], [0, 0, 1.0]])
    columns = np.stack([view.axes[:, 0], -view.axes[:, 1], -view.axes @ view.place], axis=1)
    return np.asarray(inner @ columns)


def _from_pixels(px_per_mm: float, origin_mm: float) -> Array:
    """Homography from a flat picture's pixels to card mm."""
    step = 1 / px_per_mm
    shift = step / 2 - origin_mm
    return np.array([[step, 0, shift], [0, step, shift], [0, 0, 1.0]])


def _reflectance(scene: Scene) -> Picture:
    card = draw_card(scene.label_text)
    rng = np.random.default_rng([scene.seed, 8])
    for ident in scene.hidden_markers:
        x, y = CARD["markers"]["centre_mm"][ident]
        wide, high = (float(side) * PX_PER_MM for side in rng.uniform(20, 26, 2))
        middle = ((x + 2) * PX_PER_MM, (y + 1) * PX_PER_MM)
        turned = cv2.boxPoints((middle, (wide, high), -float(rng.uniform(0, 90))))
        cv2.fillConvexPoly(card, np.round(turned).astype(np.int32), 0.04)
    if scene.card_scale != 1:
        high, wide = card.shape
        middle = ((wide - 1) / 2, (high - 1) / 2)
        resized = cv2.getRotationMatrix2D(middle, 0.0, scene.card_scale)
        card = np.asarray(
            cv2.warpAffine(card, resized, (wide, high), borderValue=PAPER), np.float32
        )
    # A picture pixel covers somewhat more than one of the drawing's: a little blur stands for it.
    return np.asarray(cv2.GaussianBlur(card, (0, 0), 0.45), dtype=np.float32)


def lit_card(scene: Scene, view: View, margin: int, box: Box) -> Picture:
    """Light (H, W, 3) from table and card, with the box's shadow on them."""
    size = (scene.camera.width_px + 2 * margin, scene.camera.height_px + 2 * margin)
    to_picture = _plane_to_picture(view, margin)
    reflectance = np.empty((size[1], size[0], 3), dtype=np.float32)
    reflectance[:] = TABLE[scene.table]
    if scene.card_on_table:
        card = _reflectance(scene)
        move = to_picture @ _from_pixels(PX_PER_MM, 0.0)
        matt = cv2.warpPerspective(card, move, size, flags=cv2.INTER_LINEAR)
        on = cv2.warpPerspective(np.ones_like(card), move, size, flags=cv2.INTER_LINEAR)
        reflectance *= (1 - on)[..., None]
        reflectance += matt[..., None]
    seen: Picture = np.asarray(
        cv2.warpPerspective(
            shadow_map(scene, box),
            to_picture @ _from_pixels(SHADOW_PX_PER_MM, AROUND_MM),
            size,
            flags=cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=1.0,
        ),
        dtype=np.float32,
    )
    lamp = light_lamp(scene.lamp)
    flux = _irradiance(view, margin, size, lamp.place, lamp.strength)
    seen *= flux
    for channel in range(3):
        light = seen * lamp.tint[channel] + scene.lamp.ambient_share
        reflectance[..., channel] *= light
    return reflectance


def _irradiance(
    view: View, margin: int, size: tuple[int, int], lamp: Array, strength: float
) -> Picture:
    """Irradiance over pi from the lamp on the card's plane, (H, W)."""
    x = ((np.arange(size[0]) - margin - view.centre_px[0]) / view.focal_px).astype(np.float32)
    y = ((np.arange(size[1]) - margin - view.centre_px[1]) / view.focal_px).astype(np.float32)
    axes = view.axes.astype(np.float32)

    def ray(k: int) -> Picture:
        return np.asarray(x[None, :] * axes[0, k] + (y[:, None] * axes[1, k] + axes[2, k]))

    reach = np.float32(-view.place[2]) / ray(2)
    distance2 = np.full(reach.shape, lamp[2] ** 2, dtype=np.float32)
    for k in range(2):
        distance2 += (np.float32(lamp[k] - view.place[k]) - reach * ray(k)) ** 2
    return np.asarray(strength / np.pi * lamp[2] / (distance2 * np.sqrt(distance2)), np.float32)
