"""Pairs: one coupon, two lamps."""

import numpy as np
import pytest

from reference_images.camera import place_lamp
from reference_images.pair_set import draw_pair
from reference_images.standard import CARD
from reference_images.study_set import draw_scene
from reference_images.surface import build_surface

SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_lamps_stand_opposite_at_a_like_height(seed: int) -> None:
    left, right = draw_pair(seed)
    middle = CARD["bay"]["origin_mm"][0] + CARD["bay"]["size_mm"][0] / 2
    assert place_lamp(left.lamp)[0] < middle < place_lamp(right.lamp)[0]
    assert abs(left.lamp.elevation_deg - right.lamp.elevation_deg) <= 2
    assert right.lamp.distance_mm == pytest.approx(left.lamp.distance_mm, rel=0.1)


def test_the_coupon_is_one_and_laid_anew() -> None:
    left, right = draw_pair(4)
    assert (left.modes, left.material, left.stain) == (right.modes, right.material, right.stain)
    assert (build_surface(left).y_mm == build_surface(right).y_mm).all()
    assert left.pose != right.pose
    assert left.camera.turn_deg != right.camera.turn_deg
    assert left.camera.focal_px == right.camera.focal_px


def test_the_left_photos_coupon_is_the_studys() -> None:
    left, _ = draw_pair(6)
    scene = draw_scene(6, "ringdown")
    assert (left.modes, left.lamp, left.set) == (scene.modes, scene.lamp, "tuning")
    assert draw_pair(7)[1].set == "quoting"


def test_stains_are_of_every_kind() -> None:
    stains = [draw_pair(seed)[0].stain for seed in range(60)]
    shares = np.array([s.share for s in stains])
    assert 0 < np.mean(shares > 0) < 0.5
    assert any(s.blotch_share == 0 for s in stains)
    assert any(s.share and s.decay_mm for s in stains)
    assert any(s.share and not s.decay_mm for s in stains)
