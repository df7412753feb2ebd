"""Layers drawn at known turns, and those of the traced photos, level the coupon."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.photo.decode import read_photo
from scoring.registration.level import level_layers
from scoring.registration.place import place_coupon
from scoring.registration.rectify import Placement
from tests.reference_photos import photo_named
from tests.registration.drawn_coupon import POSE, draw_coupon
from tests.registration.true_offsets import read_off_mm

HALF_MM = BLADE.length_mm / 2


@settings(max_examples=8, deadline=None)
@given(
    off_mm=st.floats(-0.12, 0.12),
    turn_rad=st.floats(-0.06, 0.06),
    layer_mm=st.sampled_from([0.16, 0.2, 0.32]),
    seed=st.integers(0, 99),
)
def test_a_drawn_turn_comes_back_or_nothing_is_claimed(
    off_mm: float, turn_rad: float, layer_mm: float, seed: int
) -> None:
    found, sd_rad, before = _level(off_mm, turn_rad, layer_mm, seed)
    if np.isinf(sd_rad):
        assert found == before
        return
    assert found.turn_rad * HALF_MM == pytest.approx(turn_rad * HALF_MM, abs=0.015)
    assert sd_rad * HALF_MM < 0.01
    assert replace(found, turn_rad=before.turn_rad) == before


def test_layers_tell_the_turn_nearly_always() -> None:
    drawn = [
        (off_mm, 0.03 * np.sin(seed), layer_mm, seed)
        for seed, (off_mm, layer_mm) in enumerate(
            itertools.product((-0.12, -0.05, 0.0, 0.08), (0.16, 0.2, 0.32))
        )
    ]
    told = [np.isfinite(_level(*one)[1]) for one in drawn]
    assert sum(told) >= len(told) - 1


def _level(
    off_mm: float, turn_rad: float, layer_mm: float, seed: int
) -> tuple[Placement, float, Placement]:
    """Placement and doubt as levelled, and the placement before: turned by ``off_mm`` too much."""
    truth = Placement(0.5, -0.5, turn_rad)
    rng = np.random.default_rng(seed)
    picture = draw_coupon(rng, truth, FaceName.RINGDOWN, 120.0, layer_mm=layer_mm)
    before = replace(truth, turn_rad=turn_rad + off_mm / HALF_MM)
    return *level_layers(picture, POSE, before), before


def test_without_layers_nothing_is_claimed() -> None:
    placed = Placement(0.5, -0.5, 0.02)
    picture = draw_coupon(np.random.default_rng(1), placed, FaceName.RINGDOWN, 120.0)
    assert level_layers(picture, POSE, placed) == (placed, np.inf)


@pytest.mark.parametrize(
    ("folder", "name"),
    [("ringdown", "no-ripple-natural"), ("ringdown", "two-modes-red"), ("flow", "white-gaps")],
)
def test_true_places_run_level(folder: str, name: str) -> None:
    """Traced photos, quoting ones; the outline alone leaves the first 0.025 mm askew."""
    photo = photo_named(folder, name)
    placed = place_coupon(read_photo(photo.path))
    u_mm, w_mm, true_px = photo.read_face_grid()
    off_mm = read_off_mm(placed, true_px, (u_mm, w_mm), (u_mm, w_mm + 1))
    rise_mm = np.polyfit(u_mm / HALF_MM, off_mm, 1)[0]
    assert rise_mm == pytest.approx(0.0, abs=0.01)
