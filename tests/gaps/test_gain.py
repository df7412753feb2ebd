"""Scale of the open height: tone curve, gloss, and depth against blur."""

import numpy as np
import pytest
from scipy.special import erf

from scoring.gaps.columns import Columns
from scoring.gaps.gain import Gain, compare_with_depth, foretell_gain

BLUR_MM, PITCH_MM = 0.05, 0.2
CALM = {"level": 0.4, "shift": 0.0, "spill_down": 0.0, "clipped_share": 0.0}


def _columns() -> Columns:
    u = np.arange(50, 90, 0.1)
    return Columns(np.ones((4, 400), np.float32), u, 0.1, (slice(0, 400),), 22.0, 20.0, 0.0)


def test_contrast_raises_the_gain_most_in_the_middle_tones() -> None:
    gains = {level: foretell_gain(**{**CALM, "level": level}).value for level in (0.1, 0.3, 0.95)}
    assert gains[0.3] > 1.02
    assert gains[0.1] > 1.02
    assert gains[0.95] < 1.0


@pytest.mark.parametrize("cause", [{"shift": 0.05}, {"clipped_share": 0.2}, {"spill_down": -0.12}])
def test_gloss_and_clipping_make_the_gain_less_sure(cause: dict[str, float]) -> None:
    calm = foretell_gain(**CALM)
    worse = foretell_gain(**{**CALM, **cause})
    assert worse.value == calm.value
    assert worse.sd_log > 1.5 * calm.sd_log


def _compare(
    foretold: Gain,
    heights_mm: float,
    reads: float,
    *,
    aligned: bool = True,
    blur_mm: float = BLUR_MM,
) -> Gain:
    """A slot as deep as scipy's erf says, whose light reads ``reads`` times its height."""
    columns = _columns()
    blur = np.hypot(blur_mm, 0.35 / columns.px_per_mm)
    shape = (5, 400)
    depth = np.full(shape, erf(heights_mm / (2 * np.sqrt(2) * blur)))
    places = np.zeros(shape, bool)
    places[2] = True
    return compare_with_depth(
        foretold,
        np.full(shape, reads * heights_mm),
        depth,
        places,
        columns,
        blur_mm=blur_mm,
        pitch_mm=PITCH_MM,
        aligned=aligned,
    )


@pytest.mark.parametrize("height_mm", [0.02, 0.06, 0.12])
def test_depth_of_a_blurred_slot_tells_its_height(height_mm: float) -> None:
    unsure = Gain(1.0, 0.4)
    assert _compare(unsure, height_mm, 1.3).value == pytest.approx(1.3, rel=0.02)


def test_two_agreeing_readings_are_surer_than_one() -> None:
    foretold = Gain(1.05, 0.09)
    both = _compare(foretold, 0.05, 1.05)
    assert both.value == pytest.approx(1.05, rel=0.01)
    assert both.sd_log < foretold.sd_log


def test_disagreeing_readings_widen_the_interval() -> None:
    foretold = Gain(1.0, 0.09)
    apart = _compare(foretold, 0.05, 1.5)
    assert 1.0 < apart.value < 1.5
    assert apart.sd_log > 2 * _compare(foretold, 0.05, 1.0).sd_log
    assert _compare(foretold, 0.05, 1.0, aligned=False).sd_log > 0.19


def test_without_a_gap_the_foretold_gain_stays() -> None:
    columns = _columns()
    foretold = Gain(1.04, 0.1)
    nothing = np.zeros((5, 400))
    same = compare_with_depth(
        foretold,
        nothing,
        nothing,
        nothing > 0,
        columns,
        blur_mm=BLUR_MM,
        pitch_mm=PITCH_MM,
        aligned=True,
    )
    assert same == foretold


def test_under_a_sharp_lens_the_depth_weighs_less() -> None:
    foretold = Gain(1.0, 0.09)
    soft, sharp = (_compare(foretold, 0.03, 1.3, blur_mm=b).value for b in (0.05, 0.015))
    assert 1.0 < sharp < soft < 1.3


def test_what_both_readings_share_is_not_averaged_away() -> None:
    alone, shared = (_compare(Gain(1.0, 0.09, s), 0.05, 1.0).sd_log for s in (0.0, 0.2))
    assert shared == pytest.approx(np.hypot(alone, 0.2))


@pytest.mark.parametrize(("power", "level"), [(1.8, 0.8), (2.6, 0.4)])
def test_a_camera_s_own_curve_lies_within_the_doubt(power: float, level: float) -> None:
    """Coded as light^(1 / power) and read as by 2.2, light of 0.7 is missing more, or less.

    At each ``level`` the contrast allowed for is wrong the same way, so that neither is held
    without the doubt of the curve.
    """
    reads = (1 - 0.7 ** (2.2 / power)) / (1 - 0.7)
    found = _compare(foretell_gain(**{**CALM, "level": level}), 0.03 * reads, 1.0)
    assert abs(np.log(reads / found.value)) < 1.96 * found.sd_log


@pytest.mark.parametrize("cause", [{"lamp_rise": 0.5}, {"lean": 0.15}, {"lean": -0.15}])
def test_a_low_lamp_or_a_slanting_sight_takes_dark_away(cause: dict[str, float]) -> None:
    calm, worse = foretell_gain(**CALM), foretell_gain(**{**CALM, **cause})
    assert worse.value < calm.value
    assert worse.sd_shared > calm.sd_shared
