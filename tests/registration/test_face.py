"""The rectified face's axes."""

import numpy as np
import pytest

from scoring.metrics import FaceName
from scoring.registration.face import RectifiedFace


def test_rows_run_down_and_columns_run_along() -> None:
    light = np.zeros((5, 3, 3), np.float32)
    face = RectifiedFace(FaceName.FLOW, light, np.zeros((5, 3), bool), 4.0, -0.5, 2.0)
    assert face.u_mm() == pytest.approx([-0.5, -0.25, 0.0])
    assert face.w_mm() == pytest.approx([2.0, 1.75, 1.5, 1.25, 1.0])
