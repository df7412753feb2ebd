import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.estimate import Estimate
from scoring.estimate_words import format_estimate, format_estimates


@pytest.mark.parametrize(
    ("estimate", "said"),
    [
        (Estimate(31.23, 29.9, 32.61), ("31.2", "29.9 to 32.6")),
        (Estimate(0.0123, 0.0101, 0.0145), ("0.0123", "0.0101 to 0.0145")),
        (Estimate(1234.5, 1000, 1500), ("1234", "1000 to 1500")),
        (Estimate(3, 3, 3), ("3.000", "3.000 to 3.000")),
    ],
)
def test_two_digits_of_the_half_width_are_shown(estimate: Estimate, said: tuple[str, str]) -> None:
    assert format_estimate(estimate) == said


def test_a_column_has_the_decimals_of_its_middle_one() -> None:
    column = [Estimate(5, 4, 6), Estimate(53.84, 53.1, 54.7), Estimate(7.125, 7.1, 7.15)]
    assert [value for value, _ in format_estimates(column)] == ["5.00", "53.84", "7.12"]


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6))
def test_rounding_stays_within_a_tenth_of_the_half_width(value: float, half: float) -> None:
    estimate = Estimate(value, value - half, value + half)
    shown = float(format_estimate(estimate)[0])
    assert math.isclose(shown, value, abs_tol=0.1 * estimate.half_width)
