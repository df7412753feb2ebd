"""The mean difference over pairs against worked examples and libraries."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm, ttest_ind, ttest_rel

from scoring.comparing.block_model import fit_blocks
from scoring.comparing.samples import Sample, Stratum
from tests.comparing.worked_examples import MAIZE, PEAK_FLOW, SLEEP, pairs_of, sample


def test_paired_sleep() -> None:
    """R's t.test(..., paired = TRUE) on its sleep data: t -4.062128, CI -2.459886 to -0.700114."""
    fit = fit_blocks(pairs_of(SLEEP[1], SLEEP[0]))
    assert fit.value == pytest.approx(-1.58)
    assert fit.df == 9
    assert fit.low == pytest.approx(-2.459886, abs=1e-6)
    assert fit.high == pytest.approx(-0.700114, abs=1e-6)


def test_paired_maize() -> None:
    """t 2.14799 (Fisher 1935); the interval just leaves zero out, since p is 0.049703."""
    fit = fit_blocks(pairs_of(np.zeros(15), MAIZE))
    # t table: 97.5 %, 14 degrees of freedom
    t = fit.value / ((fit.high - fit.value) / 2.1447866879169273)
    assert t == pytest.approx(2.14799, abs=1e-5)
    assert fit.low > 0


def test_paired_peak_flow() -> None:
    """Bland and Altman 1986: n 17, mean -2.118, SD 38.765."""
    fit = fit_blocks(pairs_of(PEAK_FLOW[1], PEAK_FLOW[0]))
    assert fit.value == pytest.approx(-2.118, abs=5e-4)
    # t table: 97.5 %, 16 degrees of freedom: 2.120
    assert fit.high - fit.value == pytest.approx(2.119905 * 38.765 / math.sqrt(17), rel=1e-4)


def test_single_stratum_is_welch() -> None:
    """R's t.test on its sleep data: t -1.860813, df 17.776474, p 0.0793941."""
    fit = fit_blocks([Stratum(sample(SLEEP[1]), sample(SLEEP[0]))])
    assert fit.df == pytest.approx(17.776474, abs=1e-6)
    known = ttest_ind(SLEEP[0], SLEEP[1], equal_var=False).confidence_interval()
    assert fit.low == pytest.approx(known.low)
    assert fit.high == pytest.approx(known.high)


def test_one_print_against_several_is_the_pooled_t() -> None:
    fit = fit_blocks([Stratum(sample(SLEEP[0][:1]), sample(SLEEP[1]))])
    known = ttest_ind(SLEEP[1], SLEEP[0][:1], equal_var=True).confidence_interval()
    assert fit.low == pytest.approx(known.low)
    assert fit.high == pytest.approx(known.high)


def test_several_strata_of_several_prints_against_a_formula_fit() -> None:
    """statsmodels' formula interface, by another design matrix."""
    import pandas as pd  # noqa: PLC0415
    from statsmodels.formula.api import ols  # noqa: PLC0415

    rng = np.random.default_rng(5)
    rows, strata = [], []
    for place, (before, after) in enumerate([(2, 3), (1, 1), (4, 2)]):
        sides = [rng.normal(3 * place, 1, before), rng.normal(3 * place - 0.7, 1, after)]
        strata.append(Stratum(sample(sides[0]), sample(sides[1])))
        rows += [(y, side, place) for side, ys in enumerate(sides) for y in ys]
    table = pd.DataFrame(rows, columns=["y", "side", "block"])
    known = ols("y ~ side + C(block)", table).fit()
    fit = fit_blocks(strata)
    assert fit.value == pytest.approx(known.params["side"])
    low, high = known.conf_int().loc["side"]
    assert (fit.low, fit.high) == pytest.approx((low, high))


def test_smallest_change_is_what_the_power_tables_say() -> None:
    """33.3671 pairs show half a standard deviation with 80 % (statsmodels' paired power)."""
    rng = np.random.default_rng(1)
    found = []
    for pairs in (33, 34):
        d = rng.normal(size=pairs)
        d = (d - d.mean()) / d.std(ddof=1)
        smallest = fit_blocks(pairs_of(np.zeros(pairs), d)).smallest
        assert smallest is not None
        found.append(smallest)
    assert found[0] > 0.5 > found[1]
    # Pairs go with one over the square of what they show: between whole numbers that is straight.
    first, second = (1 / d**2 for d in found)
    assert 33 + (1 / 0.5**2 - first) / (second - first) == pytest.approx(33.3671, abs=2e-4)


def test_a_single_pair_has_the_measurement_alone() -> None:
    fit = fit_blocks([Stratum(sample(3.0, 0.3), sample(2.0, 0.4))])
    assert fit.value == -1
    assert fit.high - fit.value == pytest.approx(norm.ppf(0.975) * 0.5)
    assert fit.df == 0
    assert fit.smallest is None


def test_never_narrower_than_the_measurement() -> None:
    """Two pairs that agree by luck do not make the photos better."""
    fit = fit_blocks(pairs_of(np.zeros(2), np.array([1.0, 1.0]), sigma=0.1))
    assert fit.high - fit.value == pytest.approx(norm.ppf(0.975) * math.sqrt(2 * 2 * 0.01) / 2)


def test_a_lopsided_measurement_reaches_to_either_side_on_its_own() -> None:
    """By hand: half each pair's difference, the after's lower side with the before's upper one."""
    before = Sample(np.array([2.0]), np.array([0.3]), np.array([0.4]), 0, 1)
    after = Sample(np.array([1.0]), np.array([0.0]), np.array([1.2]), 0, 1)
    fit = fit_blocks([Stratum(before, after)] * 2)
    z = norm.ppf(0.975)
    assert fit.value - fit.low == pytest.approx(z * math.sqrt(2 * (0.0**2 + 0.4**2)) / 2)
    assert fit.high - fit.value == pytest.approx(z * math.sqrt(2 * (1.2**2 + 0.3**2)) / 2)
    assert fit.smallest is not None
    assert fit.smallest == pytest.approx((z + norm.ppf(0.8)) * math.sqrt(2 * (1.2**2 + 0.3**2)) / 2)


def test_nothing_to_compare() -> None:
    with pytest.raises(ValueError, match="nothing"):
        fit_blocks([])


@given(st.lists(st.tuples(*[st.floats(-5, 5)] * 2), min_size=2, max_size=6), st.floats(-5, 5))
def test_swap_and_shift(pairs: list[tuple[float, float]], shift: float) -> None:
    """Swapped sides give the opposite; what is added to both sides of a pair does not matter."""
    before, after = (np.array(side) for side in zip(*pairs, strict=True))
    fit = fit_blocks(pairs_of(before, after))
    back = fit_blocks(pairs_of(after + shift, before + shift))
    assert back.value == pytest.approx(-fit.value, abs=1e-9)
    assert (back.low, back.high) == pytest.approx((-fit.high, -fit.low), abs=1e-6)


@given(st.lists(st.tuples(*[st.floats(-5, 5)] * 2), min_size=2, max_size=6))
def test_pairs_are_the_paired_t(pairs: list[tuple[float, float]]) -> None:
    before, after = (np.array(side) for side in zip(*pairs, strict=True))
    if np.ptp(after - before) > 1e-3:
        known = ttest_rel(after, before).confidence_interval()
        fit = fit_blocks(pairs_of(before, after))
        assert fit.high == pytest.approx(known.high, rel=1e-6, abs=1e-9)
