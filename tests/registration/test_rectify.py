"""Mapping and placement against exact projection and known shifts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.geometry import BLADE, CARD
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, map_bands, map_face, sample


def _pose(k1: float) -> Pose:
    tilt = np.deg2rad(8)
    rotation = np.array(
        [[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]]
    )
    place = np.array([0, 0, 320.0]) - rotation @ np.array([105.0, 74.0, 0])
    return Pose(rotation, place, 3000.0, (1999.5, 1499.5), np.array([k1, 0, 0, 0]), 0.1, 12, 0.01)


@given(
    k1=st.floats(-0.08, 0.08),
    turn=st.floats(-0.07, 0.07),
    dx=st.floats(-3, 3),
    px_per_mm=st.sampled_from([20, 27, 40]),
)
def test_coarse_map_equals_exact_projection(
    k1: float, turn: float, dx: float, px_per_mm: int
) -> None:
    u, w = np.arange(-2, 102, 1 / px_per_mm), np.arange(26, -2, -1 / px_per_mm)
    placement = Placement(dx, -1.0, turn)
    whole = map_face(_pose(k1), placement, u, w)
    px = whole[::37, ::53]
    uu, ww = np.meshgrid(u[::53], w[::37])
    exact = _pose(k1).project(placement.card_mm(uu, ww))
    assert np.abs(px - exact).max() < 0.005
    bands = [(rows, band.copy()) for rows, band in map_bands(_pose(k1), placement, u, w)]
    assert [k for rows, _ in bands for k in range(w.size)[rows]] == list(range(w.size))
    assert np.abs(np.concatenate([band for _, band in bands]) - whole).max() < 1e-3


def test_face_lies_one_thickness_over_the_bay() -> None:
    corner = Placement(0, 0, 0).card_mm(np.array(0.0), np.array(BLADE.height_mm))
    assert corner == pytest.approx([*CARD.bay_origin_mm, -BLADE.thickness_mm])


def test_turned_by_half_the_face_is_upside_down() -> None:
    here = Placement(0, 0, np.pi).card_mm(np.array(0.0), np.array(0.0))
    there = Placement(0, 0, 0).card_mm(np.array(BLADE.length_mm), np.array(BLADE.height_mm))
    assert here == pytest.approx(there)


def test_raised_plane_is_magnified_by_its_height() -> None:
    """Similar triangles: at 320 mm a plane 12 mm nearer is 320 / 308 as large."""
    level = Pose(np.eye(3), np.array([0, 0, 320.0]), 3000.0, (0, 0), np.zeros(4), 0.1, 12, 0.01)
    ground = np.array([[0.0, 0, 0], [10, 0, 0]])
    raised = ground - np.array([0, 0, BLADE.thickness_mm])
    spans = [np.ptp(level.project(p)[:, 0]) for p in (ground, raised)]
    assert spans[1] / spans[0] == pytest.approx(320 / 308)


def test_samples_are_bilinear() -> None:
    image = np.arange(12, dtype=np.float32).reshape(3, 4)
    where = np.array([[[0.5, 0.5], [2.0, 1.0]]], dtype=np.float32)
    assert sample(image, where)[0] == pytest.approx([2.5, 6.0], abs=0.1)
