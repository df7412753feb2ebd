"""The card in the drawn photos is the card that is printed."""

import numpy as np
import pytest

from reference_images.card_picture import PAPER, PX_PER_MM, draw_card
from scoring.geometry import CARD


@pytest.mark.parametrize("label", [None, "coupon:B7-012:x:ringdown"])
def test_paper_is_bare_but_where_the_geometry_says(label: str | None) -> None:
    """``Card.words_mm`` says so of the printed card, and ``tests/making/test_card.py`` holds it."""
    card = draw_card(label)
    side = CARD.marker_side_mm
    boxes = [(x - side / 2, y - side / 2, side, side) for x, y in CARD.marker_centre_mm]
    boxes += [
        (*CARD.bay_origin_mm, *CARD.bay_size_mm),
        (*CARD.label_origin_mm, *CARD.label_size_mm),
    ]
    (wide, high), (left, top) = CARD.wedge_patch_mm, CARD.wedge_origin_mm
    boxes += [(left, top, wide * CARD.wedge_patches, high), *CARD.words_mm]
    line_mm = 0.4
    for x, y, w, h in boxes:
        rows, columns = (
            slice(round((at - line_mm) * PX_PER_MM), round((at + size + line_mm) * PX_PER_MM))
            for at, size in ((y, h), (x, w))
        )
        card[rows, columns] = PAPER
    assert np.all(card == np.float32(PAPER))
