"""Blocks of a face of known light."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.geometry import BLADE, CARD
from scoring.photo.srgb import srgb_code, srgb_curve
from scoring.registration.rectify import Placement
from scoring.shading.evidence import Evidence
from scoring.shading.gather import FIRST_BLOCK_U_MM, gather_evidence, off_axis, see_walls
from scoring.shading.paper import NO_PAPER, project_card, read_paper
from scoring.shading.profile import StripProfiles
from scoring.shading.tone import with_luma
from tests.shading.drawn_card import (
    POSE,
    card_places_mm,
    draw_inked_card,
    photograph,
    place_drawn,
)
from tests.shading.drawn_shading import lamp_at

U = np.arange(-2.0, 102.0, 0.05)
PLACED = place_drawn(photograph(np.full(card_places_mm().shape[:2], 0.4)), Placement(0, 0, 0))


def _gather(
    light: np.ndarray, valid: np.ndarray | None = None, *, on_right: bool = False
) -> Evidence:
    """Evidence of four strips of ``light`` (N, 3)."""
    shown = np.ones((4, U.size), bool) if valid is None else valid
    strips = StripProfiles(U, np.arange(4.0), np.tile(with_luma(light), (4, 1, 1)), shown, 0.0)
    return gather_evidence(PLACED, NO_PAPER, strips, lamp_on_right=on_right)


def test_each_block_holds_the_mean_light_at_its_middle() -> None:
    """Light that rises evenly along u has the middle's value as a block's mean."""
    light = 0.1 + 0.002 * U[:, None] * np.array([1.0, 2.0, 3.0])
    found = _gather(light)
    expected = 0.1 + 0.002 * found.face_u_mm[:, None] * np.array([1.0, 2.0, 3.0])
    assert found.face[:, :3] == pytest.approx(expected, rel=1e-3)


def test_blocks_are_the_zones_level_end_and_the_facets() -> None:
    found = _gather(np.full((U.size, 3), 0.3))
    facets = len(BLADE.facets)
    assert found.face_slope[-facets:] == pytest.approx([f.slope for f in BLADE.facets])
    middles = [np.mean(f.u_mm) for f in BLADE.facets]
    assert found.face_u_mm[-facets:] == pytest.approx(middles)
    assert not found.face_slope[:-facets].any()
    assert found.face_u_mm[:-facets].min() > FIRST_BLOCK_U_MM
    assert found.face_u_mm[:-facets].max() < BLADE.facets[0].u_mm[0]


def test_luma_is_the_weighted_code() -> None:
    """Rec. ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B of code values."""
    light = np.array([0.1, 0.3, 0.6])
    found = _gather(np.tile(light, (U.size, 1)))
    luma = float(srgb_curve(np.array(srgb_code(light) @ [0.299, 0.587, 0.114])))
    assert found.face[:, 3] == pytest.approx(np.full(found.face_u_mm.size, luma))


def test_dark_channels_are_trusted_less_and_luma_more() -> None:
    found = _gather(np.tile([0.5, 0.05, 0.005], (U.size, 1)))
    red, green, blue, luma = found.face_sd[0]
    assert red < green < blue
    assert luma < blue


def test_clipped_blocks_are_left_out() -> None:
    whole = _gather(np.full((U.size, 3), 0.3))
    valid = np.ones((4, U.size), bool)
    first = BLADE.facets[0].u_mm
    valid[:3, (first[0] < U) & (first[1] > U)] = False
    found = _gather(np.full((U.size, 3), 0.3), valid)
    assert found.face_u_mm.size == whole.face_u_mm.size - 1
    assert np.mean(first) not in found.face_u_mm


def test_a_face_wholly_clipped_leaves_no_block() -> None:
    found = _gather(np.full((U.size, 3), 0.3), np.zeros((4, U.size), bool))
    assert found.face.shape == (0, 4)
    assert found.face_sd.shape == (0, 4)


def test_without_paper_the_lamp_is_taken_to_be_where_the_facets_say() -> None:
    found = _gather(np.full((U.size, 3), 0.3))
    assert found.azimuth_rad == pytest.approx(np.pi)
    assert found.shadow is None
    assert _gather(np.full((U.size, 3), 0.3), on_right=True).azimuth_rad == pytest.approx(0.0)


def test_the_ink_of_every_marker_seen_is_evidence() -> None:
    """Trusted to 2 % and, in luma, to a tenth of a code: a half per cent of so little light."""
    lamp_mm = lamp_at(azimuth_deg=180, elevation_deg=20, flat_mm=450)
    placed = place_drawn(photograph(draw_inked_card(lamp_mm, 0.06, level=0.5)), Placement(0, 0, 0))
    ids = np.array([1, 4, 9])
    placed = replace(placed, markers=replace(placed.markers, ids=ids))
    strips = StripProfiles(
        U, np.arange(4.0), np.full((4, U.size, 4), 0.3), np.ones((4, U.size), bool), 0.0
    )
    found = gather_evidence(placed, read_paper(placed.photo, POSE), strips)
    centres = np.array(CARD.marker_centre_mm)[ids]
    assert found.ink.card_mm == pytest.approx(centres)
    assert found.ink_off_axis == pytest.approx(off_axis(placed.photo, project_card(POSE, centres)))
    code = 255 * srgb_code(found.ink.light[:, 3])
    assert found.ink_sd[:, 3] == pytest.approx(np.hypot(0.02, 0.1 * 2.2 / code))


def test_off_axis_is_one_at_the_pictures_corners_and_zero_in_its_middle() -> None:
    high, wide = PLACED.photo.pixels.shape[:2]
    px = np.array([[-0.5, -0.5], [wide - 0.5, high - 0.5], [(wide - 1) / 2, (high - 1) / 2]])
    assert off_axis(PLACED.photo, px) == pytest.approx([1.0, 1.0, 0.0])


def test_walls_fill_half_the_view_at_their_foot_and_little_far_off() -> None:
    """Close to a wall half the sky is wall; at 45 degrees to its rim (1 - cos 45) / 2 of it."""
    edge = np.array(CARD.bay_origin_mm) + np.array([50.0, 0.0])
    away = np.array([[0.0, 0.0], [0.0, -BLADE.thickness_mm], [0.0, -10 * BLADE.thickness_mm]])
    expected = [0.5, (1 - np.sqrt(0.5)) / 2, (1 - 10 / np.sqrt(101)) / 2]
    assert see_walls(edge + away) == pytest.approx(expected, rel=0.01)
