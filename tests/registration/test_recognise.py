"""Faces told apart on the reference photos, and where the cut corner says otherwise."""

from functools import cache

import numpy as np
import pytest

from scoring.metrics import FaceName
from scoring.photo.decode import read_photo
from scoring.registration import recognise
from scoring.registration.place import PlacedCoupon, place_coupon
from scoring.registration.recognise import BY_CHAMFER, Recognised, recognise_face
from tests.reference_photos import photo_named


@cache
def _placed(folder: str, name: str) -> PlacedCoupon:
    return place_coupon(read_photo(photo_named(folder, name).path))


@pytest.fixture(params=list(BY_CHAMFER))
def corner(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """The corner that looks cut, whichever is."""
    monkeypatch.setattr(recognise, "find_chamfer", lambda *_: request.param)
    return str(request.param)


@pytest.mark.usefixtures("corner")
def test_facets_overrule_the_cut_corner() -> None:
    placed = _placed("ringdown", "turned-dark-grey")
    upright = placed.coupon.placement
    found = recognise_face(placed.photo.codes8, placed.pose, upright)
    assert (found.face, found.turn_rad) == (FaceName.RINGDOWN, 0.0)


@pytest.mark.usefixtures("corner")
def test_grooves_overrule_the_cut_corner() -> None:
    placed = _placed("flow", "white-gaps")
    upright = placed.coupon.placement
    found = recognise_face(placed.photo.codes8, placed.pose, upright)
    assert (found.face, found.turn_rad) == (FaceName.FLOW, 0.0)


def test_without_facets_or_grooves_the_cut_corner_decides(corner: str) -> None:
    placed = _placed("flow", "white-gaps")
    plain = np.full_like(placed.photo.codes8, 120)
    found = recognise_face(plain, placed.pose, placed.coupon.placement)
    assert found == Recognised(*BY_CHAMFER[corner])


@pytest.mark.parametrize(
    ("name", "face"),
    [("turned-dark-grey", FaceName.RINGDOWN), ("dark-grey-gaps", FaceName.FLOW)],
)
def test_a_coupon_seen_the_other_way_round_is_turned(name: str, face: FaceName) -> None:
    placed = _placed(face, name)
    upright = placed.coupon.placement
    half = type(upright)(upright.dx_mm, upright.dy_mm, upright.turn_rad + np.pi, upright.scale)
    found = recognise_face(placed.photo.codes8, placed.pose, half)
    assert (found.face, found.turn_rad) == (face, np.pi)
