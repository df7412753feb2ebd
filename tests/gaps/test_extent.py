"""Lengths of gaps, cut to the recovery zone and the measured band."""

import numpy as np
import pytest

from scoring.gaps.boundaries import place_boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.extent import measure_lengths_mm
from scoring.gaps.gaps import Gaps
from scoring.gaps.layers import LayerLines


def test_lengths_are_cut_to_the_zone_and_the_band() -> None:
    u = np.linspace(49.05, 94.95, 460)
    columns = Columns(np.ones((400, 460), np.float32), u, 0.1, (slice(0, 460),), 22.0, 20.0, 0.0)
    boundaries = place_boundaries(columns, LayerLines(0.2, np.zeros(6), found=True))
    ends = [(10, 49.25, 53.95), (20, 60.05, 61.95), (30, 90.05, 94.85), (0, 60.05, 61.95)]
    gaps = Gaps(
        member=np.zeros((1, 1), np.intp),
        row=np.array([row for row, *_ in ends]),
        first=np.array([round((begin - u[0]) / 0.1) for _, begin, _ in ends]),
        last=np.array([round((end - u[0]) / 0.1) for _, _, end in ends]),
        height_mm=np.full(4, 0.05),
    )
    # Row 0 lies under w = 3 mm, outside the measured band.
    for lost_mm, lengths_mm in ((0.0, [4.0, 2.0, 4.0, 0.0]), (0.2, [4.1, 2.2, 4.1, 0.0])):
        found = measure_lengths_mm(gaps, boundaries, columns, lost_mm=lost_mm)
        assert found == pytest.approx(lengths_mm)
