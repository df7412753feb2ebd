"""Damped vibrations against handbook values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.motion import Motion
from scoring.ripple.components import Damped, Steady, follow, heights_mm, slopes

FAST = Motion(100.0, 200_000.0, 100.0)


@pytest.mark.parametrize(
    ("damping", "decrement"),
    [(0.02, 0.1256888), (0.05, 0.3145527), (0.1, 0.6314839), (0.2, 1.2825498)],
)
def test_logarithmic_decrement(damping: float, decrement: float) -> None:
    """d = 2 pi z / sqrt(1 - z^2) (ISO 2041; values recomputed)."""
    mode = Damped(50.0, damping, 0.01, 0.0)
    period_mm = 100.0 / (50.0 * np.sqrt(1 - damping**2))
    at = follow(FAST, np.array([4.0, 4.0 + period_mm]))
    first, second = heights_mm((mode,), at)
    assert np.log(first / second) == pytest.approx(decrement, abs=1e-6)


def test_shock_absorber_of_the_textbook() -> None:
    """Rao, Mechanical Vibrations (problem from memory): x falls to a quarter in half a period when
    the decrement is ln 16 = 2.772589, which is z = 0.403713."""
    mode = Damped(20.0, 0.403713, 0.0, 0.01)
    damped_hz = 20.0 * np.sqrt(1 - 0.403713**2)
    quarter = 4.0 + 100.0 / damped_hz / 4
    at = follow(FAST, np.array([quarter, quarter + 100.0 / damped_hz / 2]))
    first, second = heights_mm((mode,), at)
    assert first / -second == pytest.approx(4.0, rel=1e-5)


def test_wavelength_is_speed_over_frequency() -> None:
    """100 mm/s and 50 Hz make 2 mm (elementary)."""
    mode = Damped(50.0, 0.005, 0.01, 0.0)
    u = np.linspace(4, 64, 6001)
    y = heights_mm((mode,), follow(FAST, u))
    rising = u[1:][(y[1:] > 0) & (y[:-1] <= 0)]
    assert np.diff(rising).mean() == pytest.approx(2.0, rel=1e-3)


@given(
    frequency=st.floats(20, 120),
    damping=st.floats(0.02, 0.15),
    accel=st.floats(1000, 20000),
)
def test_slope_is_the_derivative_of_height(frequency: float, damping: float, accel: float) -> None:
    u = np.linspace(4, 20, 4001)
    track = follow(Motion(150, accel, 5), u)
    mode = (Damped(frequency, damping, 0.02, -0.01), Steady(2.0, 0.001, 0.002))
    numeric = np.gradient(heights_mm(mode, track), u)
    exact = slopes(mode, track)
    assert numeric[5:-5] == pytest.approx(exact[5:-5], abs=2e-3 * np.abs(exact).max())


@given(log_change=st.floats(-0.3, 0.3))
def test_shape_derivatives_match_differences(log_change: float) -> None:
    track = follow(Motion(150, 5000, 5), np.linspace(4, 60, 300))
    for c in (Damped(60 * np.exp(log_change), 0.05, 0.02, -0.01), Steady(2.0, 0.001, 0.002)):
        rows = c.slope_derivatives(track)
        shape = c.shape()
        for k in range(len(shape)):
            step = np.zeros(len(shape))
            step[k] = 1e-6
            ahead = slopes((c.reshaped(shape + step, c.a_mm, c.b_mm),), track)
            behind = slopes((c.reshaped(shape - step, c.a_mm, c.b_mm),), track)
            numeric = (ahead - behind) / 2e-6
            assert rows[k] == pytest.approx(numeric, abs=1e-5 * np.abs(numeric).max())


def test_height_derivatives_match_differences() -> None:
    track = follow(Motion(150, 5000, 5), np.linspace(4, 60, 300))
    mode = Damped(60, 0.05, 0.02, -0.01)
    at = np.append(mode.shape(), [mode.a_mm, mode.b_mm])
    for row, step in zip(mode.height_derivatives(track), 1e-7 * np.eye(4), strict=True):
        ahead, behind = (
            mode.reshaped(p[:2], p[2], p[3]).heights_mm(track) for p in (at + step, at - step)
        )
        assert row == pytest.approx((ahead - behind) / 2e-7, abs=1e-6 * np.abs(row).max())


def test_a_wave_of_its_pole_is_the_component() -> None:
    track = follow(Motion(150, 5000, 5), np.linspace(4, 60, 300))
    mode, steady = Damped(60, 0.05, 0.02, -0.01), Steady(2.0, 0.001, 0.002)
    assert Damped.of(mode.pole, 0.02 + 0.01j).heights_mm(track) == pytest.approx(
        mode.heights_mm(track)
    )
    assert Steady.of(1j * np.pi, 0.001 - 0.002j).heights_mm(track) == pytest.approx(
        steady.heights_mm(track)
    )
