import base64
from typing import Any

import altair as alt
import pytest

from scoring.errors import PhotoUnreadableError
from scoring.measurement import Trace
from scoring.metrics import FaceName
from scoring.page.face_figure import draw_face_figure, picture_span, zones_of
from scoring.page.trace_layers import trace_title
from scoring.store.run_store import MeasuredPhoto
from tests.page.conftest import Photo, draw_picture


def figure(photo: MeasuredPhoto) -> dict[str, Any]:
    measurement = photo.measurement
    return draw_face_figure(measurement.face, measurement.trace, photo.face_jpeg)


@pytest.mark.parametrize("face", FaceName)
def test_it_is_valid_vega_lite(face: FaceName, photo: Photo) -> None:
    """Checked against the schema of Vega-Lite that Altair carries."""
    alt.LayerChart.from_dict(figure(photo(face)))


def test_the_picture_reaches_half_a_pixel_beyond_its_outer_pixels_centres() -> None:
    span = picture_span(draw_picture())
    assert (span.left_u_mm, span.right_u_mm) == pytest.approx((-2.025, 102.025))
    assert (span.bottom_w_mm, span.top_w_mm) == pytest.approx((-2.025, 26.025))


def test_every_part_has_the_same_x_scale_in_millimetres(photo: Photo) -> None:
    def scales(part: dict[str, Any]) -> list[dict[str, Any]]:
        own = part.get("encoding", {}).get("x")
        return ([own] if own else []) + [x for p in part.get("layer", []) for x in scales(p)]

    found = scales(figure(photo()))
    assert len(found) >= 6
    for x in found:
        assert x["scale"] == {"domain": [-2.0, 102.0], "nice": False, "zero": False}
        assert x["title"] == "distance from the corner u, mm"
        assert x["axis"]["values"] == [0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100]


def test_picture_and_trace_are_what_was_stored(photo: Photo) -> None:
    one = photo()
    layers = figure(one)["layer"]
    (place,) = layers[0]["data"]["values"]
    assert base64.b64decode(place["url"].removeprefix("data:image/jpeg;base64,")) == one.face_jpeg
    rows, residuals = (layer["data"]["values"] for layer in layers[-2:])
    trace = one.measurement.trace
    assert tuple(row["u"] for row in rows) == trace.u_mm
    assert tuple(row["measured"] for row in rows) == trace.measured
    assert tuple(row["fitted"] for row in rows) == trace.fitted
    left = [m - f for m, f in zip(trace.measured, trace.fitted, strict=True)]
    assert [row["residual"] for row in residuals] == pytest.approx(left)


def test_only_the_ring_down_has_a_residual(photo: Photo) -> None:
    """The flow face's second line is a moving mean of the first, not a fit."""
    both = [figure(photo(face)) for face in (FaceName.RINGDOWN, FaceName.FLOW)]
    assert len(both[0]["layer"]) == len(both[1]["layer"]) + 1
    assert both[0]["height"] > both[1]["height"]


def test_zones_are_those_of_the_blade() -> None:
    """As the coupon's drawing has them: blade.toml, sections faces.ringdown and faces.flow."""
    assert [z.u_mm for z in zones_of(FaceName.RINGDOWN)] == [(4.0, 64.0), (68.0, 93.0)]
    assert [z.u_mm for z in zones_of(FaceName.FLOW)] == [(8.0, 30.0), (30.0, 50.0), (50.0, 94.0)]


def test_the_unit_stands_in_the_axis() -> None:
    assert trace_title(FaceName.RINGDOWN, Trace("µm", (), (), ())) == "height y, µm"
    assert "%" in trace_title(FaceName.FLOW, Trace("open fraction", (), (), ()))


def test_a_broken_picture_is_told() -> None:
    with pytest.raises(PhotoUnreadableError, match="add it again"):
        picture_span(b"face of a.jpg")
