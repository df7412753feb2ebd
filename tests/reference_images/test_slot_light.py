"""What a slanting sight meets in a slot, against plane geometry."""

import numpy as np

from reference_images.slot_light import find_lit_wall


def lit(from_lip_mm: float, lean: float) -> bool:
    # A slot 0.1 mm high under a lamp at 45 degrees: the lower wall is lit down to 0.1 mm.
    return bool(
        find_lit_wall(
            np.array(from_lip_mm), np.array(0.1), lean=np.array(lean), lamp_rise=np.ones(())
        )
    )


def test_sight_straight_down_sees_the_floor_alone() -> None:
    assert not lit(0.05, 0.0)


def test_sight_that_leans_to_the_lower_wall_meets_it_in_the_light_near_the_lip() -> None:
    assert lit(0.019, 0.2)  # met 0.095 mm down
    assert not lit(0.021, 0.2)  # met 0.105 mm down, in the upper lip's shadow


def test_sight_that_leans_the_other_way_meets_the_wall_turned_from_the_lamp() -> None:
    assert not lit(0.01, -0.2)
