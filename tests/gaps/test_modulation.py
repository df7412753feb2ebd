"""Contrast of the layer lines, drawn to differ by a known ratio."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.estimate import Estimate
from scoring.gaps.columns import Columns, average_columns
from scoring.gaps.layers import LayerLines, find_layer_lines
from scoring.gaps.modulation import compare_layer_lines
from scoring.photo.decode import read_photo
from scoring.registration.place import place_coupon, rectify_face
from tests.gaps.drawn_face import Look, draw_face
from tests.reference_photos import photo_named

LINES = LayerLines(0.2, np.zeros(6), found=True)


def _compare(columns: Columns, lines: LayerLines) -> Estimate:
    found = compare_layer_lines(columns, lines)
    assert found is not None
    return found


@pytest.mark.parametrize("ratio", [0.7, 1.0, 1.6])
def test_ratio_of_amplitudes_comes_back(ratio: float) -> None:
    columns = average_columns(draw_face(Look(), (), np.random.default_rng(1)).face)
    amplitude = np.where(columns.u_mm > 40, 0.1 * ratio, 0.1)
    wave = np.sin(2 * np.pi * columns.w_mm()[:, None] / 0.2)
    rng = np.random.default_rng(2)
    light = 0.4 * (1 + amplitude * wave + 0.02 * rng.standard_normal(columns.light.shape))
    known = Columns(**{**vars(columns), "light": light.astype(np.float32)})
    found = _compare(known, LINES)
    assert found.value == pytest.approx(ratio, rel=0.01)
    assert found.low <= ratio <= found.high
    assert found.half_width < 0.05 * ratio


def test_deeper_valleys_raise_it_and_open_nothing() -> None:
    drawn = draw_face(Look(starved=0.6), (), np.random.default_rng(3))
    columns = average_columns(drawn.face)
    found = _compare(columns, find_layer_lines(columns, layer_height_mm=0.2))
    # exp(-x / 8) averages 0.1812 over 44 mm.
    assert found.value == pytest.approx(1 + 0.6 * 0.181, rel=0.02)


def test_without_lines_it_is_unknown() -> None:
    columns = average_columns(draw_face(Look(), (), np.random.default_rng(4)).face)
    assert compare_layer_lines(columns, LayerLines(0.2, np.zeros(6), found=False)) is None


def test_it_hardly_hangs_on_where_the_rows_fall() -> None:
    """On rows a quarter of a layer apart it went from 1.011 to 1.030, twice its interval."""
    placed = place_coupon(read_photo(photo_named("demo", "alder-stock-10k-flow").path))
    row_mm = 1 / rectify_face(placed, whole=False).px_per_mm
    found = []
    for part in (0.0, 0.25, 0.5, 0.75):
        at = placed.placement
        moved = replace(placed, placement=replace(at, dy_mm=at.dy_mm + part * row_mm))
        columns = average_columns(rectify_face(moved, whole=False))
        lines = find_layer_lines(columns, layer_height_mm=0.2)
        found.append(_compare(columns, lines))
    values = [f.value for f in found]
    assert max(values) - min(values) < 0.25 * min(f.half_width for f in found)
