"""Light about the boundaries, against sums over the picture itself."""

import numpy as np
import pytest

from scoring.gaps.boundaries import least_light, mean_light, place_boundaries
from scoring.gaps.columns import Columns, average_columns
from scoring.gaps.layers import LayerLines
from tests.gaps.drawn_face import Look, draw_face

LINES = LayerLines(0.2, np.zeros(6), found=True)


@pytest.fixture(scope="module")
def columns() -> Columns:
    return average_columns(draw_face(Look(), (), np.random.default_rng(1)).face)


def test_boundaries_in_the_band(columns: Columns) -> None:
    boundaries = place_boundaries(columns, LINES)
    # The measured band, w 3 to 21 mm, holds the boundaries 15 to 105 of 0.2 mm layers.
    assert int(boundaries.in_band.sum()) == 91
    assert boundaries.at_mm[boundaries.in_band][[0, -1], 0] == pytest.approx([3.0, 21.0])
    assert np.diff(boundaries.edges_mm, axis=0) == pytest.approx(0.2)


def test_mean_light_of_a_ramp_is_the_ramp_at_the_middle(columns: Columns) -> None:
    w = columns.w_mm()[:, None]
    ramp = (0.2 + 0.02 * w + 0.001 * columns.u_mm).astype(np.float32)
    boundaries = place_boundaries(columns, LINES)
    ramped = Columns(**{**vars(columns), "light": ramp})
    expected = 0.2 + 0.02 * boundaries.dark_mm + 0.001 * columns.u_mm
    assert mean_light(ramped, boundaries) == pytest.approx(expected, abs=1e-4)


def test_all_pitches_together_hold_all_the_light(columns: Columns) -> None:
    boundaries = place_boundaries(columns, LINES)
    total = mean_light(columns, boundaries).sum(axis=0) * 0.2
    fine = np.linspace(boundaries.edges_mm[0, 0], boundaries.edges_mm[-1, 0], 40001)
    nearest = np.rint((columns.w0_mm - fine) * columns.px_per_mm).astype(int)
    span = fine[-1] - fine[0]
    assert total == pytest.approx(columns.light[nearest].mean(axis=0) * span, rel=1e-3)


def test_least_light_is_the_darkest_pixel_near_the_boundary(columns: Columns) -> None:
    boundaries = place_boundaries(columns, LINES)
    least = least_light(columns, boundaries)
    assert np.all(least <= mean_light(columns, boundaries) + 1e-6)
    row, column = 40, 100
    at = round((columns.w0_mm - boundaries.dark_mm[row, column]) * columns.px_per_mm)
    assert least[row, column] == columns.light[at - 1 : at + 2, column].min()
