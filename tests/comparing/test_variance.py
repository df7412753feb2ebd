"""Variance components against published data."""

import math
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from scoring.comparing.variance import split_nested

DYESTUFF = """1545 1440 1440 1520 1580; 1540 1555 1490 1560 1495; 1595 1550 1605 1510 1560;
1445 1440 1595 1465 1545; 1595 1630 1515 1635 1625; 1520 1455 1450 1480 1445"""
DYESTUFF2 = """7.298 3.846 2.434 9.566 7.990; 5.220 6.556 0.608 11.788 -0.892;
0.110 10.386 13.434 5.510 8.166; 2.212 4.852 7.092 9.288 4.980; 0.282 9.014 4.458 9.446 7.198;
1.722 4.782 8.106 0.758 3.758"""
"""Six batches of five (lme4's data, of Davies and Goldsmith 1972 and Box and Tiao 1973)."""
NIST = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"


def cells(text: str) -> list[np.ndarray]:
    return [np.array(row.split(), float) for row in text.split(";")]


def test_dyestuff() -> None:
    """Mean 1527.5, F 4.59827, SD within 49.5101, between 42.0006 (lme4)."""
    data = cells(DYESTUFF)
    assert np.concatenate(data).mean() == 1527.5
    parts = split_nested([data])
    assert parts.between.mean_square is not None
    assert parts.within.mean_square is not None
    assert parts.within.variance is not None
    assert parts.between.variance is not None
    assert parts.between.mean_square / parts.within.mean_square == pytest.approx(4.59827, abs=1e-5)
    assert math.sqrt(parts.within.variance) == pytest.approx(49.5101, abs=1e-4)
    assert math.sqrt(parts.between.variance) == pytest.approx(42.0006, abs=1e-4)
    assert (parts.within.df, parts.between.df, parts.groups.df) == (24, 5, 0)


def test_a_negative_estimate_is_zero() -> None:
    """Dyestuff2's between variance estimates -1.3219, reported as 0 (lme4)."""
    parts = split_nested([cells(DYESTUFF2)])
    assert parts.between.mean_square is not None
    assert parts.within.mean_square is not None
    raw = (parts.between.mean_square - parts.within.mean_square) / 5
    assert raw == pytest.approx(-1.3219, abs=1e-4)
    assert parts.between.variance == 0
    assert parts.between.low == 0


@pytest.mark.parametrize(
    ("name", "f"),
    [("SiRstv", 1.18046237440255), ("AtmWtAg", 15.9467335677930), ("SmLs01", 21.0)],
)
def test_certified_one_way_data(name: str, f: float) -> None:
    """NIST StRD's certified F statistics, with the data that come with scipy."""
    rows = np.loadtxt(NIST / f"{name}.dat", skiprows=60)
    data = [rows[rows[:, 0] == level, 1] for level in np.unique(rows[:, 0])]
    parts = split_nested([data])
    assert parts.between.mean_square is not None
    assert parts.within.mean_square is not None
    # AtmWtAg has 7 leading digits alike: its F keeps 10 to 11 of the certified 15.
    assert parts.between.mean_square / parts.within.mean_square == pytest.approx(f, rel=1e-8)


def test_balanced_nesting_agrees_with_restricted_likelihood() -> None:
    """For balanced data both give the same where all estimates are above 0 (Searle et al. 1992).

    The likelihood is statsmodels' ``MixedLM``.
    """
    import pandas as pd  # noqa: PLC0415
    from statsmodels.regression.mixed_linear_model import MixedLM  # noqa: PLC0415

    rng = np.random.default_rng(8)
    groups = [
        [2 * rng.normal() + rng.normal(0, 1, 3) + level for _ in range(4)] for level in (0, 5, 9)
    ]
    rows = [
        (y, g, f"{g}-{c}")
        for g, group in enumerate(groups)
        for c, cell in enumerate(group)
        for y in cell
    ]
    table = pd.DataFrame(rows, columns=["y", "group", "cell"])
    model = MixedLM.from_formula("y ~ C(group)", groups="cell", data=table)
    fitted = model.fit(reml=True)
    parts = split_nested(groups)
    assert parts.within.variance == pytest.approx(fitted.scale, rel=1e-4)
    assert parts.between.variance == pytest.approx(float(fitted.cov_re.iloc[0, 0]), rel=1e-3)


def test_intervals_hold_about_as_often_as_they_say() -> None:
    """Simulated, unbalanced: 600 studies; 95 % of 600 is 570, and 545 is 5 standard errors off."""
    rng = np.random.default_rng(11)
    held = [0, 0]
    for _ in range(600):
        groups = [
            [1.5 * rng.normal() + rng.normal(size=rng.integers(2, 4)) + 3 * level for _ in range(4)]
            for level in range(3)
        ]
        parts = split_nested(groups)
        for place, (part, truth) in enumerate(((parts.within, 1.0), (parts.between, 2.25))):
            assert part.low is not None
            assert part.high is not None
            held[place] += part.low <= truth <= part.high
    assert min(held) >= 545


def test_without_repeated_photos_prints_hold_both() -> None:
    parts = split_nested([[np.array([1.0]), np.array([3.0])], [np.array([7.0])]])
    assert parts.within.variance is None
    assert parts.between.variance == pytest.approx(2.0)


def test_no_values() -> None:
    with pytest.raises(ValueError, match="without a value"):
        split_nested([])


@given(
    st.lists(
        st.lists(st.lists(st.floats(-9, 9), min_size=1, max_size=3), min_size=1, max_size=3),
        min_size=1,
        max_size=3,
    ),
    st.floats(0.5, 3),
)
def test_scale(groups: list[list[list[float]]], factor: float) -> None:
    """Numbers in another unit have variances in that unit squared; none is below 0."""
    arrays = [[np.array(cell) for cell in group] for group in groups]
    parts = split_nested(arrays)
    scaled = split_nested([[factor * cell for cell in group] for group in arrays])
    for part, other in zip(
        (parts.within, parts.between, parts.groups),
        (scaled.within, scaled.between, scaled.groups),
        strict=True,
    ):
        assert part.df == other.df
        if part.variance is not None:
            assert part.variance >= 0
            assert other.variance == pytest.approx(factor**2 * part.variance, rel=1e-6, abs=1e-6)
