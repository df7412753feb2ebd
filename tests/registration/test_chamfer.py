"""The cut corner of coupons drawn either side up and either way round."""

import numpy as np
import pytest

from scoring.metrics import FaceName
from scoring.registration.chamfer import find_chamfer
from scoring.registration.rectify import Placement
from tests.registration.drawn_coupon import POSE, draw_coupon


@pytest.mark.parametrize("grey", [30.0, 90.0, 205.0])
@pytest.mark.parametrize(
    ("face", "turn_rad", "corner"),
    [
        (FaceName.RINGDOWN, 0.0, "top-right"),
        (FaceName.RINGDOWN, np.pi, "bottom-left"),
        (FaceName.FLOW, 0.0, "top-left"),
        (FaceName.FLOW, np.pi, "bottom-right"),
    ],
)
def test_cut_corner_is_the_drawn_one(
    grey: float, face: FaceName, turn_rad: float, corner: str
) -> None:
    placed = Placement(0.5, -0.5, turn_rad + 0.02)
    picture = draw_coupon(np.random.default_rng(1), placed, face, grey)
    assert find_chamfer(picture, POSE, Placement(0.5, -0.5, 0.02)) == corner
