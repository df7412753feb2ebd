"""Lamp and sight across the layers, against the traced photos' own truth."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.gaps.lamp import find_lamp_rise, find_lean
from scoring.geometry import BLADE
from scoring.photo.decode import read_photo
from scoring.registration.place import place_coupon
from tests.reference_photos import ReferencePhoto, photo_named, read_photos

TUNING = [p for p in read_photos("flow") if p.truth["set"] == "tuning"]


@pytest.mark.parametrize("photo", TUNING, ids=lambda p: p.name)
def test_the_shadow_tells_the_lamp_s_elevation(photo: ReferencePhoto) -> None:
    placed = place_coupon(read_photo(photo.path))
    lamp = photo.truth["conditions"]["lamp"]
    off = np.radians(lamp["azimuth_deg"] - 90 - photo.truth["conditions"]["pose"]["turn_deg"])
    true_deg = np.degrees(np.arctan(np.tan(np.radians(lamp["elevation_deg"])) / np.cos(off)))
    rise = find_lamp_rise(placed.photo, placed.pose, placed.placement)
    assert rise is not None
    # The lamp stands nearer to the foot edge's shadow than to the face's middle.
    assert np.degrees(np.arctan(rise)) == pytest.approx(true_deg, abs=1.8)


def test_a_shadow_that_runs_out_of_the_picture_is_no_longer_than_is_seen() -> None:
    """Cut off at two thirds of it: the lamp may stand that much higher, but no lower."""
    photo = photo_named("flow", "full-natural")
    placed = place_coupon(read_photo(photo.path))
    whole = find_lamp_rise(placed.photo, placed.pose, placed.placement)
    assert whole is not None
    length_mm = BLADE.thickness_mm / whole
    x, foot_y, _ = placed.placement.card_mm(np.array([50.0]), np.array([0.0]))[0]
    end = placed.pose.project(np.array([[x, foot_y + 2 / 3 * length_mm, 0.0]]))[0, 1]
    cut = replace(placed.photo, pixels=placed.photo.pixels[: int(end)])
    rise = find_lamp_rise(cut, placed.pose, placed.placement)
    assert rise == pytest.approx(1.5 * whole, rel=0.15)


@pytest.mark.parametrize("photo", TUNING[:2], ids=lambda p: p.name)
def test_the_camera_s_place_tells_how_sight_leans(photo: ReferencePhoto) -> None:
    placed = place_coupon(read_photo(photo.path))
    camera = photo.truth["conditions"]["camera"]
    reach = camera["focal_px"] / camera["face_px_per_mm"]
    tilt, towards = (np.radians(camera[k]) for k in ("tilt_deg", "tilt_towards_deg"))
    # Right and down over the card, from the point aimed at; the face's middle is the bay's.
    down = camera["aim_mm"][1] - reach * np.sin(tilt) * np.sin(towards)
    middle = 74.0 + photo.truth["conditions"]["pose"]["dy_mm"]
    lean = (middle - down) / (reach * np.cos(tilt))
    assert find_lean(placed.camera_mm, placed.placement) == pytest.approx(lean, abs=0.02)
