"""The mean difference of two sides over pairs of prints, with its interval and its power."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.stats import t as student_t

from scoring.comparing.samples import Array, Stratum
from scoring.ranking.combine import Z95

POWER = 0.8
ALPHA = 0.05
Z_POWER = 0.8416212335729143
"""The normal distribution's 80 % point."""


@dataclass(frozen=True)
class BlockFit:
    """After minus before with half its 95 % interval.

    ``smallest`` is the difference that would have been established with a chance of 80 %; ``None``
    where only the measurement's uncertainty is known (``df`` 0).
    """

    value: float
    half_width: float
    df: float
    smallest: float | None


def fit_blocks(strata: Sequence[Stratum]) -> BlockFit:
    """Least squares of y = stratum + side, randomised blocks (Box, Hunter and Hunter, 2nd ed., 4).

    With one print a side in every stratum this is the paired t interval; for a single stratum it
    is Welch's for two samples, or, where a side has one print only, the pooled one. The interval is
    never narrower than what the measurement's own uncertainty makes, and that alone is the interval
    where there is one print a side in all. Raises ``ValueError`` for no strata.
    """
    if not strata:
        raise ValueError("nothing to compare")
    weights = np.array([1 / (1 / s.before.y.size + 1 / s.after.y.size) for s in strata])
    weights /= weights.sum()
    # What the measurement adds, print by print, independent of each other.
    measured = [
        float(np.sum(side.sigma**2)) / side.y.size**2
        for s in strata
        for side in (s.before, s.after)
    ]
    floor = float(np.sqrt(np.repeat(weights, 2) ** 2 @ np.array(measured)))
    value, error, df = _scatter(strata)
    if df == 0:
        return BlockFit(value, Z95 * floor, 0, None)
    half = max(float(student_t.ppf(1 - ALPHA / 2, df)) * error, Z95 * floor)
    smallest = max(error * _detectable(df), (Z95 + Z_POWER) * floor)
    return BlockFit(value, half, df, smallest)


def _scatter(strata: Sequence[Stratum]) -> tuple[float, float, float]:
    """The estimate, its standard error and degrees of freedom from the scatter of prints."""
    if len(strata) == 1:
        before, after = strata[0].before.y, strata[0].after.y
        if min(before.size, after.size) > 1:
            # Welch-Satterthwaite by hand: the library's test warns of sides that do not scatter.
            parts = [float(y.var(ddof=1)) / y.size for y in (before, after)]
            below = sum(v**2 / (y.size - 1) for v, y in zip(parts, (before, after), strict=True))
            df = sum(parts) ** 2 / below if below > 0 else float(after.size + before.size - 2)
            return float(after.mean() - before.mean()), math.sqrt(sum(parts)), df
    y, design = _design(strata)
    df = y.size - len(strata) - 1
    if df == 0:
        return float(y[-1] - y[0]), 0.0, 0
    from statsmodels.regression.linear_model import OLS  # noqa: PLC0415  slow to load

    fitted = OLS(y, design).fit()
    return float(fitted.params[0]), float(fitted.bse[0]), df


def _design(strata: Sequence[Stratum]) -> tuple[Array, Array]:
    """All prints' y (N,), before first within a stratum, and the columns side and strata."""
    y, side, place = [], [], []
    for number, stratum in enumerate(strata):
        for is_after, sample in enumerate((stratum.before, stratum.after)):
            y += sample.y.tolist()
            side += [is_after] * sample.y.size
            place += [number] * sample.y.size
    columns = np.equal.outer(np.array(place), np.arange(len(strata))).astype(float)
    return np.array(y), np.column_stack([np.array(side, float), columns])


def _detectable(df: float) -> float:
    """The difference, in standard errors, that a two-sided t test at 5 % shows with 80 %."""
    from statsmodels.stats.power import TTestPower  # noqa: PLC0415  slow to load

    test = TTestPower()

    def short(size: float) -> float:
        # The far tail of the two-sided test is no number in the library for few degrees of freedom,
        # and nothing beside 80 %.
        near = test.power(size, nobs=1, alpha=ALPHA / 2, df=df, alternative="larger")
        return float(near) - POWER

    return float(brentq(short, 0.1, 1.6 * float(student_t.ppf(1 - ALPHA / 2, df)) + 4))
