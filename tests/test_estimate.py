"""An estimate holds together, or is not made."""

import math

import pytest

from scoring.estimate import Estimate


def test_half_width_is_half_the_interval() -> None:
    assert Estimate(2.0, 1.0, 4.0).half_width == 1.5


@pytest.mark.parametrize(
    ("share", "amount", "unsure"),
    [(0.9, 0.0, True), (1.1, 0.0, False), (0.0, 2.1, False), (0.9, 1.9, True), (1.0, 0.0, False)],
)
def test_an_estimate_is_unsure_over_both_limits(share: float, amount: float, unsure: bool) -> None:
    assert Estimate(2.0, 1.0, 4.0).is_unsure(share, amount) == unsure
    assert Estimate(2.0, 0.0, 3.0).is_unsure(share, amount) == unsure


@pytest.mark.parametrize(
    "bad", [(1.0, 2.0, 3.0), (3.0, 1.0, 2.0), (math.nan, 0, 1), (1, 0, math.inf)]
)
def test_value_outside_or_not_finite_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match=r"interval|finite"):
        Estimate(*bad)
