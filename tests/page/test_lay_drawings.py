"""Our own drawings: well-formed, and true to the card's geometry."""

from xml.etree import ElementTree

import pytest

from scoring.geometry import BLADE, CARD
from scoring.metrics import FaceName
from scoring.page.lay_drawings import draw_from_above, draw_from_the_side, draw_plate

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("face", FaceName)
def test_card_and_coupon_are_to_scale(face: FaceName) -> None:
    drawing = ElementTree.fromstring(draw_from_above(face))
    sizes = [
        (float(r.get("width", 0)), float(r.get("height", 0))) for r in drawing.iter(f"{SVG}rect")
    ]
    assert CARD.size_mm in sizes
    assert sizes.count((CARD.marker_side_mm,) * 2) == len(CARD.marker_centre_mm)
    coupon = drawing.findall(f"{SVG}polygon")[0]
    corners = [tuple(map(float, p.split(","))) for p in str(coupon.get("points")).split()]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    assert max(xs) - min(xs) == BLADE.length_mm
    assert max(ys) - min(ys) == BLADE.height_mm
    # The cut corner: top right on the ring-down face, top left on the flow face (blade.toml).
    top = [x for x, y in corners if y == min(ys)]
    cut_right = max(top) < max(xs)
    assert cut_right == (face is FaceName.RINGDOWN)


@pytest.mark.parametrize(
    "drawing", [draw_plate(), *(draw_from_the_side(face) for face in FaceName)]
)
def test_every_drawing_has_a_title_and_stays_within_its_sheet(drawing: str) -> None:
    root = ElementTree.fromstring(drawing)
    assert root.findtext(f"{SVG}title")
    _, _, wide, high = map(float, str(root.get("viewBox")).split())
    for line in root.iter(f"{SVG}line"):
        assert 0 <= float(line.get("x1", -1)) <= wide
        assert 0 <= float(line.get("y1", -1)) <= high
