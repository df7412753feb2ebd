"""The mask lies on the gaps."""

import numpy as np
import pytest

from scoring.gaps.measure import measure_gaps
from scoring.motion import Motion
from tests.gaps.drawn_face import Look, Slot, draw_face


def test_the_mask_covers_the_slots_on_the_face_s_own_grid() -> None:
    slots = (Slot(60, 60.0, 70.0, 0.1), Slot(80, 55.0, 58.0, 0.06))
    drawn = draw_face(Look(), slots, np.random.default_rng(1))
    found = measure_gaps(drawn.face, motion=Motion(150, 5000), blur_mm=0.05, layer_height_mm=0.2)
    assert found.open_mask.shape == drawn.face.linear.shape[:2]
    w, u = drawn.face.w_mm(), drawn.face.u_mm()
    rows, columns = np.nonzero(found.open_mask)
    for slot in slots:
        mine = np.abs(w[rows] - 0.2 * slot.layer) < 0.12
        assert mine.any()
        assert u[columns[mine]].min() == pytest.approx(slot.u0_mm, abs=0.5)
        assert u[columns[mine]].max() == pytest.approx(slot.u1_mm, abs=0.5)
    elsewhere = np.min([np.abs(w[rows] - 0.2 * s.layer) for s in slots], axis=0) > 0.15
    assert not elsewhere.any()
