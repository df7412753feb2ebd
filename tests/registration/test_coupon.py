"""Coupons drawn at known places are found there."""

import numpy as np
import pytest

from scoring.errors import CouponNotFoundError, CouponOutOfBayError
from scoring.metrics import FaceName
from scoring.registration.coupon import find_coupon
from scoring.registration.rectify import Placement
from tests.registration.drawn_coupon import POSE, draw_coupon


@pytest.mark.parametrize("grey", [30.0, 90.0, 205.0])
@pytest.mark.parametrize("face", list(FaceName))
@pytest.mark.parametrize(
    ("dx", "dy", "turn_deg"), [(0, 0, 0), (2, -1.5, 3), (-2.4, 1.0, -4), (0.3, 2.6, 1)]
)
def test_placement_is_the_one_drawn(
    grey: float, face: FaceName, dx: float, dy: float, turn_deg: float
) -> None:
    truth = Placement(dx, dy, np.deg2rad(turn_deg))
    found = find_coupon(draw_coupon(np.random.default_rng(1), truth, face, grey), POSE)
    assert found.placement.dx_mm == pytest.approx(dx, abs=0.15)
    assert found.placement.dy_mm == pytest.approx(dy, abs=0.05 if found.sure else 0.1)
    assert found.placement.turn_rad == pytest.approx(truth.turn_rad, abs=0.003)
    assert found.placement.scale == pytest.approx(1.0, abs=0.002)
    # At two of the places a side's edge and the bay's line, or the shadow's edge, are nearly one.
    assert found.sure or dy in (-1.5, 2.6)


def test_a_coupon_that_looks_smaller_is_placed_at_that_size() -> None:
    """As on a card printed too large."""
    truth = Placement(1.0, -1.5, 0.02, 0.96)
    picture = draw_coupon(np.random.default_rng(1), truth, FaceName.FLOW, 90.0)
    found = find_coupon(picture, POSE, known_scale=(0.961, 0.003))
    assert found.placement.scale == pytest.approx(truth.scale, abs=0.0025)
    assert found.placement.turn_rad == pytest.approx(truth.turn_rad, abs=0.003)
    assert found.placement.dy_mm == pytest.approx(truth.dy_mm, abs=0.1)


@pytest.mark.parametrize("dx", [0.5, 2.0])
def test_where_it_was_ruled_out_it_is_not_sought_again(dx: float) -> None:
    truth = Placement(dx, -1.5, 0.0)
    picture = draw_coupon(np.random.default_rng(1), truth, FaceName.FLOW, 90.0)
    right = find_coupon(picture, POSE).placement
    assert right.dx_mm == pytest.approx(truth.dx_mm, abs=0.15)
    try:
        other = find_coupon(picture, POSE, aside_of=right).placement
    except (CouponNotFoundError, CouponOutOfBayError):
        return
    assert np.hypot(other.dx_mm - dx, other.dy_mm - truth.dy_mm) > 1


def test_empty_card_has_no_coupon() -> None:
    """The bay's own outline has the coupon's size; it must not pass for one."""
    with pytest.raises(CouponNotFoundError, match="coupon was not"):
        find_coupon(draw_coupon(np.random.default_rng(3), None, FaceName.FLOW, 0.0), POSE)


def test_coupon_beside_its_bay_is_told() -> None:
    picture = draw_coupon(np.random.default_rng(4), Placement(8, 3, 0.0), FaceName.FLOW, 60.0)
    with pytest.raises(CouponOutOfBayError, match="from its bay"):
        find_coupon(picture, POSE)
