"""The coupon's shadow, drawn on a card by trigonometry alone."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.photo.photo import Photo
from scoring.registration.rectify import Placement
from scoring.shading.paper import Paper, project_card, read_paper
from scoring.shading.shadow import ROUNDING_MM, find_shadow
from tests.shading.drawn_card import POSE, PX_PER_MM, SHAPE, draw_light, photograph
from tests.shading.drawn_shading import BAY_MM, lamp_at

PLACEMENT = Placement(0.5, -0.4, 0.01)
SHADE = 0.12


def _photo(
    elevation_deg: float, *, azimuth_deg: float = 180.0, drawn: bool = True
) -> tuple[Photo, Paper]:
    """A card with the shadow of the far edge, thickness over tangent long, softened."""
    lamp = lamp_at(azimuth_deg=azimuth_deg, elevation_deg=elevation_deg, flat_mm=500)
    light = draw_light(lamp, level=0.4)
    if drawn:
        light = light * (1 - (1 - SHADE) * _shaded(lamp, elevation_deg))
    photo = photograph(light)
    return photo, read_paper(photo, POSE)


def _shaded(lamp_mm: NDArray[np.float64], elevation_deg: float) -> NDArray[np.float64]:
    """1 in the shadow, 0 in the light, (M, N)."""
    far_u_mm = BLADE.length_mm if lamp_mm[0] < BAY_MM[0] else 0.0
    foot = PLACEMENT.card_mm(np.full(2, far_u_mm), np.array([0.0, 24.0]))[:, :2]
    away = foot.mean(axis=0) - lamp_mm[:2]
    length = BLADE.thickness_mm / np.tan(np.deg2rad(elevation_deg)) - ROUNDING_MM
    tip = foot + length * away / np.linalg.norm(away)
    outline = project_card(POSE, np.concatenate([foot, tip[::-1]]))
    dark = np.zeros(SHAPE, np.float32)
    cv2.fillPoly(dark, [np.round(outline * 16).astype(np.int32)], 1.0, cv2.LINE_AA, 4)
    return np.asarray(cv2.GaussianBlur(dark, (0, 0), 2.0), np.float64)


@pytest.mark.parametrize(("azimuth_deg", "edge_u_mm"), [(180.0, 100.0), (0.0, 0.0)])
@pytest.mark.parametrize("elevation_deg", [14, 18, 25])
def test_elevation_is_the_one_drawn(
    elevation_deg: float, azimuth_deg: float, edge_u_mm: float
) -> None:
    photo, paper = _photo(elevation_deg, azimuth_deg=azimuth_deg)
    found = find_shadow(photo, POSE, PLACEMENT, paper)
    assert found is not None
    assert found.edge_u_mm == edge_u_mm
    truth = 1 / np.tan(np.deg2rad(elevation_deg))
    assert abs(found.cotangent - truth) < 2 * found.sd
    assert found.sd < 0.05 * truth


def test_without_a_shadow_nothing_is_found() -> None:
    photo, paper = _photo(18, drawn=False)
    assert find_shadow(photo, POSE, PLACEMENT, paper) is None


def test_without_paper_nothing_is_found() -> None:
    photo, _ = _photo(18)
    empty = Paper(np.empty((0, 2)), np.empty((0, 3)))
    assert find_shadow(photo, POSE, PLACEMENT, empty) is None


def test_a_labels_code_in_the_shadows_way_does_not_shorten_it() -> None:
    """Under a lamp on the right the shadow falls on the label; its rim and the card show it."""
    photo, paper = _photo(20, azimuth_deg=0.0)
    whole = find_shadow(photo, POSE, PLACEMENT, paper)
    codes = photo.codes8.copy()
    (x0, y0), (wide, high) = CARD.label_origin_mm, CARD.label_size_mm
    box = np.array([x0 + 2.5, y0 + 2.5, x0 + wide - 2.5, y0 + high - 2.5])
    left, top, right, low = (int(v) for v in box * PX_PER_MM)
    codes[top:low:8, left:right] = 10
    found = find_shadow(replace(photo, pixels=codes), POSE, PLACEMENT, paper)
    assert whole is not None
    assert found is not None
    assert found.cotangent == pytest.approx(whole.cotangent, rel=0.02)


def test_a_shadow_that_runs_off_the_card_is_not_measured() -> None:
    """Five degrees up it would be 137 mm long: no tip is on the card."""
    photo, paper = _photo(5)
    assert find_shadow(photo, POSE, PLACEMENT, paper) is None
