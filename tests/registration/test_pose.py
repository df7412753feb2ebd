"""Pose from known corners, and OpenCV's projection as the outside check."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import TooFewMarkersError
from scoring.geometry import CARD
from scoring.registration.markers import MarkerCorners, marker_corners_mm
from scoring.registration.pose import FULL_FRAME_DIAGONAL_MM, solve_pose

SHAPE = (3000, 4000)
STRAIGHT = [0.0, 0.0, 0.0, 0.0]
FOCAL_PX = 27.0 * np.hypot(*SHAPE) / FULL_FRAME_DIAGONAL_MM


def _seen(
    rng: np.random.Generator,
    *,
    tilt_deg: float,
    turn_deg: float,
    lens: list[float] = STRAIGHT,
    noise_px: float,
    ids: list[int],
    focal_px: float = FOCAL_PX,
) -> tuple[MarkerCorners, np.ndarray, np.ndarray]:
    turn = cv2.Rodrigues(np.array([0, 0, np.deg2rad(turn_deg)]))[0]
    tilt = cv2.Rodrigues(np.array([np.deg2rad(tilt_deg), 0, 0]))[0]
    rotation = tilt @ turn
    place = np.array([0, 0, 340.0 * focal_px / FOCAL_PX]) - rotation @ np.array([105.0, 74.0, 0])
    card = np.stack([marker_corners_mm(i) for i in ids])
    flat = np.concatenate([card, np.zeros((*card.shape[:2], 1))], axis=2).reshape(-1, 3)
    camera = np.array([[focal_px, 0, 1999.5], [0, focal_px, 1499.5], [0, 0, 1]])
    px = cv2.projectPoints(flat, cv2.Rodrigues(rotation)[0], place, camera, np.array(lens))[0]
    px = px.reshape(card.shape) + rng.normal(0, noise_px, card.shape)
    sharp = np.ones(card.shape[:2], dtype=bool)
    return MarkerCorners(np.array(ids), card, px, sharp, 1.0), rotation, place


LENSES = st.tuples(
    st.floats(-0.08, 0.08), st.floats(-0.04, 0.04), *[st.floats(-0.002, 0.002)] * 2
).map(list)


@given(tilt=st.floats(-12, 12), turn=st.floats(-180, 180), lens=LENSES)
def test_pose_agrees_with_opencv_projection(tilt: float, turn: float, lens: list[float]) -> None:
    """A lens of two radial and two tangential terms, in OpenCV's order."""
    rng = np.random.default_rng(1)
    seen, rotation, place = _seen(
        rng, tilt_deg=tilt, turn_deg=turn, lens=lens, noise_px=0.0, ids=list(range(12))
    )
    pose = solve_pose(seen, shape=SHAPE, focal_35mm=27.0)
    face = np.array([[55.0, 62, -12], [155, 62, -12], [155, 86, -12], [55, 86, -12]])
    camera = np.array([[FOCAL_PX, 0, 1999.5], [0, FOCAL_PX, 1499.5], [0, 0, 1]])
    exact = cv2.projectPoints(face, cv2.Rodrigues(rotation)[0], place, camera, np.array(lens))[0]
    assert np.abs(pose.project(face) - exact.reshape(-1, 2)).max() < 0.1


def test_half_the_markers_suffice() -> None:
    rng = np.random.default_rng(2)
    seen, *_ = _seen(
        rng, tilt_deg=6, turn_deg=20, lens=[0.03, 0, 0, 0], noise_px=0.1, ids=[0, 2, 4, 6, 8, 10]
    )
    pose = solve_pose(seen, shape=SHAPE, focal_35mm=None)
    assert pose.markers == 6
    assert pose.residual_px < 0.25


def test_a_moved_marker_is_left_out() -> None:
    rng = np.random.default_rng(3)
    seen, *_ = _seen(rng, tilt_deg=4, turn_deg=0, noise_px=0.1, ids=list(range(12)))
    seen.photo_px[5] += 9.0
    pose = solve_pose(seen, shape=SHAPE, focal_35mm=27.0)
    assert pose.markers == 11
    assert pose.residual_px < 0.2


def test_uncertain_focal_length_is_admitted() -> None:
    rng = np.random.default_rng(4)
    seen, *_ = _seen(rng, tilt_deg=0, turn_deg=0, noise_px=0.1, ids=list(range(12)))
    known = solve_pose(seen, shape=SHAPE, focal_35mm=27.0)
    unknown = solve_pose(seen, shape=SHAPE, focal_35mm=None)
    assert unknown.sd_log_focal > 3 * known.sd_log_focal


@pytest.mark.parametrize("focal_35mm", [24, 35, 50, 65, 80])
def test_a_long_lens_without_exif_is_found(focal_35mm: float) -> None:
    """Leaning by 8 degrees; begun at 27 mm alone, the fit stopped far from 65 mm, markers lost."""
    focal_px = FOCAL_PX * focal_35mm / 27.0
    seen, *_ = _seen(
        np.random.default_rng(6),
        tilt_deg=8,
        turn_deg=3,
        lens=[-0.05, 0, 0, 0],
        noise_px=0.1,
        ids=list(range(12)),
        focal_px=focal_px,
    )
    pose = solve_pose(seen, shape=SHAPE, focal_35mm=None)
    assert pose.markers == 12
    assert pose.residual_px < 0.2
    assert abs(np.log(pose.focal_px / focal_px)) < 1.96 * pose.sd_log_focal
    assert pose.focal_px == pytest.approx(focal_px, rel=0.05)


def test_three_markers_are_too_few() -> None:
    rng = np.random.default_rng(5)
    seen, *_ = _seen(rng, tilt_deg=4, turn_deg=0, noise_px=0.1, ids=[0, 4, 8])
    with pytest.raises(TooFewMarkersError, match="at least 4"):
        solve_pose(seen, shape=SHAPE, focal_35mm=27.0)


def test_every_marker_of_the_card_is_placed() -> None:
    sides = [marker_corners_mm(i)[1] - marker_corners_mm(i)[0] for i in range(12)]
    assert np.array(sides) == pytest.approx(np.tile([CARD.marker_side_mm, 0], (12, 1)))
