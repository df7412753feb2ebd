"""Motion against handbook kinematics."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.motion import Motion


@pytest.mark.parametrize(
    ("speed", "accel", "length_mm", "time_s"),
    [(100, 1000, 5.0, 0.1), (200, 10000, 2.0, 0.02), (300, 3000, 15.0, 0.1)],
)
def test_ramp_from_rest_is_v_squared_over_2a(
    speed: float, accel: float, length_mm: float, time_s: float
) -> None:
    """v^2 / 2a and v / a, elementary kinematics of uniform acceleration."""
    motion = Motion(speed, accel, 0.0)
    assert motion.ramp_mm == pytest.approx(length_mm)
    assert motion.time_at(np.array([length_mm]))[0] == pytest.approx(time_s)


def test_half_a_trapezoid_takes_half_its_time() -> None:
    """Trapezoid of 50 mm at 100 mm/s and 1000 mm/s^2: 0.6 s (ruckig without jerk limit agrees)."""
    half = Motion(100, 1000, 0.0).time_at(np.array([25.0]))[0]
    assert 2 * half == pytest.approx(0.6)


def test_triangle_takes_its_known_time() -> None:
    """4 mm at 1000 mm/s^2 never reaches 100 mm/s: 0.126491 s (ruckig agrees)."""
    half = Motion(100, 1000, 0.0).time_at(np.array([2.0]))[0]
    assert 2 * half == pytest.approx(0.126491, abs=1e-6)


@given(
    speed=st.floats(20, 500),
    accel=st.floats(200, 50000),
    share=st.floats(0.0, 0.9),
)
def test_time_is_the_integral_of_slowness(speed: float, accel: float, share: float) -> None:
    """dt/du = 1 / speed, whatever the motion."""
    motion = Motion(speed, accel, share * speed)
    u = np.linspace(1.0, 80.0, 4001)
    slowness = np.trapezoid(1 / motion.speed_at(u), u)
    assert motion.time_at(u)[-1] - motion.time_at(u)[0] == pytest.approx(slowness, rel=1e-4)


@pytest.mark.parametrize(
    ("speed", "accel", "corner"),
    [(0, 1000, 0), (-5, 1000, 0), (100, 0, 5), (100, -1, 5), (100, 1000, 200), (1e9, 1000, 0)],
)
def test_absurd_motion_is_refused(speed: float, accel: float, corner: float) -> None:
    with pytest.raises(SettingsError, match=r"speed|acceleration"):
        Motion(speed, accel, corner)


def test_not_a_number_is_refused() -> None:
    with pytest.raises(SettingsError):
        Motion(float("nan"), 1000, 5)


def test_an_acceleration_that_cannot_be_is_told_in_its_unit() -> None:
    with pytest.raises(SettingsError, match=r"at most 200000 mm/s²\."):
        Motion(100, 300_000)
