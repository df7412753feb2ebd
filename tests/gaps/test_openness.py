"""Open heights of single slots, whatever lens they are seen through."""

import numpy as np
import pytest

from scoring.gaps.boundaries import mean_light, place_boundaries
from scoring.gaps.closed import find_darkness
from scoring.gaps.columns import average_columns
from scoring.gaps.layers import find_layer_lines
from scoring.gaps.openness import measure_openness
from tests.gaps.drawn_face import Look, Slot, draw_face

ROWS = (30, 50, 70, 90)


@pytest.mark.parametrize("blur_mm", [0.03, 0.05, 0.07])
@pytest.mark.parametrize("height_mm", [0.03, 0.06, 0.1])
def test_a_slot_s_own_height_comes_back(blur_mm: float, height_mm: float) -> None:
    look = Look(blur_mm=blur_mm, floor=0.0, noise=0.01)
    slots = tuple(Slot(layer, 60.0, 70.0, height_mm) for layer in ROWS)
    drawn = draw_face(look, slots, np.random.default_rng(1))
    columns = average_columns(drawn.face)
    boundaries = place_boundaries(columns, find_layer_lines(columns, layer_height_mm=0.2))
    row = [int(np.argmin(np.abs(boundaries.at_mm[:, 0] - 0.2 * layer))) for layer in ROWS]
    inside = (columns.u_mm > 60.5) & (columns.u_mm < 69.5)
    closed = np.ones(boundaries.at_mm.shape, bool)
    for r in row:
        closed[r - 1 : r + 2, (columns.u_mm > 59.5) & (columns.u_mm < 70.5)] = False
    darkness = find_darkness(mean_light(columns, boundaries), columns, closed=closed)
    share = measure_openness(darkness, columns, blur_pitch=blur_mm / 0.2).share
    mine = 0.2 * share[np.ix_(np.array(row), inside)].mean()
    beside = 0.2 * sum(share[np.ix_(np.array(row) + d, inside)].mean() for d in (-1, 1))
    # Where the slot's dark lies in its pitch decides the split; nothing may be lost or won.
    assert float(mine + beside) == pytest.approx(height_mm, rel=0.05)
    assert abs(float(beside)) < 0.3 * height_mm
