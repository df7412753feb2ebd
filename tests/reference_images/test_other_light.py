"""Other lamps give as much light, and stand as said."""

import numpy as np
import pytest

from reference_images.camera import bay_centre
from reference_images.other_light import (
    ASIDE_DEG,
    BULBS_APART_MM,
    FILAMENTS,
    LAMPS,
    other_light_of,
    place_bulbs,
    turn_panel,
)

CENTRE = bay_centre() + np.array([-400.0, 30.0, 150.0])


def test_thirty_two_seeds_hold_every_filament_under_every_lamp() -> None:
    every = {(f, lamp) for f in FILAMENTS for lamp in LAMPS}
    for odd in (0, 1):
        lights = [other_light_of(seed) for seed in range(odd, 32, 2)]
        assert {(x.filament, x.lamp) for x in lights} == every


def test_two_bulbs_shine_as_much_as_one_and_stand_level_about_its_place() -> None:
    """Discs of like radiance: light goes as the area, the radius squared."""
    (a, small), (b, same) = place_bulbs(CENTRE, 20.0, "two bulbs")
    assert small**2 + same**2 == pytest.approx(20.0**2)
    assert (a + b) / 2 == pytest.approx(CENTRE)
    assert np.linalg.norm(a - b) == pytest.approx(BULBS_APART_MM)
    assert a[2] == pytest.approx(b[2])


def test_a_panel_looks_at_the_bay_or_above_it() -> None:
    assert turn_panel(CENTRE, "panel") == pytest.approx(bay_centre())
    straight, aside = (turn_panel(CENTRE, k) - CENTRE for k in ("panel", "panel aside"))
    cosine = straight @ aside / (np.linalg.norm(straight) * np.linalg.norm(aside))
    assert np.degrees(np.arccos(cosine)) == pytest.approx(ASIDE_DEG)
    assert aside[2] > straight[2]
