"""Pointing at a photo: the figure, and which corner a click is."""

import io

import altair as alt
import pytest
from PIL import Image

from scoring.page.corner_figure import PICK, PLACES_ACROSS, draw_corners
from scoring.page.corner_panel import place_pick, read_shown

CORNERS = [(100.0, 100.0), (1100.0, 110.0), (1090.0, 350.0), (95.0, 340.0)]


def jpeg(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "grey").save(out, "JPEG")
    return out.getvalue()


def test_it_is_valid_vega_lite_true_to_scale_with_numbered_corners() -> None:
    spec = draw_corners(jpeg(120, 90), 4000, 3000, CORNERS[:2])
    alt.LayerChart.from_dict(spec)
    places, marks = spec["layer"][1], spec["layer"][2]["data"]["values"]
    assert places["params"][0]["name"] == PICK
    assert places["data"]["sequence"]["stop"] == PLACES_ACROSS * PLACES_ACROSS * 3 // 4
    assert [(mark["x"], mark["y"], mark["number"]) for mark in marks] == [
        (100.0, 100.0, "1"), (1100.0, 110.0, "2"),
    ]  # fmt: skip
    scale = spec["layer"][0]["encoding"]["y"]["scale"]
    assert scale["range"][1]["expr"] == "width * 0.750000000"


@pytest.mark.parametrize("missing", [{0, 1, 2, 3}, {2, 3}, {3}, {1, 3}, {0}])
def test_a_click_is_the_first_corner_that_is_missing(missing: set[int]) -> None:
    written = [None if k in missing else corner for k, corner in enumerate(CORNERS)]
    assert place_pick(written, (5.0, 5.0)) == min(missing)


def test_a_missing_corner_leaves_the_others_their_numbers() -> None:
    spec = draw_corners(jpeg(120, 90), 4000, 3000, [CORNERS[0], None, CORNERS[2], None])
    assert [mark["number"] for mark in spec["layer"][2]["data"]["values"]] == ["1", "3"]


def test_a_further_click_moves_the_nearest_corner() -> None:
    assert place_pick(CORNERS, (1080.0, 360.0)) == 2


def test_the_picture_is_shown_smaller_but_counted_in_full() -> None:
    shown = read_shown(jpeg(4000, 3000))
    assert shown is not None
    assert shown[1:] == (4000, 3000)
    with Image.open(io.BytesIO(shown[0])) as small:
        assert small.size == (1200, 900)
    assert read_shown(b"no picture") is None
