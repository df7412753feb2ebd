"""Poles of sums of vibrations whose poles are known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.ripple.components import find_pole
from scoring.ripple.pencil import find_poles

STEP_S = 0.001
T = np.arange(300) * STEP_S


@given(
    first=st.tuples(st.floats(20, 60), st.floats(0.02, 0.12), st.floats(0, 6.2)),
    ratio=st.floats(1.25, 2.5),
    second=st.tuples(st.floats(0.02, 0.12), st.floats(0, 6.2)),
)
def test_without_noise_the_poles_of_two_vibrations_come_back(
    first: tuple[float, float, float], ratio: float, second: tuple[float, float]
) -> None:
    """The method is exact then (Hua and Sarkar 1990)."""
    true = find_pole(np.array([first[0], first[0] * ratio]), np.array([first[1], second[0]]))
    phases = np.exp(1j * np.array([first[2], second[1]]))
    samples = (np.exp(true[:, None] * T) * phases[:, None]).real.sum(axis=0)
    found = sorted(find_poles(samples, STEP_S, 2), key=lambda pole: float(pole.imag))
    assert np.array(found) == pytest.approx(true, rel=1e-3)


def test_a_constant_has_no_vibration() -> None:
    assert find_poles(np.ones(100), STEP_S, 1).size == 0
