"""Bare paper found and read on drawn cards."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.geometry import CARD
from scoring.photo.srgb import srgb_curve
from scoring.shading.paper import (
    Paper,
    bay_centre_mm,
    clear_of_markers,
    project_card,
    quadratic,
    read_paper,
)
from scoring.shading.tone import with_luma
from tests.shading.drawn_card import POSE, PX_PER_MM, card_places_mm, draw_light, photograph
from tests.shading.drawn_shading import lamp_at, paper_irradiance

TINT = (1.0, 0.95, 0.88)


@pytest.mark.parametrize("azimuth_deg", [-170, -90, 10, 100, 175])
def test_light_and_direction_are_those_drawn(azimuth_deg: float) -> None:
    lamp = lamp_at(azimuth_deg=azimuth_deg, elevation_deg=25, flat_mm=500)
    paper = read_paper(photograph(draw_light(lamp, level=0.45), TINT), POSE)
    assert paper.enough
    expected = 0.45 * paper_irradiance(lamp, paper.card_mm)[:, None] * np.array(TINT)
    # Half a code of 255 is under 1 % of light at these levels (sRGB).
    assert paper.light == pytest.approx(with_luma(expected), rel=0.01)
    off = paper.lamp_azimuth_rad - np.deg2rad(azimuth_deg)
    # The slope of 1/r^3 turns a little over a card that is not small beside the distance.
    assert abs(np.angle(np.exp(1j * off))) < np.deg2rad(6)


def test_falloff_holds_where_the_bay_hides_the_paper() -> None:
    lamp = lamp_at(azimuth_deg=180, elevation_deg=20, flat_mm=500)
    paper = read_paper(photograph(draw_light(lamp, level=0.3)), POSE)
    hidden = bay_centre_mm() + np.array([[-40.0, 0], [0, 0], [40, 5]])
    foretold = np.exp(quadratic(hidden) @ paper.falloff())
    assert foretold == pytest.approx(0.3 * paper_irradiance(lamp, hidden), rel=0.03)


def test_things_lying_on_the_card_are_left_out() -> None:
    lamp = lamp_at(azimuth_deg=180, elevation_deg=25, flat_mm=500)
    light = draw_light(lamp, level=0.4)
    at = card_places_mm()
    thing = (np.abs(at[..., 0] - 60) < 14) & (np.abs(at[..., 1] - 110) < 10)
    light[thing] *= 0.3
    paper = read_paper(photograph(light), POSE)
    on_thing = (np.abs(paper.card_mm[:, 0] - 60) < 14) & (np.abs(paper.card_mm[:, 1] - 110) < 10)
    assert not on_thing.any()
    assert paper.enough


def test_paper_at_full_scale_says_nothing() -> None:
    paper = read_paper(photograph(np.full(card_places_mm().shape[:2], 2.0)), POSE)
    assert len(paper.card_mm) == 0
    assert not paper.enough


def test_a_dark_thing_on_burnt_out_paper_is_not_taken_for_the_paper() -> None:
    """All paper at full scale; only the thing has light between black and white."""
    light = np.full(card_places_mm().shape[:2], 2.0)
    at = card_places_mm()
    light[(np.abs(at[..., 0] - 60) < 14) & (np.abs(at[..., 1] - 110) < 14)] = 0.05
    assert len(read_paper(photograph(light), POSE).card_mm) == 0


def test_print_and_bays_do_not_darken_the_paper() -> None:
    """All that may be printed or laid on the card is drawn at 0.95 of the light.

    Black would be thrown out as no paper anyway; so little darker, it must be known to lie there.
    """
    lamp = lamp_at(azimuth_deg=180, elevation_deg=25, flat_mm=500)
    light = draw_light(lamp, level=0.4)
    at = card_places_mm()
    wedge = (CARD.wedge_patch_mm[0] * CARD.wedge_patches, CARD.wedge_patch_mm[1])
    boxes = [
        (*CARD.bay_origin_mm, *CARD.bay_size_mm),
        (*CARD.label_origin_mm, *CARD.label_size_mm),
        (*CARD.wedge_origin_mm, *wedge),
        *CARD.words_mm,
    ]
    covered = ~clear_of_markers(at, 1.0)
    for x, y, wide, high in boxes:
        covered |= np.all((at > (x, y)) & (at < (x + wide, y + high)), axis=-1)
    paper = read_paper(photograph(np.where(covered, 0.95 * light, light)), POSE)
    assert paper.enough
    expected = 0.4 * paper_irradiance(lamp, paper.card_mm)
    assert paper.light[:, 1] == pytest.approx(expected, rel=0.01)


def test_light_between_two_codes_is_read() -> None:
    """Half a code is 0.5 % of light here; over a cell's slope of light the codes' mean is truer."""
    lamp = lamp_at(azimuth_deg=180, elevation_deg=20, flat_mm=500)
    paper = read_paper(photograph(draw_light(lamp, level=0.45)), POSE)
    off = paper.light[:, 1] / (0.45 * paper_irradiance(lamp, paper.card_mm)) - 1
    assert np.sqrt(np.mean(off**2)) < 0.0015


def test_the_files_own_luma_is_taken_where_it_keeps_one() -> None:
    """All paper in one colour: red, green and blue as decoded from luma 150, Cb 134, Cr 137.

    Rounded, they weigh to 150.44 (JFIF): 0.6 % more light than the file holds.
    """
    size = card_places_mm().shape[:2]
    codes = np.array([150 + 13, 150 - 8, 150 + 11], np.uint8)
    drawn = replace(photograph(np.ones(size)), pixels=np.tile(codes, (*size, 1)), keeps_luma=True)
    paper = read_paper(drawn, POSE)
    assert len(paper.card_mm) > 0
    assert paper.light[:, 3] == pytest.approx(float(srgb_curve(np.array(150 / 255))), rel=1e-5)


def test_too_few_places_are_not_enough() -> None:
    assert not Paper(np.zeros((3, 2)), np.ones((3, 4))).enough


@given(x=st.floats(0, 210), y=st.floats(0, 148))
def test_quadratic_is_the_polynomial(x: float, y: float) -> None:
    a, b = (np.array([x, y]) - bay_centre_mm()) / 100
    assert quadratic(np.array([x, y])) == pytest.approx([1, a, b, a * a, a * b, b * b])


def test_card_is_projected_at_its_own_height() -> None:
    """Straight from above a millimetre is 6 px everywhere on the card."""
    px = project_card(POSE, np.array([[0.0, 0.0], [100.0, 50.0]]))
    assert px[1] - px[0] == pytest.approx([100 * PX_PER_MM, 50 * PX_PER_MM], abs=0.01)


def test_clear_of_markers_keeps_the_margin() -> None:
    reach = CARD.marker_side_mm / 2
    centre = np.array(CARD.marker_centre_mm[4])
    just_off = centre + np.array([reach + 1.0, 0])
    assert not clear_of_markers(centre, 0.0)
    assert clear_of_markers(just_off, 0.9)
    assert not clear_of_markers(just_off, 1.1)
