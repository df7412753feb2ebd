"""Drawings stay on their paper and put values where they belong."""

from collections.abc import Iterator

import pytest
from reportlab.graphics.shapes import Circle, Drawing, Group, Line, PolyLine, Shape, String
from reportlab.pdfbase.pdfmetrics import stringWidth

from scoring.comparing.compare import compare_sides
from scoring.estimate import Estimate
from scoring.measurement import Trace
from scoring.reporting.blocks import PLOT_LEFT, PLOT_RIGHT, Chart, Document, Figure
from scoring.reporting.charts import draw_effects, draw_traces
from tests.comparing.conftest import make_photo
from tests.reporting.conftest import compared, composed

FONT = "Helvetica"


def shapes(drawing: Drawing | Group) -> Iterator[Shape]:
    for shape in drawing.contents:
        yield from shapes(shape) if isinstance(shape, Group) else (shape,)


def check_inside(drawing: Drawing) -> None:
    for shape in shapes(drawing):
        if isinstance(shape, String):
            width = stringWidth(shape.text, shape.fontName, shape.fontSize)
            start = shape.x - {"start": 0, "middle": 0.5, "end": 1}[str(shape.textAnchor)] * width
            assert start >= 0, shape.text
            assert start + width <= drawing.width + 1, shape.text
            assert 0 <= shape.y <= drawing.height, shape.text
        elif isinstance(shape, Line):
            assert 0 <= min(shape.x1, shape.x2) <= max(shape.x1, shape.x2) <= drawing.width
            assert 0 <= min(shape.y1, shape.y2) <= max(shape.y1, shape.y2) <= drawing.height


def drawn(document: Document) -> Iterator[Drawing]:
    for section in document.sections:
        for block in section.blocks:
            if isinstance(block, Chart | Figure):
                yield block.draw(FONT)


def test_all_stay_inside(document: Document) -> None:
    every = list(drawn(document))
    assert len(every) >= 10
    for drawing in every:
        check_inside(drawing)


def test_bounds_large_ratios_and_long_names_stay_inside() -> None:
    records = [
        make_photo("S1", peak=1, gaps=None),
        make_photo("B1", peak=90, setup="W" * 64),
        make_photo("S2", peak=Estimate(0, 0, 2), accel_mm_s2=9000),
        make_photo("B2", peak=90, setup="W" * 64, accel_mm_s2=9000),
    ]
    found = compare_sides(records, factor="setup", before="stock", after="W" * 64)
    assert found.overall[0].high is None
    for drawing in drawn(composed(found)):
        check_inside(drawing)


def test_an_established_lowering_lies_left_of_no_change_and_is_filled() -> None:
    (effect,) = [e for e in compared().overall if e.metric == "ripple_peak_um"]
    drawing = draw_effects([effect], font=FONT)
    (mark,) = [s for s in shapes(drawing) if isinstance(s, Circle)]
    zero = next(s for s in shapes(drawing) if isinstance(s, Line) and s.strokeWidth == 0.9)
    assert mark.cx < zero.x1
    assert mark.fillColor == mark.strokeColor


@pytest.mark.parametrize("u", [4.0, 34.0, 64.0])
def test_a_trace_stands_on_the_strips_millimetres(u: float) -> None:
    """A strip spans PLOT_LEFT to PLOT_RIGHT from u = 4 to 64 mm; so does the trace's axis."""
    trace = Trace("µm", (u, 64.0 if u < 64 else 4.0), (0.0, 0.0), (1.0, -1.0))
    drawing = draw_traces([trace, None], (4.0, 64.0), names=("a", "b"), title="", font=FONT)
    lines = [s for s in shapes(drawing) if isinstance(s, PolyLine)]
    wanted = PLOT_LEFT + (u - 4) / 60 * (PLOT_RIGHT - PLOT_LEFT)
    assert lines[0].points[0] == pytest.approx(wanted, abs=0.01)
