"""What is kept of the face's light: one channel, narrow columns, no grooves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.gaps.columns import Columns, average_columns
from scoring.metrics import FaceName
from scoring.registration.face import RectifiedFace


def _face(px_per_mm: int, colour: tuple[float, float, float]) -> RectifiedFace:
    rows, columns = 28 * px_per_mm + 1, 104 * px_per_mm + 1
    linear = np.broadcast_to(np.array(colour, np.float32), (rows, columns, 3)).copy()
    clipped = linear.max(axis=2) >= 1
    return RectifiedFace(FaceName.FLOW, linear, clipped, float(px_per_mm), -2.0, 26.0)


@pytest.mark.parametrize("px_per_mm", [20, 23, 31, 40])
def test_columns_are_a_tenth_of_a_millimetre_and_spare_the_grooves(px_per_mm: int) -> None:
    columns = average_columns(_face(px_per_mm, (0.4, 0.3, 0.2)))
    assert columns.width_mm == pytest.approx(0.1, rel=0.15)
    # The grooves of the standard geometry: six, 1.2 mm wide, every 3.2 mm from u = 31.6 mm.
    inside_groove = (columns.u_mm > 31.0) & (columns.u_mm < 48.2)
    assert not inside_groove.any()
    for zone in ((8.0, 30.0), (50.0, 94.0)):
        count = int(columns.inside(zone).sum())
        assert count == pytest.approx((zone[1] - zone[0]) / columns.width_mm, abs=1.01)
    assert np.diff(columns.w_mm()) == pytest.approx(-1 / px_per_mm)


def test_a_column_is_the_mean_of_its_pixels() -> None:
    face = _face(20, (0.0, 0.5, 0.0))
    u = face.u_mm()
    face.linear[..., 1] = (0.3 + 0.002 * u).astype(np.float32)
    columns = average_columns(face)
    assert columns.light[10] == pytest.approx(0.3 + 0.002 * columns.u_mm, abs=1e-6)


def test_the_brightest_channel_is_taken_unless_it_is_cut_off() -> None:
    assert average_columns(_face(20, (0.3, 0.6, 0.2))).light[0, 0] == pytest.approx(0.6)
    cut = average_columns(_face(20, (1.0, 0.7, 0.2)))
    assert cut.light[0, 0] == pytest.approx(0.7)
    assert cut.clipped_share == 0
    # A dim channel is no way out: what remains of the bright one still says more.
    kept = average_columns(_face(20, (1.0, 0.1, 0.1)))
    assert kept.light[0, 0] == pytest.approx(1.0)
    assert kept.clipped_share == 1


def _columns(count: int) -> Columns:
    return Columns(
        light=np.ones((4, 2 * count), np.float32),
        u_mm=np.concatenate([np.arange(count), 1000 + np.arange(count)]) * 0.1,
        width_mm=0.1,
        segments=(slice(0, count), slice(count, 2 * count)),
        w0_mm=22.0,
        px_per_mm=20.0,
        clipped_share=0.0,
    )


@given(st.integers(30, 90), st.floats(0.1, 5.0), st.floats(-2, 2))
def test_smoothing_keeps_constants_and_never_crosses_the_grooves(
    count: int, length: float, jump: float
) -> None:
    columns = _columns(count)
    step = np.where(np.arange(2 * count) < count, 1.0, 1.0 + jump)
    assert columns.smooth(step, length) == pytest.approx(step)


def test_smoothing_is_the_moving_mean() -> None:
    columns = _columns(60)
    values = np.random.default_rng(3).standard_normal(120)
    smooth = columns.smooth(values, 0.8)
    # numpy's own convolution, away from the ends.
    assert smooth[5:55] == pytest.approx(np.convolve(values[:60], np.ones(9) / 9, "same")[5:55])
