"""The ripple's truth against independent integration and a damped oscillator's known numbers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from reference_images.ripple_truth import (
    find_ripple_truth,
    mode_signal_um,
    steepest_slope,
    time_at_s,
)
from reference_images.scene import Mode, Motion


def at(*u_mm: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array(u_mm, dtype=np.float64)


@given(
    speed=st.floats(60, 400),
    accel=st.floats(500, 40000),
    corner=st.floats(1, 20),
    u=st.floats(0.01, 90),
)
def test_time_is_the_integral_of_one_over_speed(
    speed: float, accel: float, corner: float, u: float
) -> None:
    # v(u) = sqrt(vc^2 + 2 a u) up to the cruise speed; the time is the integral of du / v.
    knee = (speed**2 - corner**2) / (2 * accel)

    def slowness(x: float) -> float:
        return 1 / min(speed, math.sqrt(corner**2 + 2 * accel * x))

    points = [p for p in (knee, 1e-3, 1e-2, 0.1) if p < u]
    expected, _ = integrate.quad(slowness, 0, u, points=points or None, limit=500)
    assert time_at_s(Motion(speed, accel, corner), at(u))[0] == pytest.approx(expected, rel=1e-6)


def test_run_up_from_rest() -> None:
    # Kinematics: 100 mm/s at 1000 mm/s^2 is reached after 0.1 s and 5 mm, then 10 ms a mm.
    motion = Motion(100, 1000, 0)
    assert time_at_s(motion, at(5.0, 6.0)) == pytest.approx([0.1, 0.11])


def test_envelope_is_the_one_at_the_zones_start() -> None:
    mode = Mode(31.0, 47.0, 0.06, 1.3)
    assert abs(mode_signal_um(mode, Motion(150, 5000), at(4.0))[0]) == pytest.approx(31.0)


def test_neighbouring_peaks_fall_by_the_logarithmic_decrement() -> None:
    # Log decrement 2 pi z / sqrt(1 - z^2): z = 0.05 gives a ratio of 1.369647 (ISO 2041 term;
    # value recomputed). At cruise one damped period is v / f long.
    mode, motion = Mode(20.0, 50.0, 0.05, 0.7), Motion(100, 20000)
    first, second = mode_signal_um(mode, motion, at(20.0, 22.0))
    assert abs(first) / abs(second) == pytest.approx(1.369647, rel=1e-6)
    assert np.angle(first) == pytest.approx(np.angle(second))


def test_peak_and_rms_of_a_nearly_undamped_cosine() -> None:
    truth = find_ripple_truth((Mode(10.0, 60.0, 1e-6, 0.0),), Motion(120, 20000))
    assert truth.ripple_peak_um == pytest.approx(10.0, rel=1e-3)
    assert truth.ripple_rms_um == pytest.approx(10 / 2**0.5, rel=1e-3)


def test_no_mode_is_no_ripple() -> None:
    truth = find_ripple_truth((), Motion(150, 5000))
    assert (truth.ripple_peak_um, truth.ripple_rms_um) == (0.0, 0.0)


def test_steepest_slope_of_a_cosine() -> None:
    # 2 pi A / L with A = 10 um, L = 2 mm.
    slope = steepest_slope((Mode(10.0, 60.0, 1e-6, 0.0),), Motion(120, 20000))
    assert slope == pytest.approx(2 * np.pi * 0.010 / 2.0, rel=1e-3)
