"""Lamp and sight across the layers, against the traced photos' own truth."""

import numpy as np
import pytest

from scoring.gaps.lamp import find_lamp_rise, find_lean
from scoring.photo.decode import read_photo
from scoring.registration.place import place_coupon
from tests.reference_photos import ReferencePhoto, read_photos

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
