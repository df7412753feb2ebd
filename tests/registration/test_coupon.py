"""Coupons drawn at known places on a drawn card, seen straight from above."""

import cv2
import numpy as np
import pytest

from scoring.errors import CouponNotFoundError, CouponOutOfBayError
from scoring.geometry import BLADE, CARD
from scoring.metrics import FaceName
from scoring.registration.coupon import find_coupon
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement

PX_PER_MM = 14.0
HEIGHT_MM = 320.0
SHAPE = (int(CARD.size_mm[1] * PX_PER_MM), int(CARD.size_mm[0] * PX_PER_MM))
CENTRE = ((SHAPE[1] - 1) / 2, (SHAPE[0] - 1) / 2)
POSE = Pose(
    np.eye(3),
    np.array([-CENTRE[0] / PX_PER_MM, -CENTRE[1] / PX_PER_MM, HEIGHT_MM]),
    PX_PER_MM * HEIGHT_MM,
    CENTRE,
    np.zeros(4),
    0.1,
    12,
    0.003,
)


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


def _draw(
    rng: np.random.Generator, placement: Placement | None, face: FaceName, grey: float
) -> np.ndarray:
    picture = _card(rng)
    if placement is not None:
        outline = np.array(BLADE.outline_uw_mm(face))
        top = POSE.project(placement.card_mm(outline[:, 0], outline[:, 1]))
        shade = top + np.array([30 * PX_PER_MM, 0])
        hull = cv2.convexHull(np.concatenate([top, shade]).astype(np.float32))
        dark, body = (np.zeros(SHAPE, np.float32) for _ in range(2))
        cv2.fillPoly(dark, [np.round(hull * 16).astype(np.int32)], 1.0, cv2.LINE_AA, 4)
        cv2.fillPoly(body, [np.round(top * 16).astype(np.int32)], 1.0, cv2.LINE_AA, 4)
        picture = picture * (1 - 0.85 * dark)
        picture = picture * (1 - body) + (grey + rng.normal(0, 3, SHAPE)) * body
    soft = cv2.GaussianBlur(np.clip(picture, 0, 255), (0, 0), 1.0)
    return np.repeat(soft.astype(np.uint8)[..., None], 3, axis=2)


@pytest.mark.parametrize("grey", [30.0, 90.0, 205.0])
@pytest.mark.parametrize("face", list(FaceName))
@pytest.mark.parametrize(
    ("dx", "dy", "turn_deg"), [(0, 0, 0), (2, -1.5, 3), (-2.4, 1.0, -4), (0.3, 2.6, 1)]
)
def test_placement_is_the_one_drawn(
    grey: float, face: FaceName, dx: float, dy: float, turn_deg: float
) -> None:
    truth = Placement(dx, dy, np.deg2rad(turn_deg))
    found = find_coupon(_draw(np.random.default_rng(1), truth, face, grey), POSE)
    assert found.placement.dx_mm == pytest.approx(dx, abs=0.15)
    # Along w all is averaged over a band 3 mm inside the edges: a third of a millimetre is ample.
    assert found.placement.dy_mm == pytest.approx(dy, abs=0.3)
    assert found.placement.turn_rad == pytest.approx(truth.turn_rad, abs=0.003)
    assert found.placement.scale == pytest.approx(1.0, abs=0.002)
    expected = {FaceName.RINGDOWN: "top-right", FaceName.FLOW: "top-left"}
    assert found.chamfer == expected[face]
    assert found.sure


def test_coupon_laid_upside_down_shows_its_cut_below() -> None:
    truth = Placement(0.5, 0.5, np.pi + 0.02)
    found = find_coupon(_draw(np.random.default_rng(2), truth, FaceName.RINGDOWN, 90.0), POSE)
    assert found.chamfer == "bottom-left"


def test_empty_card_has_no_coupon() -> None:
    """The bay's own outline has the coupon's size; it must not pass for one."""
    with pytest.raises(CouponNotFoundError, match="coupon was not"):
        find_coupon(_draw(np.random.default_rng(3), None, FaceName.FLOW, 0.0), POSE)


def test_coupon_beside_its_bay_is_told() -> None:
    picture = _draw(np.random.default_rng(4), Placement(8, 3, 0.0), FaceName.FLOW, 60.0)
    with pytest.raises(CouponOutOfBayError, match="from its bay"):
        find_coupon(picture, POSE)
