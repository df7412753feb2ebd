"""The coupon placed by four corners alone, on photos whose truth is known to a part of a pixel."""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.errors import CornersWrongError
from scoring.flags import Flag
from scoring.measure import MUCH_RESIDUAL_MM, measure_photo, placing_flags
from scoring.metrics import FaceName
from scoring.photo.decode import read_photo
from scoring.registration.corners import order_corners
from scoring.registration.place import place_by_corners
from tests.reference_photos import ReferencePhoto, read_photos

POINTING_PX = 8.0
"""How far off someone points, on a picture shown a third as large: standard deviation."""
SHOWN = ("small-grey", "low-lamp-natural", "slow-long-white", "long-recovery-blue", "white-gaps")


def pointed_at(photo: ReferencePhoto, rng: np.random.Generator) -> NDArray[np.float64]:
    """The face's four corners as someone might point at them, in any order."""
    known = photo.truth["picture"]["face_corners"] + photo.truth["picture"]["face_grid"]
    face = np.array([[place["u_mm"], place["w_mm"]] for place in known])
    seen = np.array([[place["x_px"], place["y_px"]] for place in known])
    view, _ = cv2.findHomography(face, seen)
    ends = np.array([[[0.0, 0.0], [100.0, 0.0], [100.0, 24.0], [0.0, 24.0]]])
    corners = cv2.perspectiveTransform(ends, view)[0]
    return np.asarray(rng.permutation(corners + rng.normal(0, POINTING_PX, corners.shape)))


@pytest.fixture(scope="module")
def photos() -> dict[str, ReferencePhoto]:
    every = [*read_photos("ringdown"), *read_photos("flow")]
    return {photo.name.removesuffix(".jpg"): photo for photo in every}


@pytest.mark.parametrize("name", SHOWN)
def test_the_face_is_placed_and_measured_without_its_card(
    photos: dict[str, ReferencePhoto], name: str
) -> None:
    photo = photos[name]
    corners = pointed_at(photo, np.random.default_rng(11))
    placed = place_by_corners(read_photo(photo.path), corners)
    assert placed.face == photo.truth["face"]
    u, w, seen = photo.read_face_grid()
    off = (placed.pose.project(placed.placement.card_mm(u, w)) - seen) / placed.px_per_mm
    assert np.sqrt(np.mean(np.sum(off**2, axis=1))) < 0.5
    found = measure_photo(
        photo.path,
        name=photo.name,
        motion=photo.motion,
        layer_height_mm=photo.layer_height_mm,
        corners_px=corners.tolist(),
    ).measurement
    assert Flag.CARD_MISSING in found.flags
    assert Flag.MARKERS_HIDDEN not in found.flags
    assert found.registration.markers == 0
    if placed.face is FaceName.RINGDOWN:
        # The hand's misfit at four corners is not that of markers.
        assert found.registration.residual_mm > MUCH_RESIDUAL_MM
        flags = placing_flags(placed, None)
        assert (Flag.OUTLINE_UNSURE in flags) == (not placed.coupon.sure)
    metric = "ripple_peak_um" if photo.truth["face"] == "ringdown" else "gap_fraction"
    assert found.metrics[metric].low <= photo.truth[metric] <= found.metrics[metric].high
    if found.modes:
        hertz = {name: (e, true) for name, e, true in photo.pair_modes(found.modes)}["frequency_hz"]
        assert hertz[0].low <= hertz[1] <= hertz[0].high


def test_a_ripple_is_less_sure_than_with_the_card(photos: dict[str, ReferencePhoto]) -> None:
    photo = photos["low-lamp-natural"]
    corners = pointed_at(photo, np.random.default_rng(11)).tolist()
    widths = [
        measure_photo(photo.path, name="a", motion=photo.motion, corners_px=given)
        .measurement.metrics["ripple_peak_um"]
        .half_width
        for given in (None, corners)
    ]
    assert widths[1] > 1.5 * widths[0]


def test_the_order_of_the_corners_does_not_matter() -> None:
    corners = np.array([[100.0, 100.0], [1100.0, 120.0], [1095.0, 360.0], [95.0, 340.0]])
    expected = order_corners(corners)
    for turn in range(4):
        for step in (1, -1):
            given = np.roll(corners, turn, axis=0)[::step]
            assert {tuple(c) for c in order_corners(given)} == {tuple(c) for c in expected}
            ordered = order_corners(given)
            assert np.linalg.norm(ordered[1] - ordered[0]) > 900


@pytest.mark.parametrize(
    "corners",
    [
        [[0, 0], [100, 0], [100, 100], [0, 100]],  # a square
        [[0, 0], [1000, 0], [500, 100], [1000, 240]],  # bent inward
        [[0, 0], [0, 0], [0, 0], [0, 0]],
    ],
)
def test_corners_of_something_else_are_refused(corners: list[list[float]]) -> None:
    with pytest.raises(CornersWrongError, match=r"100 mm by 24 mm"):
        order_corners(np.array(corners, float))
