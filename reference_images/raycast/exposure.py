"""Exposure: the paper close to white, the coupon below it."""

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.camera import Camera
from reference_images.raycast.card_art import TEXELS_PER_MM
from reference_images.raycast.frames import Pose
from reference_images.standard import CARD

Picture = NDArray[np.float32]
Array = NDArray[np.float64]
FACE_LEVEL = 0.82
"""The brightest of the face is exposed to this share of full scale at most."""


def find_exposure(
    light: Picture, card: Picture, camera: Camera, pose: Pose, *, paper_level: float
) -> tuple[float, NDArray[np.float32]]:
    """What the linear ``light`` (H, W, 3) is to be multiplied by, and the paper's levels before.

    The paper's bright end comes to ``paper_level``; a dark face's paper may be cut off more.
    """
    width, height = CARD["size_mm"]
    x, y = np.meshgrid(np.arange(1, width, 1.0), np.arange(1, height, 1.0))
    is_white = card[(y * TEXELS_PER_MM).astype(int), (x * TEXELS_PER_MM).astype(int)] > 0.6
    even = np.asarray(cv2.blur(light, (5, 5)), np.float32)
    places = np.stack([x[is_white], -y[is_white], 0 * x[is_white]], -1)
    paper = _read_levels(even, camera.project(places))
    u, w = spread_face_points()
    face = _read_levels(even, camera.project(pose.to_card(u, w)))
    bright = np.percentile(face, 99.5)
    is_light = bright > 0.12 * np.percentile(paper, 50)
    white = np.percentile(paper, 98 if is_light else 93)
    return float(min(paper_level / white, FACE_LEVEL / bright)), paper


def spread_face_points() -> tuple[Array, Array]:
    """u and w, (43, 182) each, of points over the face away from its edges."""
    u, w = np.meshgrid(np.arange(2, 93, 0.5), np.arange(1, 23.5, 0.5))
    return u, w


def _read_levels(light: Picture, points_px: Array) -> NDArray[np.float32]:
    """The brightest channel at the nearest pixels of points (..., 2)."""
    height, width = light.shape[:2]
    column = np.clip(np.round(points_px[..., 0]).astype(int), 0, width - 1)
    row = np.clip(np.round(points_px[..., 1]).astype(int), 0, height - 1)
    return np.asarray(light[row, column].max(-1))
