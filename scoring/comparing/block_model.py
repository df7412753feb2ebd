"""The mean difference of two sides over pairs of prints, with its interval and its power."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.stats import t as student_t

from scoring.comparing.samples import Array, Stratum
from scoring.estimate import Z95

POWER = 0.8
ALPHA = 0.05
Z_POWER = 0.8416212335729143
"""The normal distribution's 80 % point."""


@dataclass(frozen=True)
class BlockFit:
    """After minus before with its 95 % interval.

    ``smallest`` is the difference that would have been established with a chance of 80 %; ``None``
    where only the measurement's uncertainty is known (``df`` 0).
    """

    value: float
    low: float
    high: float
    df: float
    smallest: float | None


def fit_blocks(strata: Sequence[Stratum]) -> BlockFit:
    """Least squares of y = stratum + side, randomised blocks (Box, Hunter and Hunter, 2nd ed., 4).

    With one print a side in every stratum this is the paired t interval; for a single stratum it
    is Welch's for two samples, or, where a side has one print only, the pooled one. The interval
    reaches to either side at least as far as the measurement's own uncertainty does, and that alone
    is the interval where there is one print a side in all. Raises ``ValueError`` for no strata.
    """
    if not strata:
        raise ValueError("nothing to compare")
    weights = np.array([1 / (1 / s.before.y.size + 1 / s.after.y.size) for s in strata])
    weights /= weights.sum()
    # The difference is less where the prints after are less or those before more; and so on.
    below = _measured(weights, [(s.after.below, s.before.above) for s in strata])
    above = _measured(weights, [(s.after.above, s.before.below) for s in strata])
    value, error, df = _scatter(strata)
    if df == 0:
        return BlockFit(value, value - Z95 * below, value + Z95 * above, 0, None)
    half = float(student_t.ppf(1 - ALPHA / 2, df)) * error
    smallest = max(error * _detectable(df), (Z95 + Z_POWER) * max(below, above))
    low, high = value - max(half, Z95 * below), value + max(half, Z95 * above)
    return BlockFit(value, low, high, df, smallest)


def _measured(weights: Array, strata: Sequence[tuple[Array, Array]]) -> float:
    """What the measurement adds to the mean difference, as a standard deviation.

    ``strata`` has both sides' prints' own, (N,) each, independent of each other.
    """
    variances = [sum(float(sd @ sd) / sd.size**2 for sd in sides) for sides in strata]
    return math.sqrt(float(weights**2 @ np.array(variances)))


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
    y, side = _swept(strata)
    df = y.size - len(strata) - 1
    squares = float(side @ side)
    value = float(side @ y) / squares
    if df == 0:
        return value, 0.0, 0
    rest = y - value * side
    return value, math.sqrt(float(rest @ rest) / df / squares), df


def _swept(strata: Sequence[Stratum]) -> tuple[Array, Array]:
    """All prints' y and side (0, 1), (N,) each, less their stratum's mean.

    Regressing one on the other gives the side's coefficient of the whole model (Frisch and Waugh
    1933, Lovell 1963) without a column for every stratum.
    """
    ys, sides = [], []
    for stratum in strata:
        before, after = stratum.before.y, stratum.after.y
        y = np.concatenate([before, after])
        side = np.repeat([0.0, 1.0], [before.size, after.size])
        ys.append(y - y.mean())
        sides.append(side - side.mean())
    return np.concatenate(ys), np.concatenate(sides)


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
