"""The coupon's shadow, drawn on a card by trigonometry alone."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.photo.photo import Photo
from scoring.registration.rectify import Placement
from scoring.shading.paper import NO_PAPER, Paper, project_card, read_paper
from scoring.shading.shadow import (
    ROUNDING_MM,
    Shadow,
    find_shade,
    find_shadow,
    read_shadow_lines,
)
from tests.shading.drawn_card import POSE, PX_PER_MM, SHAPE, draw_light, photograph
from tests.shading.drawn_shading import BAY_MM, lamp_at, paper_irradiance

PLACEMENT = Placement(0.5, -0.4, 0.01)
SHADE = 0.12


def _photo(
    elevation_deg: float, *, azimuth_deg: float = 180.0, drawn: bool = True, soft_px: float = 2.0
) -> tuple[Photo, Paper]:
    """A card with the shadow of the far edge, thickness over tangent long, softened."""
    lamp = lamp_at(azimuth_deg=azimuth_deg, elevation_deg=elevation_deg, flat_mm=500)
    light = draw_light(lamp, level=0.4)
    if drawn:
        light = light * (1 - (1 - SHADE) * _shaded(lamp, elevation_deg, soft_px))
    photo = photograph(light)
    return photo, read_paper(photo, POSE)


def _shaded(
    lamp_mm: NDArray[np.float64], elevation_deg: float, soft_px: float
) -> NDArray[np.float64]:
    """1 in the shadow, 0 in the light, (M, N)."""
    far_u_mm = BLADE.length_mm if lamp_mm[0] < BAY_MM[0] else 0.0
    foot = PLACEMENT.card_mm(np.full(2, far_u_mm), np.array([0.0, 24.0]))[:, :2]
    away = foot.mean(axis=0) - lamp_mm[:2]
    length = BLADE.thickness_mm / np.tan(np.deg2rad(elevation_deg)) - ROUNDING_MM
    tip = foot + length * away / np.linalg.norm(away)
    outline = project_card(POSE, np.concatenate([foot, tip[::-1]]))
    dark = np.zeros(SHAPE, np.float32)
    cv2.fillPoly(dark, [np.round(outline * 16).astype(np.int32)], 1.0, cv2.LINE_AA, 4)
    return np.asarray(cv2.GaussianBlur(dark, (0, 0), soft_px), np.float64)


def _find(photo: Photo, paper: Paper) -> Shadow | None:
    lines = read_shadow_lines(photo, POSE, PLACEMENT, paper)
    assert lines is not None
    return find_shadow(lines)


@pytest.mark.parametrize(("azimuth_deg", "edge_u_mm"), [(180.0, 100.0), (0.0, 0.0)])
@pytest.mark.parametrize("elevation_deg", [14, 18, 25])
def test_elevation_is_the_one_drawn(
    elevation_deg: float, azimuth_deg: float, edge_u_mm: float
) -> None:
    photo, paper = _photo(elevation_deg, azimuth_deg=azimuth_deg)
    found = _find(photo, paper)
    assert found is not None
    assert found.edge_u_mm == edge_u_mm
    truth = 1 / np.tan(np.deg2rad(elevation_deg))
    assert abs(found.cotangent - truth) < 2 * found.sd
    assert found.sd < 0.05 * truth


@pytest.mark.parametrize(("elevation_deg", "found"), [(20, True), (30, True), (40, False)])
def test_a_soft_shadow_is_measured_where_its_shade_is_full(
    elevation_deg: float, found: bool
) -> None:
    """A penumbra of 8 mm, as under a desk lamp: 40 degrees up it reaches all that is read."""
    photo, paper = _photo(elevation_deg, soft_px=18.0)
    shadow = _find(photo, paper)
    assert (shadow is not None) == found
    if shadow:
        assert abs(shadow.cotangent - 1 / np.tan(np.deg2rad(elevation_deg))) < 2 * shadow.sd


def test_without_a_shadow_nothing_is_found() -> None:
    photo, paper = _photo(18, drawn=False)
    assert _find(photo, paper) is None


def test_without_paper_nothing_is_found() -> None:
    photo, _ = _photo(18)
    assert read_shadow_lines(photo, POSE, PLACEMENT, NO_PAPER) is None


def test_a_labels_code_in_the_shadows_way_does_not_shorten_it() -> None:
    """Under a lamp on the right the shadow falls on the label; its rim and the card show it."""
    photo, paper = _photo(20, azimuth_deg=0.0)
    whole = _find(photo, paper)
    codes = photo.codes8.copy()
    (x0, y0), (wide, high) = CARD.label_origin_mm, CARD.label_size_mm
    box = np.array([x0 + 2.5, y0 + 2.5, x0 + wide - 2.5, y0 + high - 2.5])
    left, top, right, low = (int(v) for v in box * PX_PER_MM)
    codes[top:low:8, left:right] = 10
    found = _find(replace(photo, pixels=codes), paper)
    assert whole is not None
    assert found is not None
    assert found.cotangent == pytest.approx(whole.cotangent, rel=0.02)


def test_where_the_picture_ends_there_is_no_shadow() -> None:
    """The card's right end lies outside it, past the tip, which is still found."""
    photo, paper = _photo(18)
    whole = _find(photo, paper)
    cut = _find(replace(photo, pixels=photo.pixels[:, : int(202 * PX_PER_MM)]), paper)
    assert whole is not None
    assert cut is not None
    assert cut.cotangent == pytest.approx(whole.cotangent, rel=0.01)


def test_a_shadow_that_runs_off_the_card_is_not_measured() -> None:
    """Five degrees up it would be 137 mm long: no tip is on the card."""
    photo, paper = _photo(5)
    assert _find(photo, paper) is None


def _cover(photo: Photo, low_mm: tuple[float, float], high_mm: tuple[float, float]) -> Photo:
    """A black thing on the card."""
    codes = photo.codes8.copy()
    (left, top), (right, low) = (
        (int(x * PX_PER_MM), int(y * PX_PER_MM)) for x, y in (low_mm, high_mm)
    )
    codes[top:low, left:right] = 3
    return replace(photo, pixels=codes)


def test_a_thing_that_lies_across_the_shadow_is_not_taken_for_its_tip() -> None:
    photo, paper = _photo(18)
    thing = _cover(photo, (170.0, 60.0), (182.0, 90.0))
    assert _find(photo, paper) is not None
    assert _find(thing, paper) is None


def test_shade_that_is_black_beside_the_wall_does_not_hide_the_tip() -> None:
    """Where stray light comes from one side, as from a window, the wall keeps it off."""
    photo, paper = _photo(18)
    whole = _find(photo, paper)
    found = _find(_cover(photo, (156.0, 60.0), (163.0, 90.0)), paper)
    assert whole is not None
    assert found is not None
    assert found.cotangent == pytest.approx(whole.cotangent, rel=0.01)


@pytest.mark.parametrize("azimuth_deg", [180.0, 172.0])
def test_paper_in_the_shade_shows_the_light_that_strays_in(azimuth_deg: float) -> None:
    """The drawn shadow leaves the share SHADE of the paper's light; a dark code is 3 % of it."""
    photo, paper = _photo(20, azimuth_deg=azimuth_deg)
    lines = read_shadow_lines(photo, POSE, PLACEMENT, paper)
    assert lines is not None
    found = find_shade(photo, lines)
    assert found is not None
    assert found.card_mm[0] == pytest.approx(155.5 + 12.5, abs=1.0)
    lit = 0.4 * paper_irradiance(
        lamp_at(azimuth_deg=azimuth_deg, elevation_deg=20, flat_mm=500), found.card_mm
    )
    assert found.light == pytest.approx(np.full(3, SHADE * lit), rel=0.04)


def test_lit_paper_is_no_shade() -> None:
    photo, paper = _photo(18, drawn=False)
    lines = read_shadow_lines(photo, POSE, PLACEMENT, paper)
    assert lines is not None
    assert find_shade(photo, lines) is None
