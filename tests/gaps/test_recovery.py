"""Recovery of profiles whose answer is known on paper, and its time."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from scoring.estimate import Estimate
from scoring.gaps.recovery import OpenProfile, find_recovery_mm, time_recovery
from scoring.motion import Motion

U = np.arange(50.05, 94, 0.1)


def _profile(share: NDArray[np.float64]) -> OpenProfile:
    return OpenProfile(U, share, share, 0.1)


@pytest.mark.parametrize("decay_mm", [2.0, 5.0, 10.0])
def test_an_exponential_recovers_after_ln_10_lengths(decay_mm: float) -> None:
    # The moving mean of exp(-x / L) falls as exp(-x / L) too. Its peak is the first window's,
    # centred at 1 mm, so a tenth of it is reached L ln 10 further.
    found = find_recovery_mm(_profile(0.05 * np.exp(-(U - 50) / decay_mm)))
    assert found == pytest.approx(1 + decay_mm * np.log(10), abs=0.1)


def test_a_block_recovers_where_the_window_holds_a_tenth_of_it() -> None:
    # The 2 mm window is last a tenth full when its centre is 0.8 mm past the block's end.
    found = find_recovery_mm(_profile(np.where(U < 62, 0.03, 0.0)))
    assert found == pytest.approx(12.8, abs=0.1)


def test_nothing_open_recovers_at_once() -> None:
    assert find_recovery_mm(_profile(np.zeros_like(U))) == 0.0


@given(st.floats(0.1, 30), st.integers(0, 2**31))
def test_recovery_does_not_hang_on_scale_and_stays_in_the_zone(factor: float, seed: int) -> None:
    share = np.maximum(np.random.default_rng(seed).standard_normal(U.size), 0) * 0.01
    first = find_recovery_mm(_profile(share))
    assert find_recovery_mm(_profile(factor * share)) == pytest.approx(first, abs=0.06)
    assert 0 < first < 44


def test_mean_over_a_zone() -> None:
    assert _profile(np.where(U < 61, 0.04, 0.0)).mean_over((50, 94)) == pytest.approx(0.01)


def test_recovery_time_is_that_of_the_nozzle() -> None:
    # v^2 / 2a: 100 mm/s at 1000 mm/s^2 takes 5 mm and 0.1 s, and half of 50 mm in a trapezoid of
    # 0.6 s takes 0.3 s (computed; ruckig with unlimited jerk agrees).
    seconds = time_recovery(Estimate(5.0, 0.0, 25.0), Motion(100, 1000, 0))
    assert seconds.low == 0
    assert seconds.value == pytest.approx(0.1)
    assert seconds.high == pytest.approx(0.3)
