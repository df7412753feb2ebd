"""Round ticks, and places on an axis."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.reporting.axes import Axis, log_ticks, round_ticks


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ticks_are_round_and_inside(low: float, length: float) -> None:
    ticks = round_ticks(low, low + length)
    assert 2 <= len(ticks) <= 8
    step = ticks[1] - ticks[0]
    assert step / 10 ** math.floor(math.log10(step * 1.0001)) == pytest.approx(
        min((1, 2, 5), key=lambda m: abs(m - step / 10 ** math.floor(math.log10(step * 1.0001)))),
        rel=1e-3,
    )
    assert all(low - 1e-6 * step <= t <= low + length + 1e-6 * step for t in ticks)


def test_known_ticks() -> None:
    assert round_ticks(0, 67) == (0, 20, 40, 60)
    assert round_ticks(3, 3) == (3,)
    assert log_ticks(900, 21000) == (1000, 2000, 5000, 10000, 20000)
    assert log_ticks(3.1, 4.1) == (3.1, 4.1)


@given(st.floats(-10, 10), st.floats(-10, 10))
def test_order_is_kept_and_nothing_leaves_the_axis(one: float, two: float) -> None:
    axis = Axis(-5, 5, 100, 300)
    places = axis.at(min(one, two)), axis.at(max(one, two))
    assert 100 <= places[0] <= places[1] <= 300


def test_logarithmic_places() -> None:
    axis = Axis(1, 100, 0, 10, log=True)
    assert axis.at(10) == pytest.approx(5)
