"""A plain coupon drawn at a known place on a drawn card, seen straight from above."""

import cv2
import numpy as np

from scoring.geometry import BLADE, CARD
from scoring.metrics import FaceName
from scoring.registration.rectify import Placement
from tests.straight_above import stand_above

PX_PER_MM = 14.0
POSE, SHAPE = stand_above(px_per_mm=PX_PER_MM, height_mm=320.0)


def _card(rng: np.random.Generator) -> np.ndarray:
    """White paper darkening from left to right, with the bay's thin outline and a label."""
    x = np.linspace(1.0, 0.6, SHAPE[1])
    picture = np.repeat((225 * x)[None], SHAPE[0], axis=0)
    for (left, top), (wide, high), grey in (
        (CARD.bay_origin_mm, CARD.bay_size_mm, 0.75),
        (CARD.label_origin_mm, CARD.label_size_mm, 0.4),
    ):
        corners = np.array([[left, top], [left + wide, top + high]]) * PX_PER_MM
        first, second = (tuple(int(v) for v in c) for c in corners)
        line = np.ones(SHAPE, np.float32)
        cv2.rectangle(line, first, second, grey, 4)
        picture = picture * line
    return picture + rng.normal(0, 1.5, SHAPE)


def draw_coupon(
    rng: np.random.Generator,
    placement: Placement | None,
    face: FaceName,
    grey: float,
    *,
    layer_mm: float | None = None,
) -> np.ndarray:
    """The (M, N, 3) photo; with ``layer_mm`` the face is banded by layers, each a little its own.

    Without a ``placement`` the card is empty.
    """
    picture = _card(rng)
    if placement is not None:
        outline = np.array(BLADE.outline_uw_mm(face))
        # What OpenCV fills reaches half a pixel beyond its outline: too much across the layers.
        outline[:, 1] = np.clip(outline[:, 1], 0.5 / PX_PER_MM, BLADE.height_mm - 0.5 / PX_PER_MM)
        top = POSE.project(placement.card_mm(outline[:, 0], outline[:, 1]))
        shade = top + np.array([30 * PX_PER_MM, 0])
        hull = cv2.convexHull(np.concatenate([top, shade]).astype(np.float32))
        dark, body = (np.zeros(SHAPE, np.float32) for _ in range(2))
        cv2.fillPoly(dark, [np.round(hull * 16).astype(np.int32)], 1.0, cv2.LINE_AA, 4)
        cv2.fillPoly(body, [np.round(top * 16).astype(np.int32)], 1.0, cv2.LINE_AA, 4)
        picture = picture * (1 - 0.85 * dark)
        look = grey + rng.normal(0, 3, SHAPE)
        if layer_mm is not None:
            look *= _layers(rng, placement, layer_mm)
        picture = picture * (1 - body) + look * body
    soft = cv2.GaussianBlur(np.clip(picture, 0, 255), (0, 0), 1.0)
    return np.repeat(soft.astype(np.uint8)[..., None], 3, axis=2)


def _layers(rng: np.random.Generator, placement: Placement, layer_mm: float) -> np.ndarray:
    """Light across the layers of the placed face, over the whole picture: 1 in the mean."""
    y, x = np.mgrid[: SHAPE[0], : SHAPE[1]]
    mm = POSE.place_mm[2] - BLADE.thickness_mm
    right = (x - POSE.centre_px[0]) / POSE.focal_px * mm + SHAPE[1] / PX_PER_MM / 2
    down = (y - POSE.centre_px[1]) / POSE.focal_px * mm + SHAPE[0] / PX_PER_MM / 2
    middle = placement.card_mm(np.array(BLADE.length_mm / 2), np.array(BLADE.height_mm / 2))
    sin, cos = np.sin(placement.turn_rad), np.cos(placement.turn_rad)
    w = BLADE.height_mm / 2 + sin * (right - middle[0]) - cos * (down - middle[1])
    layer = np.floor(w / layer_mm).astype(int)
    each = rng.normal(1, 0.03, 1000)[layer % 1000]
    return np.asarray(each * (1 + 0.1 * np.cos(2 * np.pi * w / layer_mm)))
