"""The markers' black ink found and read on drawn cards, and what it tells of the tone curve."""

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.shading.ink import Ink, read_ink
from scoring.shading.paper import read_paper
from tests.shading.drawn_card import (
    POSE,
    PX_PER_MM,
    card_places_mm,
    draw_inked_card,
    photograph,
)
from tests.shading.drawn_shading import lamp_at, paper_irradiance

LAMP_MM = lamp_at(azimuth_deg=180, elevation_deg=20, flat_mm=450)
IDS = np.arange(len(CARD.marker_centre_mm))
ALBEDO, LEVEL = 0.06, 0.5


def _read(light: NDArray[np.float64]) -> Ink:
    photo = photograph(light)
    return read_ink(photo, POSE, IDS, read_paper(photo, POSE))


def _ids(ink: Ink) -> set[int]:
    away = np.linalg.norm(ink.card_mm[:, None] - np.array(CARD.marker_centre_mm), axis=2)
    return set(away.argmin(axis=1).tolist())


def test_ink_has_its_share_of_the_papers_light() -> None:
    """A card drawn by the inverse-square and cosine laws; half a code is 2 % of so little light."""
    ink = _read(draw_inked_card(LAMP_MM, ALBEDO, level=LEVEL))
    assert _ids(ink) == set(IDS.tolist())
    expected = ALBEDO * LEVEL * paper_irradiance(LAMP_MM, ink.card_mm)
    assert ink.light == pytest.approx(np.tile(expected[:, None], 4), rel=0.02)


@pytest.mark.parametrize(("share", "level"), [(0.4, LEVEL), (1.0, LEVEL), (0.4, 3.0)])
def test_ink_in_a_shadow_is_left_out(share: float, level: float) -> None:
    """The coupon's shadow reaches the marker at the right end, or a part of it."""
    light, at = draw_inked_card(LAMP_MM, ALBEDO, level=level), card_places_mm()
    x, y = CARD.marker_centre_mm[5]
    dark_to = x - CARD.marker_side_mm / 2 - 4 + share * (CARD.marker_side_mm + 8)
    light[(at[..., 0] > x - 20) & (at[..., 0] < dark_to) & (np.abs(at[..., 1] - y) < 12)] *= 0.08
    assert _ids(_read(light)) == set(IDS.tolist()) - {5}


def test_ink_on_burnt_out_paper_still_has_its_light() -> None:
    ink = _read(draw_inked_card(LAMP_MM, ALBEDO, level=3.0))
    expected = ALBEDO * 3.0 * paper_irradiance(LAMP_MM, ink.card_mm)
    assert len(ink.card_mm) == len(IDS)
    assert ink.light[:, 3] == pytest.approx(expected, rel=0.02)


def test_ink_beyond_the_pictures_edge_is_left_out() -> None:
    photo = photograph(draw_inked_card(LAMP_MM, ALBEDO, level=LEVEL))
    right = round(184 * PX_PER_MM)
    cut = photograph(draw_inked_card(LAMP_MM, ALBEDO, level=LEVEL)[:, :right])
    ink = read_ink(cut, POSE, IDS, read_paper(photo, POSE))
    assert _ids(ink) == {i for i, (x, _) in enumerate(CARD.marker_centre_mm) if x < 180}


def test_where_no_marker_is_wholly_lit_there_is_no_ink() -> None:
    """As through a blind: a bar of shade lies on one margin of each."""
    light, at = draw_inked_card(LAMP_MM, ALBEDO, level=LEVEL), card_places_mm()
    for x, y in CARD.marker_centre_mm:
        light[(np.abs(at[..., 0] - x + 9) < 2) & (np.abs(at[..., 1] - y) < 9)] *= 0.08
    assert _read(light).light.shape == (0, 4)


def test_without_markers_there_is_no_ink() -> None:
    photo = photograph(draw_inked_card(LAMP_MM, ALBEDO, level=LEVEL))
    ink = read_ink(photo, POSE, IDS[:0], read_paper(photo, POSE))
    assert ink.card_mm.shape == (0, 2)
    assert ink.light.shape == (0, 4)
