"""Marker corners on drawn cards: found, refined, and false ones refused."""

import cv2
import numpy as np
import pytest

from scoring.errors import CardNotFoundError, TooFewMarkersError
from scoring.geometry import CARD
from scoring.registration.markers import find_markers, marker_corners_mm

PX_PER_MM = 12.0
LINEAR = np.linspace(0, 1, 256, dtype=np.float32)
"""The drawn cards are linear already."""


def _card(ids: list[int], *, blur_px: float = 1.0, shift_px: float = 0.0) -> np.ndarray:
    """A card in light 0.1 to 0.8, drawn eight times too fine and averaged down."""
    fine = 4
    scale = PX_PER_MM * fine
    size = (int(CARD.size_mm[1] * scale), int(CARD.size_mm[0] * scale))
    picture = np.full(size, 204, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, CARD.marker_dictionary))
    side = round(CARD.marker_side_mm * scale)
    for i in ids:
        x, y = (marker_corners_mm(i)[0] * scale + shift_px * fine).round().astype(int)
        drawn = cv2.aruco.generateImageMarker(dictionary, i, side)
        picture[y : y + side, x : x + side] = np.where(drawn > 0, 204, 26)
    small = cv2.resize(picture, None, fx=1 / fine, fy=1 / fine, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), blur_px)
    return np.asarray(cv2.cvtColor(soft, cv2.COLOR_GRAY2RGB), np.uint8)


@pytest.mark.parametrize("blur_px", [0.7, 1.5, 2.5])
@pytest.mark.parametrize("shift_px", [0.0, 0.25, 0.5])
def test_corners_are_where_they_were_drawn(blur_px: float, shift_px: float) -> None:
    """Isolated squares pull usual corner finders inward by 0.3 px and more; these edges do not."""
    seen = find_markers(_card(list(range(12)), blur_px=blur_px, shift_px=shift_px), LINEAR)
    expected = seen.card_mm * PX_PER_MM + shift_px - 0.5  # pixel centres
    off = seen.photo_px - expected
    assert len(seen.ids) == 12
    assert np.abs(off).max() < 0.12
    inward = (off * np.sign(seen.card_mm - seen.card_mm.mean(axis=1, keepdims=True))).mean()
    assert abs(inward) < 0.04


def test_blur_is_measured() -> None:
    """A Gaussian's 10 to 90 % edge is 2.563 SD (ISO 12233's slanted edge, value recomputed)."""
    sharp, soft = (find_markers(_card(list(range(12)), blur_px=b), LINEAR) for b in (1.0, 2.0))
    aperture = 1 / 12 + 1 / 6  # the pixel, and bilinear sampling between pixels
    assert sharp.blur_px == pytest.approx(np.sqrt(1.0 + aperture), abs=0.12)
    assert soft.blur_px == pytest.approx(np.sqrt(4.0 + aperture), abs=0.15)


def test_false_marker_is_dropped() -> None:
    picture = _card([0, 1, 2, 3, 4, 6, 7, 8])
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, CARD.marker_dictionary))
    picture[800:968, 1000:1168] = np.where(
        cv2.aruco.generateImageMarker(dictionary, 5, 168)[..., None] > 0, 204, 26
    )
    assert 5 not in find_markers(picture, LINEAR).ids


@pytest.mark.parametrize("ids", [[0, 1, 2, 3, 4], [5, 6, 7, 8, 9, 10], [0, 1, 2, 3]])
def test_one_row_of_markers_is_enough(ids: list[int]) -> None:
    """Their centres lie on a line, so their corners must tell that they agree."""
    assert set(find_markers(_card(ids), LINEAR).ids) == set(ids)


def test_marker_of_another_card_is_ignored() -> None:
    assert set(find_markers(_card([0, 2, 5, 8, 10]), LINEAR).ids) == {0, 2, 5, 8, 10}


def test_no_marker_is_no_card() -> None:
    with pytest.raises(CardNotFoundError, match="printed card"):
        find_markers(np.full((600, 800, 3), 200, np.uint8), LINEAR)


def test_two_markers_are_too_few() -> None:
    with pytest.raises(TooFewMarkersError, match="at least 4"):
        find_markers(_card([0, 8]), LINEAR)
