"""Faint lines below the threshold, counted against the steady zone's own; all by hand."""

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.gaps.dim import measure_dim_mm2
from scoring.gaps.gaps import Evidence, choose_open, find_dark, list_gaps
from scoring.geometry import BLADE
from tests.gaps.test_intervals import AT, BOUNDARIES, COLUMNS, PITCH_MM, U

SD, NEED = 0.01, 0.15
STEADY, RECOVERY = BLADE.steady_zone_u_mm, BLADE.recovery_zone_u_mm


def _dim(*lines: tuple[int, float, float, float]) -> float:
    """Lines of boundary, start, end and height in mm."""
    open_mm: NDArray[np.float64] = np.zeros((AT.size, U.size))
    for row, begin, end, height in lines:
        open_mm[row, (begin < U) & (end > U)] = height
    depth = open_mm / PITCH_MM
    evidence = Evidence(depth, depth / NEED, np.full(U.size, SD), NEED, 0.0, 1.0, 1.0, 1.0)
    gaps = list_gaps(choose_open(find_dark(evidence, COLUMNS), evidence, COLUMNS), open_mm, COLUMNS)
    return measure_dim_mm2(gaps, open_mm, evidence, BOUNDARIES, COLUMNS)


def test_faint_lines_after_the_details_are_summed() -> None:
    # 0.02 mm is a tenth of a layer: ten standard deviations, under the threshold of fifteen.
    lines = tuple((5 + 6 * k, 52.0 + k, 57.0 + k, 0.02) for k in range(8))
    assert _dim(*lines) == pytest.approx(8 * 5.0 * 0.02, rel=0.02)
    # A gap is no dim line, and what is no darker than noise is none either.
    assert _dim(*lines, (70, 60.0, 65.0, 0.1)) == pytest.approx(8 * 5.0 * 0.02, rel=0.02)
    assert _dim((20, 52.0, 57.0, 0.005)) == 0.0


def test_lines_as_frequent_in_the_steady_zone_are_shadows() -> None:
    everywhere = tuple((5 + 6 * k, 5.0, 99.0, 0.02) for k in range(8))
    assert _dim(*everywhere) == pytest.approx(0.0, abs=1e-9)
    more_before = tuple((5 + 6 * k, *STEADY, 0.02) for k in range(8))
    assert _dim(*more_before) == 0.0
    extra = (60, RECOVERY[0], RECOVERY[0] + 10.0, 0.02)
    assert _dim(*everywhere, extra) == pytest.approx(10.0 * 0.02)
