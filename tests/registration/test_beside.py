"""What is seen beside the coupon's sides, by similar triangles under a camera straight above."""

import numpy as np
import pytest

from scoring.geometry import BLADE, CARD
from scoring.metrics import FaceName
from scoring.registration.beside import find_bay_line, find_feet_mm
from scoring.registration.coupon import find_coupon
from scoring.registration.rectify import Placement
from tests.registration.drawn_coupon import POSE, draw_coupon

CAMERA_MM = 320.0
MAGNIFIED = CAMERA_MM / (CAMERA_MM - BLADE.thickness_mm)
BOTTOM, TOP = 2, 3
HALF_MM = BLADE.height_mm / 2
ON_THE_LINE_MM = HALF_MM - HALF_MM / MAGNIFIED
"""So far down the card the sight over the coupon's top edge meets the bay's printed line."""


def test_feet_are_hidden_by_as_much_as_the_face_looks_larger() -> None:
    """A foot at r from the picture's middle is seen where r / MAGNIFIED on the face is."""
    middle = CARD.bay_origin_mm[1] + HALF_MM
    assert middle == CARD.size_mm[1] / 2
    foot_mm = find_feet_mm(POSE, Placement(0.0, 0.0, 0.0))[TOP]
    assert foot_mm == pytest.approx(HALF_MM / MAGNIFIED - HALF_MM, abs=0.002)


def test_the_line_is_told_where_the_sight_over_the_edge_meets_it() -> None:
    line = find_bay_line(POSE, Placement(0.0, ON_THE_LINE_MM, 0.0), 10)
    assert line[TOP].all()
    assert not line[BOTTOM].any()


@pytest.mark.parametrize("dy_mm", [ON_THE_LINE_MM - 0.3, ON_THE_LINE_MM + 0.6])
def test_a_line_that_is_hidden_or_clear_of_the_edge_is_none(dy_mm: float) -> None:
    assert not find_bay_line(POSE, Placement(0.0, dy_mm, 0.0), 10)[TOP].any()


def test_a_turned_coupon_crosses_the_line_in_some_groups() -> None:
    """Turned clockwise by 1.5 degrees the line lies 2.6 mm nearer at one end than at the other."""
    line = find_bay_line(POSE, Placement(0.0, ON_THE_LINE_MM, np.deg2rad(1.5)), 10)[TOP]
    assert 2 <= line.sum() <= 4
    assert line[4:6].all()


@pytest.mark.parametrize("turn_deg", [1.0, 2.0, 2.5])
@pytest.mark.parametrize("seed", [11, 13])
def test_an_edge_that_crosses_the_line_is_placed_all_the_same(turn_deg: float, seed: int) -> None:
    truth = Placement(0.4, ON_THE_LINE_MM, np.deg2rad(turn_deg))
    photo = draw_coupon(np.random.default_rng(seed), truth, FaceName.FLOW, 190.0)
    found = find_coupon(photo, POSE)
    assert found.sure
    assert found.placement.dy_mm == pytest.approx(truth.dy_mm, abs=0.02)
