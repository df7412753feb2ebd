"""From photo to face on path-traced photos, whose exact places are known."""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.errors import PhotoTooCoarseError, WrongFaceError
from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.photo.decode import read_photo
from scoring.photo.srgb import srgb_code
from scoring.registration import place
from scoring.registration.coupon import CouponFit, find_coupon
from scoring.registration.place import (
    MARGIN_MM,
    PlacedCoupon,
    place_coupon,
    rectify_face,
    require_face,
)
from scoring.registration.pose import Pose
from tests.reference_photos import photo_named
from tests.registration.true_offsets import read_off_mm

FOLDER, NAME = "ringdown", "turned-dark-grey"


@cache
def _placed() -> PlacedCoupon:
    return place_coupon(read_photo(photo_named(FOLDER, NAME).path))


def _truth(*keys: str) -> Any:
    found: Any = photo_named(FOLDER, NAME).truth
    for key in keys:
        found = found[key]
    return found


@pytest.mark.parametrize(("name", "off_mm"), [(NAME, 5.3), ("fine-white", -5.0)])
def test_where_neither_facets_nor_grooves_are_clear_the_next_best_place_is_tried(
    name: str, off_mm: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A black wall beside the face may look more like its end than the end does.

    The other way the facets' code fits as well, its signs turned, but less well than there.
    """
    photo = read_photo(photo_named(FOLDER, name).path)
    best = place_coupon(photo)
    right = best.placement
    wrong = replace(best.coupon.placement, dx_mm=right.dx_mm + off_mm)
    first = replace(best.coupon, placement=wrong)

    def find(codes: NDArray[np.uint8], pose: Pose, **how: Any) -> CouponFit:
        return find_coupon(codes, pose, **how) if how else first

    monkeypatch.setattr(place, "find_coupon", find)
    placed = place_coupon(photo)
    assert placed.face is FaceName.RINGDOWN
    assert placed.placement.dx_mm == pytest.approx(right.dx_mm, abs=0.1)


@pytest.mark.parametrize(
    ("folder", "name"),
    [
        (FOLDER, NAME),
        (FOLDER, "black-near-lamp"),
        (FOLDER, "fine-white"),
        ("flow", "white-gaps"),
    ],
)
def test_face_points_are_where_the_path_tracer_put_them(folder: str, name: str) -> None:
    photo = photo_named(folder, name)
    placed = place_coupon(read_photo(photo.path))
    assert placed.face == photo.truth["face"]
    u, w, true = photo.read_face_grid()
    seen = placed.pose.project(placed.placement.card_mm(u, w))
    off_mm = np.linalg.norm(seen - true, axis=1) / placed.px_per_mm
    # Facets set u again later; the outline alone must bring them within reach, 1.2 mm.
    assert off_mm.max() < 0.4
    assert np.median(off_mm) < 0.25


@pytest.mark.parametrize(
    "name", [NAME, "two-modes-red", "two-modes-natural", "high-frequency-green"]
)
def test_the_surer_long_side_sets_w(name: str) -> None:
    """On each one side misleads: its wall's foot merges with it, or its points do not line up."""
    photo = photo_named(FOLDER, name)
    placed = place_coupon(read_photo(photo.path))
    u, w, true = photo.read_face_grid()
    assert np.abs(read_off_mm(placed, true, (u, w), (u, w + 1))).max() < 0.075


def test_scale_and_camera_are_the_path_tracers() -> None:
    placed = _placed()
    assert placed.px_per_mm == pytest.approx(_truth("picture", "face_px_per_mm"), rel=0.01)
    camera = _truth("conditions", "camera")
    aim = np.array(camera["aim_mm"])
    away = float(np.linalg.norm(placed.camera_mm[:2] - aim))
    tilt_deg = np.rad2deg(np.arctan2(away, placed.camera_mm[2]))
    assert tilt_deg == pytest.approx(camera["tilt_deg"], abs=1.0)


def test_blur_is_told_in_millimetres_on_the_face() -> None:
    placed = _placed()
    assert placed.blur_mm * placed.px_per_mm == pytest.approx(placed.markers.blur_px)


def test_rectified_face_spans_coupon_and_margin() -> None:
    face = rectify_face(_placed())
    u, w = face.u_mm(), face.w_mm()
    assert (u[0], u[-1]) == pytest.approx((-MARGIN_MM, BLADE.length_mm + MARGIN_MM), abs=0.03)
    assert (w[-1], w[0]) == pytest.approx((-MARGIN_MM, BLADE.height_mm + MARGIN_MM), abs=0.03)
    assert face.linear.shape == (w.size, u.size, 3)
    assert face.clipped.shape == (w.size, u.size)


def test_rectified_light_is_the_photos_own() -> None:
    """Nearest pixels at the path tracer's own grid points, decoded alone, blurred alike."""
    placed, face = _placed(), rectify_face(_placed())
    rows = [g for g in _truth("picture", "face_grid") if 4 < g["w_mm"] < 20]
    seen, taken = [], []
    for g in rows:
        x, y = round(g["x_px"]), round(g["y_px"])
        around = slice(y - 8, y + 9), slice(x - 8, x + 9)
        seen.append(placed.photo.linear(*around, 1).mean())
        j = round((g["u_mm"] - face.u0_mm) * face.px_per_mm)
        i = round((face.w0_mm - g["w_mm"]) * face.px_per_mm)
        taken.append(face.linear[i - 10 : i + 11, j - 10 : j + 11, 1].mean())
    assert np.corrcoef(seen, taken)[0, 1] > 0.97
    assert np.mean(taken) == pytest.approx(np.mean(seen), rel=0.03)


def test_face_beyond_the_picture_is_dark() -> None:
    placed, face = _placed(), rectify_face(_placed())
    uu, ww = np.meshgrid(face.u_mm(), face.w_mm())
    row = placed.pose.project(placed.placement.card_mm(uu, ww))[..., 1]
    last = int(np.median(row))
    cut = replace(placed, photo=replace(placed.photo, pixels=placed.photo.pixels[:last]))
    seen = rectify_face(cut).linear
    assert not seen[row > last + 1].any()
    assert np.array_equal(seen[row < last - 2], face.linear[row < last - 2])


def test_only_light_over_full_scale_is_marked_clipped() -> None:
    """White paper round the face is cut off in this photo, the grey face is not."""
    placed = _placed()
    face = rectify_face(placed)
    rows = (face.w_mm() > 1) & (face.w_mm() < BLADE.height_mm - 1)
    columns = (face.u_mm() > 1) & (face.u_mm() < BLADE.length_mm - 7)
    inside = np.ix_(rows, columns)
    assert face.clipped.any()
    assert not face.clipped[inside].any()
    code = int(255 * srgb_code(np.array(np.median(face.linear[inside]), np.float64)))
    low = replace(placed, photo=replace(placed.photo, clip_level=code))
    marked, light = rectify_face(low).clipped[inside], face.linear[inside]
    full = float(placed.photo.to_linear[code, 0])
    assert marked[(light > full).any(axis=2)].all()
    assert not marked[(light < 0.9 * full).all(axis=2)].any()
    assert 0.0 < marked.mean() < 1.0


def test_a_photo_from_too_far_is_refused() -> None:
    photo = read_photo(photo_named(FOLDER, "refuse-too-coarse").path)
    with pytest.raises(PhotoTooCoarseError, match="Go closer"):
        place_coupon(photo)


def test_only_another_face_is_refused() -> None:
    placed = _placed()
    require_face(placed, None, "the request")
    require_face(placed, FaceName.RINGDOWN, "the request")
    with pytest.raises(WrongFaceError, match="its label says the flow face"):
        require_face(placed, FaceName.FLOW, "its label")
